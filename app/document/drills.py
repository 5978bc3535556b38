"""Twist drill sizes and how to name one: ASME B94.11M numbers, letters and fractions, mm steps.

Nominal sizes as in the standard's tables; a fraction is ``n/64`` inch exactly; metric drills in
steps of 0.05 mm below 3 mm and of 0.1 mm above.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from app.document.lengths import MM_PER, MM_PER_INCH, Unit

SAME_MM = 0.006  # inch tables give four decimals, 0.00005 in; people type two of mm
KINDS = {  # which name is said where several drills share a size, as 1/4 in and letter E do
    "mm": ("metric", "fraction", "letter", "number"),
    "in": ("fraction", "letter", "number", "metric"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """One drill: its label in the shop, its kind (number, letter, fraction, metric), its size."""

    label: str
    kind: str
    diameter_mm: float

    def name(self) -> str:
        """Return the name as it is read aloud: ``1/4 in``, ``letter E``, ``#21``, ``5.0 mm``."""
        if self.kind == "fraction":
            return f"{self.label} in"
        if self.kind == "metric":
            return f"{self.label} mm"
        return f"letter {self.label}" if self.kind == "letter" else self.label


@cache
def drills() -> tuple[Drill, ...]:
    """Return all drills, smallest first."""
    table = files("app.document").joinpath("tables/drills.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(table.splitlines())
    known = [
        Drill(
            label=row["label"],
            kind=row["kind"],
            diameter_mm=float(row["mm"])
            if row["kind"] == "metric"
            else float(row["inch"]) * MM_PER_INCH,
        )
        for row in rows
    ]
    return tuple(sorted(known, key=lambda drill: drill.diameter_mm))


def drill_for(diameter_mm: float, unit: Unit = "mm") -> Drill | None:
    """Return the drill of a hole's size, or None when no drill has it.

    Parameters
    ----------
    diameter_mm : float
        Diameter of the hole.
    unit : {"mm", "in"}
        Which kind of drill is said first.

    Examples
    --------
    >>> drill_for(6.35, "in").name(), drill_for(5.0).name(), drill_for(6.03)
    ('1/4 in', '5.0 mm', None)
    """
    fitting = [drill for drill in drills() if abs(drill.diameter_mm - diameter_mm) <= SAME_MM]
    return min(fitting, key=lambda drill: KINDS[unit].index(drill.kind), default=None)


def hole_label(diameter_mm: float, unit: Unit = "mm") -> str:
    """Return what stands beside a hole on the pattern.

    Examples
    --------
    >>> hole_label(3.175), hole_label(6.03), hole_label(6.528, "in")
    ('3.175 mm (1/8 in)', '6.03 mm', 'letter F (0.257 in)')
    """
    drill = drill_for(diameter_mm, unit)
    size = f"{_rounded(diameter_mm / MM_PER[unit])} {unit}"
    if drill is None:
        return size
    if unit == "mm":
        return size if drill.kind == "metric" else f"{size} ({drill.name()})"
    if drill.kind == "metric":
        return f"{drill.name()} ({size})"
    return drill.name() if drill.kind == "fraction" else f"{drill.name()} ({size})"


def _rounded(value: float) -> str:
    """Return a number to three figures behind the mark, without idle zeros."""
    return f"{value:.3f}".rstrip("0").rstrip(".")

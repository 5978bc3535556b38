"""Sentences that say where things stand; the window and the command line use the same."""

from __future__ import annotations

from app.document.flow import Layout
from app.document.lengths import Unit, format_length
from geometry.verdict import Verdict

HEADS = {
    Verdict.FITS: "Fits",
    Verdict.DOUBTFUL: "Doubtful",
    Verdict.DOES_NOT_FIT: "Does not fit",
}


def rough(value_mm: float, unit: Unit) -> str:
    """Return a length as precisely as a person acts on it: 0.1 mm or 0.01 in.

    Examples
    --------
    >>> rough(1.94, "mm"), rough(1.94, "in")
    ('1.9 mm', '0.08 in')
    """
    return format_length(value_mm, unit, decimals=1 if unit == "mm" else 2)


def verdict_sentence(layout: Layout, margin_mm: float, unit: Unit) -> str:
    """Return the verdict with its numbers: spare steel, doubt, demand, tightest place."""
    value_mm = layout.clearance.value_mm
    spare = (
        f"{rough(value_mm, unit)} spare"
        if value_mm >= 0
        else f"it sticks out by {rough(-value_mm, unit)}"
    )
    doubt = f", give or take {rough(2 * layout.sigma_mm, unit)}" if layout.sigma_mm else ""
    place = tightest_place(layout)
    return (
        f"{HEADS[layout.verdict]}: {spare}{doubt}; you ask for {rough(margin_mm, unit)}."
        f"{f' Tightest {place}.' if place else ''}"
    )


def tightest_place(layout: Layout) -> str:
    """Return where it is tightest, in the maker's words: ``near the tip``; empty if unnamed."""
    point = layout.pose.back([layout.clearance.blank_point_mm])[0]
    station = layout.outline.nearest_station((float(point[0]), float(point[1])))
    return f"near the {station}" if station else ""

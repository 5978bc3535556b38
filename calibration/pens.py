"""Pens whose stand-off was measured once, on a bar of known width."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from geometry.errors import InputError
from geometry.stand_off import (
    MAX_THICKNESS_MM,
    Offset,
    expected_offset,
    offset_at,
    stand_off_mm,
)

if TYPE_CHECKING:  # heavy, and a job that names a pen is not
    from calibration.subpixel import Edge

GIVEN_SIGMA_MM = 0.1  # of an offset that the maker tells: a hand and an eye
ALIKE_MM = 0.3  # of thickness: the same nominal size
MOST_MM = 5.0  # beyond, something else is wrong than the pen


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How much too large the traces of one pen are.

    Parameters
    ----------
    name : str
        What the maker calls it; empty for an offset that was just told.
    offset_mm, sigma_mm : float
        Too large by, all round, and one standard deviation.
    thickness_mm : float, optional
        Of the steel that it was measured on, > 0.
    edge : {"inner", "middle", "outer"}
        The side of the ink that was measured.
    beyond_mm : float
        How far that side lies outside the ink's inner one: a part of the offset that steel of
        another thickness does not change.
    """

    name: str
    offset_mm: float
    sigma_mm: float = GIVEN_SIGMA_MM
    thickness_mm: float | None = None
    edge: Edge = "inner"
    beyond_mm: float = 0.0

    def __post_init__(self) -> None:
        if not abs(self.offset_mm) <= MOST_MM:
            raise InputError(
                f"a trace is not {self.offset_mm:.2f} mm too large all round.",
                where="Pen",
                remedy="Check the width of the bar, and the reference's length.",
            )
        if not 0.0 <= self.sigma_mm <= MOST_MM:
            raise InputError(
                f"an offset is not known to give or take {2 * self.sigma_mm:.2f} mm.",
                where="Pen",
                remedy="Measure the pen again, on a sharp photo of a straight bar.",
            )
        if self.thickness_mm is not None and not 0.0 < self.thickness_mm <= MAX_THICKNESS_MM:
            raise InputError(
                f"no bar is {self.thickness_mm:g} mm thick.",
                where="Pen",
                remedy="Give the bar's thickness as your calipers read it.",
            )

    def offset_on(self, thickness_mm: float | None, edge: Edge) -> Offset:
        """Return the offset of a trace round steel of a thickness.

        Raises
        ------
        InputError
            If the pen was measured on another side of the ink.
        """
        if edge != self.edge:
            raise InputError(
                f"the pen was measured on the {self.edge} side of its ink, not the {edge}.",
                where="Pen",
                remedy=f"Measure with --edge {self.edge}, or measure the pen again.",
            )
        measured = Offset(value_mm=self.offset_mm, sigma_mm=self.sigma_mm)
        if not self.name:  # told for this very piece
            return measured
        inner = replace(measured, value_mm=measured.value_mm - self.beyond_mm)
        there = offset_at(inner, measured_at_mm=self.thickness_mm, used_at_mm=thickness_mm)
        return replace(there, value_mm=there.value_mm + self.beyond_mm)

    def note(self, thickness_mm: float | None, edge: Edge) -> str:
        """Return what was done with the pen's offset, a sentence."""
        used = self.offset_on(thickness_mm, edge)
        drawn = f"The trace was {drawn_words(used.value_mm)}"
        if not self.name:
            return f"{drawn}, as you told."
        pen = f"{drawn}, what the pen “{self.name}” stands off"
        if thickness_mm is None:
            return f"{pen}; for less doubt, tell the thickness of the steel."
        if self.thickness_mm is None:
            return f"{pen}; for less doubt, measure it again and tell its bar's thickness."
        if abs(thickness_mm - self.thickness_mm) <= ALIKE_MM:
            return f"{pen}."
        return (
            f"{pen} on {thickness_mm:.4g} mm of steel: reckoned from {self.offset_mm:.2f} mm, "
            f"measured on {self.thickness_mm:.4g} mm, which leaves {2 * used.sigma_mm:.2f} mm of "
            "doubt. Check one width with calipers."
        )


def stand_off_note(thickness_mm: float) -> str:
    """Return what to expect of a pen that was never measured, a sentence."""
    usual_mm, upright_mm = expected_offset(thickness_mm).value_mm, stand_off_mm(thickness_mm)
    return (
        f"Along {thickness_mm:.4g} mm steel a pen usually stands off {usual_mm:.1f} mm, an upright "
        f"one {upright_mm:.1f} mm, and the trace is too large by that all round: check one width "
        "with calipers, or measure your pen once."
    )


def drawn_words(offset_mm: float) -> str:
    """Return what taking an offset off did to a trace.

    Examples
    --------
    >>> drawn_words(0.3), drawn_words(-0.3)
    ('drawn in by 0.30 mm all round', 'let out by 0.30 mm all round')
    """
    return f"{'drawn in' if offset_mm >= 0 else 'let out'} by {abs(offset_mm):.2f} mm all round"


def measured_pen(
    name: str,
    *,
    traced_mm: float,
    traced_sigma_mm: float,
    true_mm: float,
    true_sigma_mm: float,
    thickness_mm: float | None,
    edge: Edge,
    beyond_mm: float = 0.0,
) -> Pen:
    """Return a pen from the trace of a bar whose width is known.

    Parameters
    ----------
    name : str
    traced_mm, traced_sigma_mm : float
        The width of the trace, and its deviation.
    true_mm, true_sigma_mm : float
        The width of the bar, by calipers, and its deviation.
    thickness_mm : float, optional
        Of the bar.
    edge : {"inner", "middle", "outer"}
    beyond_mm : float
        How far that side lies outside the ink's inner one.

    Raises
    ------
    InputError
        If no pen stands off so far.

    Examples
    --------
    >>> pen = measured_pen("biro", traced_mm=26.6, traced_sigma_mm=0.2, true_mm=25.4,
    ...     true_sigma_mm=0.05, thickness_mm=6.35, edge="inner")
    >>> round(pen.offset_mm, 3), round(pen.sigma_mm, 3)
    (0.6, 0.103)
    """
    return Pen(
        name=name,
        offset_mm=(traced_mm - true_mm) / 2.0,
        sigma_mm=math.hypot(traced_sigma_mm, true_sigma_mm) / 2.0,
        thickness_mm=thickness_mm,
        edge=edge,
        beyond_mm=beyond_mm,
    )

"""What an outline carries besides its edge: holes, marks and named places."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.closed_chain import JOIN_MM, MAX_MM
from geometry.curves import PATTERN_CHORD_MM, Point, chords_of_turn
from geometry.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole: ``kind`` is what it is for (``pin``, ``tube``, ``bolt``, ``lightening``)."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    kind: str = "pin"

    def __post_init__(self) -> None:
        """Check that it can be drilled; InputError if not."""
        _check_place(f"a hole of kind “{self.kind}”", (self.x_mm, self.y_mm))
        if not JOIN_MM < self.diameter_mm <= MAX_MM:
            raise InputError(
                f"a hole of {self.diameter_mm:g} mm cannot be drilled.",
                where="Hole",
                remedy="Give its place and a diameter above zero, in mm; check the unit.",
            )

    def ring(self, chord_mm: float = PATTERN_CHORD_MM) -> NDArray[np.float64]:
        """Return (N, 2) points on the hole's edge, clockwise, as a hole in a polygon, mm."""
        radius = self.diameter_mm / 2
        count = 2 * chords_of_turn(radius, math.pi, chord_mm)
        angles = np.arange(count) * (-2 * math.pi / count)
        ring: NDArray[np.float64] = radius * np.column_stack([-np.cos(angles), -np.sin(angles)])
        ring += (self.x_mm, self.y_mm)
        return ring


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A line drawn and not cut; ``kind`` is ``plunge line``, ``handle front``, ``centre line``."""

    kind: str
    points_mm: tuple[Point, ...]

    def __post_init__(self) -> None:
        """Check that it is of this world; InputError if not."""
        _check_place(f"the mark “{self.kind}”", *self.points_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A named place on the outline, so that a message can say ``near the heel``."""

    name: str
    x_mm: float
    y_mm: float

    def __post_init__(self) -> None:
        """Check that it is of this world; InputError if not."""
        _check_place(f"the place “{self.name}”", (self.x_mm, self.y_mm))


def _check_place(what: str, *places: Point) -> None:
    """Check that all of a thing lies within what an outline may reach; nan does not."""
    if not all(abs(number) <= MAX_MM for place in places for number in place):
        raise InputError(
            f"{what} lies beyond {MAX_MM / 1000:g} m.",
            where="Outline",
            remedy="Check its numbers and the unit.",
        )

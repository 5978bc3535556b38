"""Lines, arcs and cubic curves: the pieces that an outline's edge is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.cubic import Cubic, flattened_cubics
from geometry.plane import Point, cross, minus, moved_points, turned, unit
from geometry.pose import Pose

__all__ = [
    "PATTERN_CHORD_MM",
    "STRAIGHT_RAD",
    "Arc",
    "Chain",
    "Cubic",
    "Line",
    "Point",
    "Segment",
    "chain_area_mm2",
    "chain_backward",
    "chain_length_mm",
    "chords_of_turn",
    "flatten_chain",
]

PATTERN_CHORD_MM = 0.01  # how far a flattened edge may lie from the true curve
MAX_TURN_RAD = math.pi / 4
STRAIGHT_RAD = 1e-9  # an arc that turns less than this is a line for all work in mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight piece from ``start`` to ``end``, mm.

    Examples
    --------
    >>> Line(start=(0.0, 0.0), end=(3.0, 4.0)).length_mm
    5.0
    """

    start: Point
    end: Point

    @property
    def start_direction(self) -> Point:
        """The unit vector of travel at the start; (0, 0) when the piece has no length."""
        return unit(minus(self.end, self.start))

    @property
    def end_direction(self) -> Point:
        """The unit vector of travel at the end."""
        return self.start_direction

    @property
    def length_mm(self) -> float:
        """The length along the piece, mm."""
        return math.dist(self.start, self.end)

    @property
    def swept_mm2(self) -> float:
        """The signed area between the piece and the origin; these add up to a chain's area."""
        return cross(self.start, self.end) / 2

    def flattened(self, chord_mm: float) -> NDArray[np.float64]:
        """Return (N, 2) points from the start up to, but without, the end."""
        return np.array([self.start])

    def backward(self) -> Line:
        """Return the same piece travelled the other way."""
        return Line(start=self.end, end=self.start)

    def moved(self, pose: Pose) -> Line:
        """Return the piece moved by a pose."""
        start, end = moved_points(pose, self.start, self.end)
        return Line(start=start, end=end)


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """A part of a circle from ``start`` to ``end``, mm.

    Parameters
    ----------
    start, end : tuple of float
        Its ends, mm; not the same point.
    sweep_rad : float
        The angle it turns through, counter-clockwise positive, less than a full turn.

    Examples
    --------
    >>> half = Arc(start=(1.0, 0.0), end=(-1.0, 0.0), sweep_rad=math.pi)
    >>> round(half.radius_mm, 6), round(half.length_mm, 6)
    (1.0, 3.141593)
    """

    start: Point
    end: Point
    sweep_rad: float

    def __post_init__(self) -> None:
        if not 0 < abs(self.sweep_rad) < 2 * math.pi or self.start == self.end:
            raise ValueError(f"no such arc: {self.start} to {self.end} by {self.sweep_rad} rad")

    @property
    def radius_mm(self) -> float:
        """The circle's radius, mm."""
        return math.dist(self.start, self.end) / (2 * abs(math.sin(self.sweep_rad / 2)))

    @property
    def centre(self) -> Point:
        """The circle's centre, mm."""
        (x0, y0), (x1, y1) = self.start, self.end
        rise = 0.5 / math.tan(self.sweep_rad / 2)
        return (x0 + x1) / 2 - rise * (y1 - y0), (y0 + y1) / 2 + rise * (x1 - x0)

    @property
    def start_direction(self) -> Point:
        """The unit vector of travel at the start."""
        return turned(unit(minus(self.end, self.start)), -self.sweep_rad / 2)

    @property
    def end_direction(self) -> Point:
        """The unit vector of travel at the end."""
        return turned(unit(minus(self.end, self.start)), self.sweep_rad / 2)

    @property
    def length_mm(self) -> float:
        """The length along the piece, mm."""
        return self.radius_mm * abs(self.sweep_rad)

    @property
    def swept_mm2(self) -> float:
        """The signed area between the piece and the origin."""
        segment = self.radius_mm**2 / 2 * (self.sweep_rad - math.sin(self.sweep_rad))
        return cross(self.start, self.end) / 2 + segment

    def flattened(self, chord_mm: float) -> NDArray[np.float64]:
        """Return (N, 2) points on the arc, without the end, no chord further off than asked."""
        count = chords_of_turn(self.radius_mm, self.sweep_rad, chord_mm)
        angles = np.arange(count) * (self.sweep_rad / count)
        cos, sin = np.cos(angles), np.sin(angles)
        x, y = minus(self.start, self.centre)
        points: NDArray[np.float64] = np.column_stack([x * cos - y * sin, x * sin + y * cos])
        points += self.centre
        points[0] = self.start
        return points

    def backward(self) -> Arc:
        """Return the same piece travelled the other way."""
        return Arc(start=self.end, end=self.start, sweep_rad=-self.sweep_rad)

    def moved(self, pose: Pose) -> Arc:
        """Return the piece moved by a pose; a mirror turns its sense."""
        start, end = moved_points(pose, self.start, self.end)
        sweep = -self.sweep_rad if pose.mirrored else self.sweep_rad
        return Arc(start=start, end=end, sweep_rad=sweep)


Segment: TypeAlias = Line | Arc | Cubic
Chain: TypeAlias = tuple[Segment, ...]


def chords_of_turn(radius_mm: float, sweep_rad: float, chord_mm: float) -> int:
    """Return how many equal chords keep within ``chord_mm`` of an arc.

    Notes
    -----
    A chord over the angle ``a`` lies ``r (1 - cos(a / 2)) = 2 r sin(a / 4)^2`` inside its circle;
    the second form keeps its figures when the circle is very large. However small the arc,
    no chord turns more than 45 degrees, so that it keeps its looks and encloses something.
    """
    widest = min(4 * math.asin(math.sqrt(min(chord_mm / (2 * radius_mm), 1.0))), MAX_TURN_RAD)
    return max(1, math.ceil(abs(sweep_rad) / widest - 1e-9))


def flatten_chain(chain: Chain, chord_mm: float) -> NDArray[np.float64]:
    """Return the (N, 2) ring of a closed chain, not repeated at the end, mm."""
    cubics = [segment for segment in chain if isinstance(segment, Cubic)]
    flat = iter(flattened_cubics(cubics, chord_mm) if cubics else ())
    return np.concatenate(
        [next(flat) if isinstance(one, Cubic) else one.flattened(chord_mm) for one in chain]
    )


def chain_area_mm2(chain: Chain) -> float:
    """Return the signed area inside a closed chain, counter-clockwise positive, mm2."""
    return sum(segment.swept_mm2 for segment in chain)


def chain_length_mm(chain: Chain) -> float:
    """Return the length along a chain, mm."""
    return sum(segment.length_mm for segment in chain)


def chain_backward(chain: Chain) -> Chain:
    """Return a chain travelled the other way."""
    return tuple(segment.backward() for segment in reversed(chain))

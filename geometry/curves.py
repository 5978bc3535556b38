"""Lines, arcs and cubic curves: the pieces that an outline's edge is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.pose import Pose

Point: TypeAlias = tuple[float, float]

PATTERN_CHORD_MM = 0.01  # how far a flattened edge may lie from the true curve
_HALF, _WEIGHT = np.polynomial.legendre.leggauss(
    24
)  # nodes on -1 to 1, put on both halves of 0 to 1
_NODES = np.concatenate([_HALF + 1, _HALF + 3]) / 4
_WEIGHTS = np.concatenate([_WEIGHT, _WEIGHT]) / 4
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
        return _unit(_minus(self.end, self.start))

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
        return _cross(self.start, self.end) / 2

    def flattened(self, chord_mm: float) -> NDArray[np.float64]:
        """Return (N, 2) points from the start up to, but without, the end."""
        return np.array([self.start])

    def backward(self) -> Line:
        """Return the same piece travelled the other way."""
        return Line(start=self.end, end=self.start)

    def moved(self, pose: Pose) -> Line:
        """Return the piece moved by a pose."""
        start, end = _moved(pose, self.start, self.end)
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
        return _turned(_unit(_minus(self.end, self.start)), -self.sweep_rad / 2)

    @property
    def end_direction(self) -> Point:
        """The unit vector of travel at the end."""
        return _turned(_unit(_minus(self.end, self.start)), self.sweep_rad / 2)

    @property
    def length_mm(self) -> float:
        """The length along the piece, mm."""
        return self.radius_mm * abs(self.sweep_rad)

    @property
    def swept_mm2(self) -> float:
        """The signed area between the piece and the origin."""
        segment = self.radius_mm**2 / 2 * (self.sweep_rad - math.sin(self.sweep_rad))
        return _cross(self.start, self.end) / 2 + segment

    def flattened(self, chord_mm: float) -> NDArray[np.float64]:
        """Return (N, 2) points on the arc, without the end, no chord further off than asked."""
        count = chords_of_turn(self.radius_mm, self.sweep_rad, chord_mm)
        angles = np.arange(count) * (self.sweep_rad / count)
        cos, sin = np.cos(angles), np.sin(angles)
        x, y = _minus(self.start, self.centre)
        points: NDArray[np.float64] = np.column_stack([x * cos - y * sin, x * sin + y * cos])
        points += self.centre
        points[0] = self.start
        return points

    def backward(self) -> Arc:
        """Return the same piece travelled the other way."""
        return Arc(start=self.end, end=self.start, sweep_rad=-self.sweep_rad)

    def moved(self, pose: Pose) -> Arc:
        """Return the piece moved by a pose; a mirror turns its sense."""
        start, end = _moved(pose, self.start, self.end)
        sweep = -self.sweep_rad if pose.mirrored else self.sweep_rad
        return Arc(start=start, end=end, sweep_rad=sweep)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cubic:
    """A cubic Bezier curve from ``start`` to ``end`` with two controls, mm."""

    start: Point
    control1: Point
    control2: Point
    end: Point

    @property
    def controls(self) -> NDArray[np.float64]:
        """The (4, 2) control points, mm."""
        return np.array([self.start, self.control1, self.control2, self.end])

    @property
    def start_direction(self) -> Point:
        """The unit vector of travel at the start."""
        return _first_direction([self.start, self.control1, self.control2, self.end])

    @property
    def end_direction(self) -> Point:
        """The unit vector of travel at the end."""
        x, y = _first_direction([self.end, self.control2, self.control1, self.start])
        return -x, -y

    @property
    def length_mm(self) -> float:
        """The length along the piece, mm."""
        return float(self.lengths_mm(np.ones(1))[0])

    @property
    def swept_mm2(self) -> float:
        """The signed area between the piece and the origin (exact for a cubic)."""
        p, q, r, s = self.start, self.control1, self.control2, self.end
        return (
            6 * _cross(p, q) + 3 * _cross(p, r) + _cross(p, s)
            + 3 * _cross(q, r) + 3 * _cross(q, s) + 6 * _cross(r, s)
        ) / 20  # fmt: skip

    def at(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N, 2) points at parameters 0 to 1, mm."""
        u = 1 - t
        weights = np.column_stack([u**3, 3 * u * u * t, 3 * u * t * t, t**3])
        points: NDArray[np.float64] = weights @ self.controls
        return points

    def derivative(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N, 2) first derivatives at parameters 0 to 1, mm."""
        u = 1 - t
        weights = np.column_stack([u * u, 2 * u * t, t * t])
        slopes: NDArray[np.float64] = 3 * weights @ np.diff(self.controls, axis=0)
        return slopes

    def second_derivative(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N, 2) second derivatives at parameters 0 to 1, mm."""
        weights = np.column_stack([1 - t, t])
        bends: NDArray[np.float64] = 6 * weights @ np.diff(self.controls, n=2, axis=0)
        return bends

    def lengths_mm(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N,) lengths from the start to parameters 0 to 1, mm.

        Notes
        -----
        Gauss-Legendre quadrature of the speed, each half by itself: 1e-9 of the length for curves
        that knives have.
        """
        speed = np.hypot(*self.derivative((t[:, None] * _NODES).ravel()).T)
        lengths: NDArray[np.float64] = speed.reshape(len(t), -1) @ _WEIGHTS * t
        return lengths

    def curvature_per_mm(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (N,) signed curvatures, 1/mm, positive where the curve turns left."""
        first, second = self.derivative(t), self.second_derivative(t)
        turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        curvature: NDArray[np.float64] = turn / np.hypot(*first.T) ** 3
        return curvature

    def flattened(self, chord_mm: float) -> NDArray[np.float64]:
        """Return (N, 2) points on the curve, without the end, no chord further off than asked.

        Notes
        -----
        Over a step ``h`` of the parameter a curve leaves its chord by at most ``h^2 / 8`` times
        the largest second derivative; a cubic's is linear, so the larger end value bounds it.
        """
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = self.start, self.control1, self.control2, self.end
        first = math.hypot(x0 - 2 * x1 + x2, y0 - 2 * y1 + y2)
        second = math.hypot(x1 - 2 * x2 + x3, y1 - 2 * y2 + y3)
        count = max(1, math.ceil(math.sqrt(6 * max(first, second) / (8 * chord_mm))))
        points = self.at(np.arange(count) / count)
        points[0] = self.start
        return points

    def backward(self) -> Cubic:
        """Return the same piece travelled the other way."""
        return Cubic(start=self.end, control1=self.control2, control2=self.control1, end=self.start)

    def moved(self, pose: Pose) -> Cubic:
        """Return the piece moved by a pose."""
        start, control1, control2, end = _moved(
            pose, self.start, self.control1, self.control2, self.end
        )
        return Cubic(start=start, control1=control1, control2=control2, end=end)


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
    return np.concatenate([segment.flattened(chord_mm) for segment in chain])


def chain_area_mm2(chain: Chain) -> float:
    """Return the signed area inside a closed chain, counter-clockwise positive, mm2."""
    return sum(segment.swept_mm2 for segment in chain)


def chain_length_mm(chain: Chain) -> float:
    """Return the length along a chain, mm."""
    return sum(segment.length_mm for segment in chain)


def chain_backward(chain: Chain) -> Chain:
    """Return a chain travelled the other way."""
    return tuple(segment.backward() for segment in reversed(chain))


def _minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1]


def _cross(a: Point, b: Point) -> float:
    return a[0] * b[1] - a[1] * b[0]


def _unit(vector: Point) -> Point:
    size = math.hypot(*vector)
    return (vector[0] / size, vector[1] / size) if size else (0.0, 0.0)


def _turned(vector: Point, angle_rad: float) -> Point:
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return vector[0] * cos - vector[1] * sin, vector[0] * sin + vector[1] * cos


def _first_direction(points: list[Point]) -> Point:
    """Return the direction to the first point that is not the start itself."""
    for point in points[1:]:
        if point != points[0]:
            return _unit(_minus(point, points[0]))
    return 0.0, 0.0


def _moved(pose: Pose, *points: Point) -> list[Point]:
    return [(x, y) for x, y in pose.points(points).tolist()]

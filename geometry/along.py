"""Places along an outline's edge, told by the true length of the curve to them.

A cubic's length has no closed form: it is integrated by Gauss-Legendre quadrature, and turned round
by Newton's method, so that a place is where it is said to be within a millionth of a millimetre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment

Array = NDArray[np.float64]

SAMPLES = 33  # places on a piece where searches along it begin
_GRID = np.linspace(0.0, 1.0, SAMPLES)
_STEP = 1 / (SAMPLES - 1)
STEPS = 12  # of Newton's method; it doubles the figures at each, from the two or so it starts with


@dataclass(frozen=True, slots=True)
class Along:
    """The arc length along a chain, from its start on.

    Parameters
    ----------
    chain : tuple of segments
        Open or closed; the end of each piece the start of the next.
    """

    chain: Chain
    _starts: Array = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        lengths = [segment.length_mm for segment in self.chain]
        object.__setattr__(self, "_starts", np.concatenate([[0.0], np.cumsum(lengths)]))

    @property
    def length_mm(self) -> float:
        """The length of the whole chain, mm."""
        return float(self._starts[-1])

    def place_mm(self, point: Point) -> float:
        """Return the length to the place on the chain that is nearest a point, mm."""
        lengths = np.diff(self._starts).tolist()
        reach = [
            min(math.dist(one.start, point), math.dist(one.end, point)) - length / 2
            for one, length in zip(self.chain, lengths, strict=True)
        ]  # no piece comes nearer than this
        best, place = math.inf, 0.0
        for index in np.argsort(reach).tolist():
            if reach[index] > best:
                break
            segment = self.chain[index]
            distance, t = _nearest(segment, point)
            if distance < best:
                best, place = distance, float(self._starts[index]) + _length_to(segment, t)
        return place

    def at(self, places_mm: ArrayLike) -> tuple[Array, Array]:
        """Return the (N, 2) points at some lengths, mm, and the (N, 2) unit vectors of travel.

        Beyond an end of the chain it is the end itself.
        """
        places = np.clip(np.asarray(places_mm, float).reshape(-1), 0.0, self.length_mm)
        last = len(self.chain) - 1
        index = np.clip(np.searchsorted(self._starts, places, side="right") - 1, 0, last)
        points, ways = np.empty((len(places), 2)), np.empty((len(places), 2))
        for piece in np.unique(index):
            here = index == piece
            segment = self.chain[piece]
            t = parameters(segment, places[here] - self._starts[piece])
            points[here], velocity = motion(segment, t)
            ways[here] = velocity / np.maximum(np.hypot(*velocity.T), 1e-300)[:, None]
        return points, ways

    def between_mm(self, start: Point, end: Point) -> float:
        """Return the length from one place on to another, round a closed chain if need be, mm."""
        apart = self.place_mm(end) - self.place_mm(start)
        return apart if apart >= 0 else apart + self.length_mm


def motion(segment: Segment, t: Array) -> tuple[Array, Array]:
    """Return the points and velocities at parameters 0 to 1 of any kind of piece."""
    if isinstance(segment, Cubic):
        return segment.at(t), segment.derivative(t)
    start, end = np.array(segment.start), np.array(segment.end)
    if isinstance(segment, Line):
        return start + t[:, None] * (end - start), np.broadcast_to(end - start, (len(t), 2))
    centre = np.array(segment.centre)
    x, y = start - centre
    cos, sin = np.cos(t * segment.sweep_rad), np.sin(t * segment.sweep_rad)
    spokes = np.column_stack([x * cos - y * sin, x * sin + y * cos])
    return centre + spokes, segment.sweep_rad * spokes[:, ::-1] * (-1.0, 1.0)


def _length_to(segment: Segment, t: float) -> float:
    """Return the length from a piece's start to a parameter, mm."""
    if isinstance(segment, Cubic):
        return float(segment.lengths_mm(np.array([t]))[0])
    return segment.length_mm * t


def parameters(segment: Segment, lengths_mm: Array) -> Array:
    """Return the parameters at some lengths from a piece's start."""
    whole = segment.length_mm
    t = np.clip(lengths_mm / whole if whole else lengths_mm, 0.0, 1.0)
    if not isinstance(segment, Cubic):
        return t
    t = np.interp(lengths_mm, segment.lengths_mm(_GRID), _GRID)
    for _ in range(STEPS):
        speed = np.hypot(*segment.derivative(t).T)
        off = segment.lengths_mm(t) - lengths_mm
        t = np.clip(t - off / np.maximum(speed, 1e-9), 0.0, 1.0)
        if np.abs(off).max(initial=0.0) < 1e-10:
            break
    return t


def _nearest(segment: Segment, point: Point) -> tuple[float, float]:
    """Return the least distance from a piece to a point, mm, and the parameter where it is.

    Newton's method on the direction to the point being square to the curve, held to the steps
    beside the nearest sample.
    """
    start = float(_GRID[np.argmin(np.hypot(*(motion(segment, _GRID)[0] - point).T))])
    low, high = max(start - _STEP, 0.0), min(start + _STEP, 1.0)
    t, best = start, (math.inf, start)
    for _ in range(STEPS):
        places, velocities = motion(segment, np.array([t]))
        gap, velocity = places[0] - point, velocities[0]
        best = min(best, (float(np.hypot(*gap)), t))
        slope = float(velocity @ velocity + gap @ _bend(segment, t))
        after = min(max(t - float(gap @ velocity) / slope, low), high) if slope > 0 else t
        if abs(after - t) < 1e-14:
            break
        t = after
    return best


def _bend(segment: Segment, t: float) -> Array:
    """Return the second derivative of a piece at a parameter, mm."""
    if isinstance(segment, Cubic):
        bend: Array = segment.second_derivative(np.array([t]))[0]
        return bend
    if isinstance(segment, Arc):
        spoke: Array = motion(segment, np.array([t]))[0][0] - segment.centre
        return spoke * -(segment.sweep_rad**2)
    return np.zeros(2)

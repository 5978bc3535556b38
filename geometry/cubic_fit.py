"""One cubic curve through the ends of a line of points, as near to the others as can be.

After Schneider, An algorithm for automatically fitting digitized curves, 1990 (from memory): the
lengths of the two handles by least squares, the parameters by Newton's method, in turn.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometry.cubic import Cubic
from geometry.plane import Point

ROUNDS = 16
ENOUGH = 1e-10  # of the length: handles that move by less are found
LEAST_HANDLE = 0.02  # of the chord: a shorter handle makes a kink
MOST_HANDLE = 3.0  # of the chord: a longer one makes a loop
FLAT = 1e-12  # two points and a straight way tell nothing of the handles
Floats = NDArray[np.float64]


def fitted_cubic(points_mm: Floats, start_way: Point, end_way: Point) -> tuple[Cubic, float]:
    """Return the cubic that fits a line of points best, and the greatest distance from it.

    Parameters
    ----------
    points_mm : ndarray, (N, 2)
        From one end to the other, N >= 2, the ends apart, mm.
    start_way, end_way : tuple of float
        Unit vectors of travel at the two ends; they are kept.

    Returns
    -------
    Cubic, float
        And how far off the farthest of the points is, mm, at its own parameter.

    Examples
    --------
    >>> points = np.array([(0.0, 0.0), (1.0, 0.0), (3.0, 0.0)])
    >>> fitted_cubic(points, (1.0, 0.0), (1.0, 0.0))[1] < 1e-9
    True
    """
    steps = np.hypot(*np.diff(points_mm, axis=0).T)
    t = np.concatenate([[0.0], np.cumsum(steps)]) / max(float(steps.sum()), 1e-300)
    ways = np.array(start_way), -np.array(end_way)
    reach = math.dist(points_mm[0], points_mm[-1])
    handles = np.array([reach, reach]) / 3
    for _ in range(ROUNDS):
        before, handles = handles, _handles(points_mm, t, ways, reach)
        cubic = _cubic(points_mm, ways, handles)
        t = _nearer(cubic, points_mm, t)
        if np.abs(handles - before).max() <= ENOUGH * reach:
            break
    return cubic, float(np.hypot(*(cubic.at(t) - points_mm).T).max())


def _handles(points: Floats, t: Floats, ways: tuple[Floats, Floats], reach: float) -> Floats:
    """Return the lengths of both handles, by least squares."""
    u = 1 - t
    first, second = 3 * u * u * t, 3 * u * t * t
    ends = (u**3 + first)[:, None] * points[0] + (t**3 + second)[:, None] * points[-1]
    off = points - ends
    (ax, ay), (bx, by) = ways
    aa, bb, ab = first @ first, second @ second, (first @ second) * (ax * bx + ay * by)
    a, b = first @ (off @ ways[0]), second @ (off @ ways[1])
    whole = aa * bb - ab * ab
    if whole <= FLAT * aa * bb:
        return np.array([reach, reach]) / 3
    found = np.array([bb * a - ab * b, aa * b - ab * a]) / whole
    if not (LEAST_HANDLE * reach <= found.min() and found.max() <= MOST_HANDLE * reach):
        found = np.clip(found, LEAST_HANDLE * reach, MOST_HANDLE * reach)
    return np.asarray(found, float)


def _cubic(points: Floats, ways: tuple[Floats, Floats], handles: Floats) -> Cubic:
    start, end = points[0], points[-1]
    first, second = start + handles[0] * ways[0], end + handles[1] * ways[1]
    return Cubic(
        start=_point(start), control1=_point(first), control2=_point(second), end=_point(end)
    )


def _nearer(cubic: Cubic, points: Floats, t: Floats) -> Floats:
    """Return parameters nearer to the points, by one step of Newton's method, ends kept."""
    off = cubic.at(t) - points
    first, second = cubic.derivative(t), cubic.second_derivative(t)
    slope = (first**2).sum(axis=1) + (off * second).sum(axis=1)
    step = (off * first).sum(axis=1) / np.where(slope > 0, slope, np.inf)
    found = np.clip(t - step, 0.0, 1.0)
    found[0], found[-1] = 0.0, 1.0
    return np.asarray(found, float)


def _point(place: Floats) -> Point:
    return float(place[0]), float(place[1])

"""How often an edge bends over from hollow to full and back: what an eye takes for a wave."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Arc, Chain, Cubic, Segment

LEAST_BEND_RAD = math.radians(3)  # a bend that turns less is not seen
CORNER_RAD = math.radians(0.2)  # a joint that turns more parts one curve from the next
_LOOKED_AT = np.linspace(0.0, 1.0, 33)  # on a cubic


def turn_overs(chain: Chain, least_rad: float = LEAST_BEND_RAD) -> int:
    """Return how often a closed edge bends the other way, corners parting its curves.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge.
    least_rad : float
        Bends that turn less between two others are taken as part of them.

    Examples
    --------
    >>> from geometry.curves import Line
    >>> one = Arc(start=(0.0, 0.0), end=(10.0, 0.0), sweep_rad=1.0)
    >>> other = Arc(start=(10.0, 0.0), end=(20.0, 0.0), sweep_rad=-1.0)
    >>> turn_overs((one, other, Line(start=other.end, end=one.start)))
    1
    """
    curves: list[list[float]] = [[]]
    for before, segment in zip((chain[-1], *chain[:-1]), chain, strict=True):
        if abs(_turn_rad(before, segment)) > CORNER_RAD:
            curves.append([])
        curves[-1] += _bends_rad(segment)
    if len(curves) > 1:
        curves[-1] += curves.pop(0)  # the edge closes
    return sum(_changes(curve, least_rad) for curve in curves)


def _turn_rad(before: Segment, after: Segment) -> float:
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    return math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)


def _bends_rad(segment: Segment) -> list[float]:
    """Return how far a piece turns left, step by step."""
    if isinstance(segment, Arc):
        return [segment.sweep_rad]
    if not isinstance(segment, Cubic):
        return []
    ways: NDArray[np.float64] = segment.derivative(_LOOKED_AT)
    ways = ways[np.hypot(*ways.T) > 0]
    bends: list[float] = np.diff(np.unwrap(np.arctan2(ways[:, 1], ways[:, 0]))).tolist()
    return bends


def _changes(bends: list[float], least_rad: float) -> int:
    """Return how often the sum of bends turns back by the least that counts."""
    count, side = 0, 0
    angle = lowest = highest = 0.0
    for bend in bends:
        angle += bend
        if side >= 0 and angle <= highest - least_rad:
            count, side, lowest = count + (side > 0), -1, angle
        elif side <= 0 and angle >= lowest + least_rad:
            count, side, highest = count + (side < 0), 1, angle
        lowest = min(lowest, angle) if side <= 0 else lowest
        highest = max(highest, angle) if side >= 0 else highest
    return count

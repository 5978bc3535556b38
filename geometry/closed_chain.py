"""Closed chains: made of given points, checked, and turned counter-clockwise."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely import Polygon

from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment, chain_area_mm2, chain_backward
from geometry.errors import InputError

JOIN_MM = 1e-6  # ends this close are one point; a thousandth of what any saw can follow
MAX_MM = 10_000.0  # no knife is 10 m long: a unit is wrong, or the file is damaged

ONE_LOOP = "Give one closed edge that does not cross or touch itself."


def straight_chain(ring: ArrayLike, name: str) -> Chain:
    """Return the closed chain of lines through (N, 2) points, a repeated last one dropped."""
    points = np.asarray(ring, float).reshape(-1, 2)
    if not np.isfinite(points).all():
        raise InputError("a point of it is not a number.", where=name, remedy=ONE_LOOP)
    if not (np.abs(points) <= MAX_MM).all():
        x, y = points[np.abs(points).max(axis=1).argmax()].tolist()
        raise _too_far((x, y), name)
    step = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
    kept = [(x, y) for x, y in points[step > JOIN_MM].tolist()]
    if len(kept) < 3:
        raise InputError("its edge has fewer than three points.", where=name, remedy=ONE_LOOP)
    return tuple(Line(start=a, end=b) for a, b in zip(kept, [*kept[1:], kept[0]], strict=True))


def counter_clockwise(chain: Chain, name: str) -> Chain:
    """Return a closed chain turned counter-clockwise; InputError when it does not close."""
    for segment in _doubtful(chain):
        _check_size(segment, name)
    for segment, after in zip(chain, [*chain[1:], *chain[:1]], strict=True):
        if segment.end == after.start:
            continue
        gap = math.dist(segment.end, after.start)
        if not gap <= JOIN_MM:
            raise InputError(
                f"the edge is open by {gap:.3g} mm at {place_text(segment.end)}.",
                where=name,
                remedy="Join its ends.",
            )
    return chain if chain_area_mm2(chain) >= 0 else chain_backward(chain)


def _doubtful(chain: Chain) -> Chain:
    """Return the pieces of a chain that are no lines well within all measure."""
    ends = np.array([segment.start for segment in chain])
    well = bool(chain) and bool((np.abs(ends) <= MAX_MM).all())
    return tuple(s for s in chain if not isinstance(s, Line)) if well else chain


def _check_size(segment: Segment, name: str) -> None:
    """Check that a piece is of this world, so that flattening it is bounded work."""
    numbers = [*segment.start, *segment.end]
    if isinstance(segment, Cubic):
        numbers += [*segment.control1, *segment.control2]
    if isinstance(segment, Arc):
        numbers.append(segment.length_mm)
    if not all(abs(number) <= MAX_MM for number in numbers):
        raise _too_far(segment.start, name)


def _too_far(near: Point, name: str) -> InputError:
    return InputError(
        f"a piece of the edge, near {place_text(near)}, reaches beyond {MAX_MM / 1000:g} m.",
        where=name,
        remedy="Check the unit.",
    )


def invalid_at(shape: Polygon) -> Point:
    """Return the place that makes a polygon invalid, mm."""
    reason = shapely.is_valid_reason(shape)
    x, y = reason[reason.index("[") + 1 : reason.index("]")].split()[:2]
    return float(x), float(y)


def place_text(point: Point) -> str:
    """Return a place as a person reads it."""
    x, y = (f"{v:.1f}" if abs(v) < 10 * MAX_MM else f"{v:.0e}" for v in point)
    return f"x {x}, y {y} mm"

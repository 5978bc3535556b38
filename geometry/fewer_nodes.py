"""An edge with fewer nodes: smooth curves in the place of many small pieces, within a tolerance."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.along import Along
from geometry.arc_fit import strayed_mm
from geometry.cubic_fit import fitted_cubic
from geometry.curves import Chain, Line, Point, Segment, flatten_chain
from geometry.edge_features import ON_EDGE_MM, features_carried, nearest_place
from geometry.errors import Cancelled, InputError
from geometry.outline import Outline

CORNER_RAD = math.radians(20)  # a joint that turns more is a corner, and stays
STRAIGHT_MM = 15.0  # a line this long is meant to be straight, and stays
STEP_MM, MOST_STEPS = 0.8, 300  # between points that a curve is fitted to, and how many at most
END_MM = 0.1  # as near to a run's end as this, the node there is the one
WINDOW_MM = 2.0  # before and behind a place: its direction is that of the way between
TRIES, SMALLER = 5, 0.75  # a fit that fails its proof is made again, narrower
CLOSER = 4  # times a run is tried nearer
FIRST_SHARE = 0.8  # of the whole work, as it is told: most edges need one attempt
PROOF_MM = 2e-3  # how finely the new edge is measured
KEPT = ("tip", "butt", "heel")  # stations that have a node, for the hand to take
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fewer:
    """An outline with fewer nodes on its edge, and how far the edge moved by it, mm."""

    outline: Outline
    moved_mm: float


def with_fewer_nodes(
    outline: Outline,
    tolerance_mm: float,
    *,
    progress: Callable[[float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Fewer:
    """Return an outline whose edge has fewer nodes.

    Parameters
    ----------
    outline : Outline
        Its corners, its straight stretches, its holes and cutouts stay. Marks and stations go
        along to the nearest place of the new edge; at tip, butt and heel there is a node.
    tolerance_mm : float
        How far the edge may move, > 0.
    progress : callable, optional
        Told how much is done, 0 to 1.
    stop : callable, optional
        Asked now and then whether to stop.

    Raises
    ------
    Cancelled
        If it was stopped.
    InputError
        If it takes no fewer nodes, or the edge would cross itself or run through a hole.
    """
    if not tolerance_mm > 0.0:
        raise InputError(
            f"within {tolerance_mm:g} mm nothing can change.",
            where="Fewer points",
            remedy="Give a length above zero.",
        )
    ring = flatten_chain(outline.chain, PROOF_MM)
    kept = [(one.x_mm, one.y_mm) for one in outline.stations if one.name in KEPT]
    for attempt in range(TRIES):
        tell = partial(_tell, attempt, progress, stop)
        chain = _refitted(outline.chain, kept, tolerance_mm * SMALLER**attempt, tell)
        if len(chain) >= len(outline.chain):
            break
        moved_mm, _ = strayed_mm(chain, ring)
        if moved_mm <= tolerance_mm:
            made = features_carried(outline, chain, partial(nearest_place, chain))
            made.polygon()
            return Fewer(outline=made, moved_mm=moved_mm)
    raise as_few_as_it_can(tolerance_mm)


def as_few_as_it_can(tolerance_mm: float) -> InputError:
    """Return the error of an edge that takes no fewer nodes within a tolerance, mm."""
    return InputError(
        f"the edge has as few points as it can within {tolerance_mm:g} mm.",
        where="Fewer points",
        remedy="Let it move farther, or remove single points.",
    )


def _tell(
    attempt: int,
    progress: Callable[[float], None] | None,
    stop: Callable[[], bool] | None,
    share: float,
) -> None:
    """Tell how much of all attempts is done after a share of one, or raise Cancelled."""
    if stop is not None and stop():
        raise Cancelled
    if progress is not None:
        progress(1.0 - (1.0 - FIRST_SHARE) ** attempt * (1.0 - FIRST_SHARE * share))


def _part(tell: Callable[[float], None], first: float, last: float, share: float) -> None:
    """Tell how much of the whole is done after a share of a part of it."""
    tell(first + (last - first) * share)


def _refitted(
    chain: Chain, kept: list[Point], tolerance_mm: float, tell: Callable[[float], None]
) -> Chain:
    """Return a chain with each run from corner to corner fitted anew, nodes at some places."""
    pieces: list[Segment] = []
    done = 0
    for run in _runs(chain):
        if len(run) == 1:
            pieces.append(run[0])
        else:
            part = partial(_part, tell, done / len(chain), (done + len(run)) / len(chain))
            fitted = _Run(run, kept).fitted(tolerance_mm, part)
            pieces += fitted if len(fitted) < len(run) else run
        done += len(run)
    return tuple(pieces)


def _runs(chain: Chain) -> list[list[Segment]]:
    """Return the pieces of a closed chain in runs, parted at corners and at straight stretches."""
    runs: list[list[Segment]] = []
    for before, segment in zip((chain[-1], *chain[:-1]), chain, strict=True):
        if not runs or _parts(before, segment):
            runs.append([])
        runs[-1].append(segment)
    if len(runs) > 1 and not _parts(chain[-1], chain[0]):
        last = runs.pop()
        runs[0] = [*last, *runs[0]]
    return runs


def _parts(before: Segment, after: Segment) -> bool:
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    turn = abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
    return turn > CORNER_RAD or _is_straight(before) or _is_straight(after)


def _is_straight(segment: Segment) -> bool:
    return isinstance(segment, Line) and segment.length_mm >= STRAIGHT_MM


class _Run:
    """Pieces without a corner between, as points close together with their directions.

    Of some places, those on them are among the points, and no curve runs past one.
    """

    def __init__(self, pieces: list[Segment], kept: list[Point]) -> None:
        along = Along(tuple(pieces))
        count = int(min(max(along.length_mm / STEP_MM, 8 * len(pieces)), MOST_STEPS)) + 1
        inner = _inner_places(along, kept)
        at = np.union1d(np.linspace(0.0, along.length_mm, count), inner)
        self._stops = [*np.searchsorted(at, inner).tolist(), len(at) - 1]
        self.points, _ = along.at(at)
        self.points[0], self.points[-1] = pieces[0].start, pieces[-1].end
        window = min(WINDOW_MM, along.length_mm / 8)
        ahead, behind = along.at(at + window)[0], along.at(at - window)[0]
        ways = ahead - behind
        self.ways = ways / np.hypot(*ways.T)[:, None]
        self.ways[0], self.ways[-1] = pieces[0].start_direction, pieces[-1].end_direction

    def fitted(self, tolerance_mm: float, tell: Callable[[float], None]) -> list[Segment]:
        """Return the fewest curves within a tolerance; among as few, nearer ones.

        `tell` is told how much of it is done, and may raise to end it.
        """
        parts = np.linspace(0.0, 1.0, CLOSER + 2).tolist()
        found = self._greedy(tolerance_mm, partial(_part, tell, *parts[:2]))
        low, high = 0.0, tolerance_mm
        # the last curve of few is often short: as few, closer, is fairer
        for first, last in pairwise(parts[1:]):
            middle = (low + high) / 2
            closer = self._greedy(middle, partial(_part, tell, first, last))
            if len(closer) == len(found):
                found, high = closer, middle
            else:
                low = middle
        return found

    def _greedy(self, tolerance_mm: float, tell: Callable[[float], None]) -> list[Segment]:
        breaks, last = [0], len(self.points) - 1
        while breaks[-1] < last:
            tell(breaks[-1] / last)
            breaks.append(self._reach(breaks[-1], tolerance_mm))
        return [self._curve(a, b)[0] for a, b in pairwise(breaks)]

    def _reach(self, first: int, tolerance_mm: float) -> int:
        """Return the farthest point that one curve comes to within a tolerance."""
        last = min(stop for stop in self._stops if stop > first)
        good, bad = first + 1, last + 1
        reach = last
        while bad - good > 1:
            if self._curve(first, reach)[1] <= tolerance_mm:
                good = reach
            else:
                bad = reach
            reach = (good + bad) // 2
        return good

    def _curve(self, first: int, last: int) -> tuple[Segment, float]:
        start, end = _point(self.ways[first]), _point(self.ways[last])
        return fitted_cubic(self.points[first : last + 1], start, end)


def _inner_places(along: Along, kept: list[Point]) -> list[float]:
    """Return how far along a run some places lie, mm; those on it, and not at its ends."""
    at = sorted({along.place_mm(place) for place in kept})
    if not at:
        return []
    points, _ = along.at(at)
    return [
        place
        for place, point in zip(at, points, strict=True)
        if min(math.dist(point, one) for one in kept) <= ON_EDGE_MM
        and END_MM < place < along.length_mm - END_MM
    ]


def _point(place: Floats) -> Point:
    return float(place[0]), float(place[1])

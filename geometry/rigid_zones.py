"""Where an edge bends so tightly that stretching would spoil it: notches, choils, round corners."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Arc, Chain, Cubic, Point, Segment
from geometry.stretch import RigidZone

TIGHT_MM = 6.0  # a bend outward that gets to a smaller radius than this keeps its shape
HOLLOW_MM = 10.0  # and one inward, which a wheel has to follow
BEND_MM = 10.0  # it reaches as far as its radius is smaller than this
LEAST_TURN_RAD = math.radians(30)  # a tight place that turns less is hardly seen
ROUND_END_RAD = math.radians(150)  # one that turns outward by more is the end of all, and widens
ROUND_IT_MM = 0.2  # kept beyond the tight place itself
LARGEST_MM = 15.0  # zones join while they are smaller than this
LEAST_GAP = 0.8  # radii between two zones: less could not make up for narrowing by a quarter
MOST_CORNER_RAD = math.radians(120)  # a corner rounded over more has its apex too far off
SAME_MM = 1e-9
FADE = 2.0  # radii: how far round a zone the change is made up for, where there is room
SHARP_RAD = math.radians(30)  # a corner that turns more ends what makes up for a change
NO_LARGER = 1.3  # times the least disc over a tight place
_STEPS = 16  # a cubic is looked at in


def rigid_zones(chain: Chain) -> tuple[RigidZone, ...]:
    """Return the zones round an edge's tight places, none reaching into another.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge, counter-clockwise, mm. Straight pieces are never tight, however sharp the
        corner between.

    Examples
    --------
    >>> from geometry.curves import Line
    >>> notch = Arc(start=(-3.0, 0.0), end=(3.0, 0.0), sweep_rad=-math.pi)
    >>> up = Line(start=(3.0, 0.0), end=(0.0, 40.0))
    >>> [zone] = rigid_zones((notch, up, Line(start=up.end, end=notch.start)))
    >>> zone.x_mm, zone.y_mm, round(zone.radius_mm, 2)
    (0.0, 0.0, 3.2)
    """
    places = _tight_places(chain)
    discs = [_disc(points) for points in places]
    apexes = {disc: _apex(points) for disc, points in zip(discs, places, strict=True)}
    while (pair := _too_close(discs)) is not None:
        a, b = pair
        joined = _round_both(discs[a], discs[b])
        discs = [disc for i, disc in enumerate(discs) if i not in pair] + [joined]
    corners = sharp_corners(chain)
    return tuple(
        RigidZone(
            x_mm=x,
            y_mm=y,
            radius_mm=radius,
            fade_mm=_fade(i, discs, corners),
            anchor_mm=apexes.get((x, y, radius)),
        )
        for i, (x, y, radius) in enumerate(discs)
    )


Disc = tuple[float, float, float]


def _tight_places(chain: Chain) -> list[NDArray[np.float64]]:
    """Return the (N, 2) points of each run of tight bends that turns enough."""
    runs: list[tuple[list[Point], float]] = []
    end: Point | None = None
    for segment in chain:
        for points, turn in _tight_runs(segment):
            if runs and end is not None and math.dist(end, points[0]) < 1e-6:
                before, turned = runs.pop()
                points, turn = before + points, turned + turn
            runs.append((points, turn))
            end = points[-1]
    if len(runs) > 1 and math.dist(runs[-1][0][-1], runs[0][0][0]) < 1e-6:
        points, turn = runs.pop()
        runs[0] = (points + runs[0][0], turn + runs[0][1])
    return [
        np.array(points)
        for points, turn in runs
        if abs(turn) >= LEAST_TURN_RAD
        and turn < ROUND_END_RAD
        and _least_radius_mm(np.array(points)) < (TIGHT_MM if turn > 0 else HOLLOW_MM)
    ]


def _least_radius_mm(points: NDArray[np.float64]) -> float:
    """Return the least radius along a run of points, mm."""
    lengths, angles = _steps(points)
    if len(lengths) < 2:
        return 0.0  # one step that turns enough by itself
    turns = np.maximum(np.abs(np.diff(angles)), 1e-12)
    return float(((lengths[:-1] + lengths[1:]) / 2 / turns).min())


def _steps(points: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the lengths of the steps between points, mm, and their directions, rad."""
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    steps = steps[lengths > SAME_MM]
    return lengths[lengths > SAME_MM], np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))


def _tight_runs(segment: Segment) -> list[tuple[list[Point], float]]:
    """Return the tight stretches of a piece: their points, and how far each turns left, rad.

    They are those that may belong to a bend; whether it gets tight is seen when it is whole.
    """
    if isinstance(segment, Arc):
        if segment.radius_mm > BEND_MM:
            return []
        inner = segment.flattened(segment.radius_mm * 0.02).tolist()
        return [([(x, y) for x, y in inner] + [segment.end], segment.sweep_rad)]
    if not isinstance(segment, Cubic):
        return []
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    points = [(x, y) for x, y in segment.at(t).tolist()]
    directions = np.unwrap(np.arctan2(*segment.derivative(t).T[::-1]))
    turns = np.diff(directions)
    steps = np.hypot(*np.diff(np.array(points), axis=0).T)
    tight = np.abs(turns) * BEND_MM > steps
    runs: list[tuple[list[Point], float]] = []
    for i in np.flatnonzero(tight).tolist():
        if runs and i and tight[i - 1]:
            before, turn = runs.pop()
            runs.append(([*before, points[i + 1]], turn + float(turns[i])))
        else:
            runs.append(([points[i], points[i + 1]], float(turns[i])))
    return runs


def _disc(points: NDArray[np.float64]) -> Disc:
    """Return a disc over a tight place, about the middle of its ends where that is no larger.

    There it goes along with what it joins: a notch with the edge that it is cut in.
    """
    discs = []
    for x, y in ((points[0] + points[-1]) / 2, (points.min(axis=0) + points.max(axis=0)) / 2):
        discs.append((float(x), float(y), float(np.hypot(*(points - (x, y)).T).max())))
    at_ends, at_middle = discs
    x, y, radius = at_ends if at_ends[2] <= NO_LARGER * at_middle[2] else at_middle
    return x, y, radius + ROUND_IT_MM


def _apex(points: NDArray[np.float64]) -> Point | None:
    """Return the corner that a rounding cuts off, None where its sides meet nowhere near.

    There a rounded corner goes along with both of its sides: neither has to bend to meet it.
    """
    _, angles = _steps(points)
    if len(angles) < 2:
        return None
    first, last = 1.5 * angles[:2] @ (1, -1 / 3), 1.5 * angles[:-3:-1] @ (1, -1 / 3)
    if not LEAST_TURN_RAD < abs(last - first) < MOST_CORNER_RAD:
        return None
    across = points[-1] - points[0]
    reach = (across[0] * math.sin(last) - across[1] * math.cos(last)) / math.sin(last - first)
    return (
        float(points[0, 0] + reach * math.cos(first)),
        float(points[0, 1] + reach * math.sin(first)),
    )


def _too_close(discs: list[Disc]) -> tuple[int, int] | None:
    """Return two discs that leave too little between them to make up for the change."""
    for a, b in combinations(range(len(discs)), 2):
        (xa, ya, ra), (xb, yb, rb) = discs[a], discs[b]
        gap = math.hypot(xb - xa, yb - ya) - ra - rb
        if gap < LEAST_GAP * max(ra, rb) and (
            gap <= 0 or _round_both(discs[a], discs[b])[2] <= LARGEST_MM
        ):
            return a, b
    return None


def _round_both(one: Disc, other: Disc) -> Disc:
    """Return the least disc round two."""
    (xa, ya, ra), (xb, yb, rb) = one, other
    apart = math.hypot(xb - xa, yb - ya)
    if apart + rb <= ra:
        return one
    if apart + ra <= rb:
        return other
    radius = (apart + ra + rb) / 2
    share = (radius - ra) / apart
    return xa + share * (xb - xa), ya + share * (yb - ya), radius


def sharp_corners(chain: Chain, *, inside: bool = False) -> list[Point]:
    """Return where the edge turns sharply from one piece to the next; only inward if so told."""
    found = []
    for before, after in zip((chain[-1], *chain[:-1]), chain, strict=True):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if abs(turn) > SHARP_RAD and not (inside and turn > 0):
            found.append(after.start)
    return found


def room_mm(zone: Disc, others: Iterable[Disc], corners: Iterable[Point]) -> float:
    """Return how far round a zone nothing else is: no other zone, and no corner."""
    x, y, radius = zone
    gaps = [math.hypot(x - xo, y - yo) - radius - ro for xo, yo, ro in others]
    beside = [math.hypot(x - xo, y - yo) - radius for xo, yo in corners]
    return min([*gaps, *(gap for gap in beside if gap > 0)], default=math.inf)


def _fade(index: int, discs: list[Disc], corners: list[Point]) -> float:
    """Return how far round a zone the change is made up for, where there is room."""
    others = [disc for i, disc in enumerate(discs) if i != index]
    radius = discs[index][2]
    return max(min(FADE * radius, room_mm(discs[index], others, corners)), radius / 2)

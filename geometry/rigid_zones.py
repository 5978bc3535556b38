"""Where an edge bends inward so tightly that stretching would spoil it: notches, choils, shoulders.

Of what bends outward, and of arcs, `geometry.round_corners` keeps the radius.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Chain, Point
from geometry.stretch import RigidZone
from geometry.tight_bends import LEAST_TURN_RAD, steps_of, tight_bends

HOLLOW_MM = 10.0  # a bend inward that gets to a smaller radius keeps its shape, as arcs do
ROUND_IT_MM = 0.2  # kept beyond the tight place itself
LARGEST_MM = 15.0  # zones join while they are smaller than this
LEAST_GAP = 0.8  # radii between two zones: less could not make up for narrowing by a quarter
MOST_CORNER_RAD = math.radians(120)  # a corner rounded over more has its apex too far off
FADE = 2.0  # radii: how far round a zone the change is made up for, where there is room
SHARP_RAD = math.radians(30)  # a corner that turns more ends what makes up for a change
NO_LARGER = 1.3  # times the least disc over a tight place


def rigid_zones(chain: Chain) -> tuple[RigidZone, ...]:
    """Return the zones round an edge's tight hollows, none reaching into another.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge, counter-clockwise, mm. Straight pieces are never tight, however sharp the
        corner between.

    Examples
    --------
    >>> from geometry.curves import Arc, Line
    >>> notch = Arc(start=(-3.0, 0.0), end=(3.0, 0.0), sweep_rad=-math.pi)
    >>> up = Line(start=(3.0, 0.0), end=(0.0, 40.0))
    >>> [zone] = rigid_zones((notch, up, Line(start=up.end, end=notch.start)))
    >>> zone.x_mm, zone.y_mm, round(zone.radius_mm, 2)
    (0.0, 0.0, 3.2)
    """
    places = [
        bend.points
        for bend in tight_bends(chain)
        if bend.turn_rad <= -LEAST_TURN_RAD and (bend.of_arcs or bend.radius_mm < HOLLOW_MM)
    ]
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
    _, angles = steps_of(points)
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

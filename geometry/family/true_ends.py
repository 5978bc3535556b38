"""Both ends of a stretched edge where the stretch brings them, and the named places on it.

A rounded tip keeps its radius between sides that open or close a little, and so ends a little short
of where the stretch alone brings it, or beyond. The sides make up for that.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np

from geometry.along import Along
from geometry.curves import Chain, Point, flatten_chain
from geometry.round_corners import mapped_edge
from geometry.stretch import Stretch, StretchAt, StretchMap

FINE_MM = 2e-4  # how finely the ends are looked at
SHORT_MM = 1e-3  # an end that is off by less stays
ON_EDGE_MM = 5e-3  # a place this near to the drawn edge, or to its end, lies there


def stretched_edge(chain: Chain, stretched: StretchMap) -> tuple[StretchMap, Chain]:
    """Return the map that brings the ends of an edge where they belong, and the edge under it.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge as drawn, mm.
    stretched : StretchMap
        What it is told to become.

    Raises
    ------
    InputError
        If the values leave no room somewhere.
    """
    edge = mapped_edge(chain, stretched.with_slopes)
    drawn, told = _ends(chain), replace(stretched, rigid=())
    wanted = told.points(np.array(drawn))[:, 0].tolist()
    extra = [
        Stretch(at=_along(stretched, x), by_mm=off if x > _start(stretched, x) else -off)
        for (x, _), off in zip(
            drawn, (w - x for w, (x, _) in zip(wanted, _ends_now(edge), strict=True)), strict=True
        )
        if abs(off) > SHORT_MM
    ]
    if not extra:
        return stretched, edge
    exact = replace(stretched, stretches=(*stretched.stretches, *extra))
    return exact, mapped_edge(chain, exact.with_slopes)


def kept_on_edge(place: Point, moved: Point, drawn: Chain, edge: Chain) -> Point:
    """Return where a named place is on a stretched edge, if it lay on the edge as drawn.

    Parameters
    ----------
    place, moved : tuple of float
        As drawn, and where the stretch brings it, mm.
    drawn, edge : tuple of segments
        The edge before and after.
    """
    if not _lies_on(drawn, place):
        return moved
    for (x, _), end in zip(_ends(drawn), _ends_now(edge), strict=True):
        if abs(place[0] - x) <= ON_EDGE_MM:
            met = _nearest(edge, (end[0], moved[1]))
            return met if abs(met[0] - end[0]) <= SHORT_MM else end
    return _over_or_under(edge, moved)


def _over_or_under(chain: Chain, place: Point) -> Point:
    """Return the nearest place of an edge at the same x: lengths along x stay what they are."""
    ring = flatten_chain(chain, FINE_MM)
    (x0, y0), (x1, y1) = ring.T, np.roll(ring, -1, axis=0).T
    crosses = (x0 <= place[0]) != (x1 <= place[0])
    if not crosses.any():
        return _nearest(chain, place)
    share = (place[0] - x0[crosses]) / (x1 - x0)[crosses]
    met = y0[crosses] + share * (y1 - y0)[crosses]
    return place[0], float(met[np.abs(met - place[1]).argmin()])


def _nearest(chain: Chain, place: Point) -> Point:
    along = Along(chain)
    [(x, y)] = along.at([along.place_mm(place)])[0].tolist()
    return x, y


@lru_cache(maxsize=64)
def _lies_on(chain: Chain, place: Point) -> bool:
    return math.dist(_nearest(chain, place), place) <= ON_EDGE_MM


@lru_cache(maxsize=16)
def _ends(chain: Chain) -> tuple[Point, Point]:
    """Return the places of an edge that lie farthest to the left and to the right."""
    return _ends_now(chain)


def _ends_now(chain: Chain) -> tuple[Point, Point]:
    ring = flatten_chain(chain, FINE_MM)
    first, last = ring[ring[:, 0].argmin()].tolist(), ring[ring[:, 0].argmax()].tolist()
    return (first[0], first[1]), (last[0], last[1])


def _start(stretched: StretchMap, end_mm: float) -> float:
    """Return from where on a profile stretches toward an end of it."""
    kept = stretched.kept[0] if stretched.kept else 0.0
    starts = [
        each.at.start_mm
        for each in stretched.stretches
        if each.at.axis == "x" and (each.at.end_mm - each.at.start_mm) * (end_mm - kept) > 0
    ]
    return starts[0] if starts else kept


def _along(stretched: StretchMap, end_mm: float) -> StretchAt:
    start = _start(stretched, end_mm)
    return StretchAt(axis="x", start_mm=start, end_mm=end_mm, goes_on=True)

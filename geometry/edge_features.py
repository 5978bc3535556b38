"""What lies on an outline's edge goes along when the edge is changed: places, marks, ticks."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import TypeAlias

import numpy as np
import shapely

from geometry.along import Along
from geometry.curves import PATTERN_CHORD_MM, Chain, Point, flatten_chain
from geometry.outline import Mark, Outline, Station

ON_EDGE_MM = 0.05  # marks are drawn on the flattened edge, which lies this near to the true one
SAME_MM = 1e-9
FAR = 4.0  # times what moved: a line's end that would go farther belongs to another place
TICK_MM = 5.0  # a line this short with one end on the edge is a tick, square to it

Follow: TypeAlias = Callable[[Point], Point | None]
"""Where a place on the old edge goes; None where the edge stays as it is."""


def features_carried(outline: Outline, chain: Chain, follow: Follow) -> Outline:
    """Return an outline with another edge, what lies on the changed parts carried along.

    Parameters
    ----------
    outline : Outline
        As it was. Its holes and cutouts stay.
    chain : tuple of segments
        The new edge.
    follow : callable
        Where each place on the old edge goes.

    Notes
    -----
    A tick moves with the edge and turns with it. A line from edge to edge keeps its direction: it
    shifts with the joint at one of its ends, else its ends slide along it to the new edge nearby.
    On any other mark, what the points on the edge move by is spread over the points between.
    """
    at = _Edges(outline.chain, chain, follow)
    return replace(
        outline,
        chain=chain,
        stations=tuple(_station(station, at) for station in outline.stations),
        marks=tuple(replace(mark, points_mm=_carried(mark, at)) for mark in outline.marks),
    )


def nearest_place(chain: Chain, point: Point) -> Point:
    """Return the place of a chain that is nearest a point, mm."""
    along = _along(chain)
    [(x, y)] = along.at([along.place_mm(point)])[0].tolist()
    return x, y


def by_share(*swaps: tuple[Chain, Chain]) -> Follow:
    """Return where places go when pieces are swapped for others: to the same share of the length.

    Parameters
    ----------
    *swaps : tuple of chain and chain
        Pieces as they were, and what they became.
    """
    pairs = [(old, Along(new)) for old, new in swaps]

    def follow(point: Point) -> Point | None:
        for old, new in pairs:
            if _line(old).distance(shapely.Point(point)) <= ON_EDGE_MM:
                share = _place_mm(old, point) / _along(old).length_mm
                [(x, y)] = new.at([share * new.length_mm])[0].tolist()
                return x, y
        return None

    return follow


@lru_cache(maxsize=32)  # while a node is dragged, the edge as it was is asked for at each move
def _along(chain: Chain) -> Along:
    """Return a chain by its length."""
    return Along(chain)


@lru_cache(maxsize=1024)
def _place_mm(chain: Chain, point: Point) -> float:
    """Return the length to the place on a chain that is nearest a point, mm."""
    return _along(chain).place_mm(point)


@lru_cache(maxsize=1024)
def _way(chain: Chain, point: Point) -> complex:
    """Return the direction of travel at the place on a chain that is nearest a point."""
    [(x, y)] = _along(chain).at([_place_mm(chain, point)])[1].tolist()
    return complex(x, y)


@lru_cache(maxsize=32)
def _ring(chain: Chain) -> shapely.LinearRing:
    """Return a closed chain flattened."""
    return shapely.LinearRing(flatten_chain(chain, PATTERN_CHORD_MM))


@lru_cache(maxsize=32)
def _line(chain: Chain) -> shapely.LineString:
    """Return a chain flattened, to look quickly what is near it."""
    return shapely.LineString([*flatten_chain(chain, PATTERN_CHORD_MM), chain[-1].end])


class _Edges:
    """An edge before and after a change."""

    def __init__(self, old: Chain, new: Chain, follow: Follow) -> None:
        self._follow, self._old, self._new = follow, old, new
        self._old_ring = _ring(old)

    @cached_property
    def _new_ring(self) -> shapely.LinearRing:
        return _ring(self._new)

    def turn_rad(self, old: Point, new: Point) -> float:
        """Return how far the edge at a place turned left when that went to another."""
        return cmath.phase(_way(self._new, new) / _way(self._old, old))

    def moved(self, point: Point) -> Point | None:
        """Return where a point on the changed part of the old edge goes; None for any other."""
        to = self._follow(point) if self.is_on(point) else None
        return None if to is None or math.dist(to, point) <= SAME_MM else to

    def is_on(self, point: Point) -> bool:
        """Return whether a point lies on the old edge."""
        return bool(self._old_ring.distance(shapely.Point(point)) <= ON_EDGE_MM)

    def is_joint(self, point: Point) -> bool:
        """Return whether pieces of the old edge meet at a point."""
        return any(math.dist(piece.start, point) <= ON_EDGE_MM for piece in self._old)

    def met(self, point: Point, way: Point) -> Point | None:
        """Return where a line through a point meets the new edge next to it, if it does."""
        x0, y0, x1, y1 = self._new_ring.bounds
        reach = math.dist((x0, y0), (x1, y1)) + math.dist(point, (x0, y0))
        (x, y), (dx, dy) = point, way
        line = [(x - reach * dx, y - reach * dy), (x + reach * dx, y + reach * dy)]
        crossing = self._new_ring.intersection(shapely.LineString(line))
        met = shapely.get_coordinates(crossing).tolist()
        if not met:
            return None
        near = min(met, key=lambda place: math.dist(place, point))
        return near[0], near[1]


def _station(station: Station, at: _Edges) -> Station:
    to = at.moved((station.x_mm, station.y_mm))
    return station if to is None else replace(station, x_mm=to[0], y_mm=to[1])


def _carried(mark: Mark, at: _Edges) -> tuple[Point, ...]:
    """Return the points of a mark on the new edge."""
    points = mark.points_mm
    goes = [at.moved(point) for point in points]
    if not any(goes):
        return points
    if len(points) == 2 and points[0] != points[1]:
        on = [at.is_on(point) for point in points]
        if all(on):
            return _across(points, goes, at)
        if math.dist(*points) <= TICK_MM:
            return _tick(points, goes, at)
    return _spread(points, goes)


def _across(points: tuple[Point, ...], goes: list[Point | None], at: _Edges) -> tuple[Point, ...]:
    """Return a line from edge to edge: as it lies, shifted with a joint at one of its ends."""
    (x0, y0), (x1, y1) = points
    length = math.dist(*points)
    way = ((x1 - x0) / length, (y1 - y0) / length)
    at_joint = [
        to if to is not None and at.is_joint(point) else None
        for point, to in zip(points, goes, strict=True)
    ]
    dx, dy = next(
        (
            (to[0] - point[0], to[1] - point[1])
            for point, to in zip(points, at_joint, strict=True)
            if to is not None
        ),
        (0.0, 0.0),
    )
    ends = []
    for point, to, joint in zip(points, goes, at_joint, strict=True):
        shifted = (point[0] + dx, point[1] + dy)
        reach = FAR * max(math.hypot(dx, dy), math.dist(to or point, point))
        met = at.met(shifted, way) if reach else None
        near = met if met is not None and math.dist(met, shifted) <= reach else None
        ends.append(joint or near or to or point)
    return tuple(ends)


def _tick(points: tuple[Point, ...], goes: list[Point | None], at: _Edges) -> tuple[Point, ...]:
    """Return a tick moved with its place on the edge, and turned as the edge is there."""
    foot = 0 if goes[0] is not None else 1
    old, new = points[foot], goes[foot]
    assert new is not None
    other = points[1 - foot]
    reach = complex(other[0] - old[0], other[1] - old[1]) * cmath.rect(1.0, at.turn_rad(old, new))
    end = (new[0] + reach.real, new[1] + reach.imag)
    return (new, end) if foot == 0 else (end, new)


def _spread(points: tuple[Point, ...], goes: list[Point | None]) -> tuple[Point, ...]:
    """Return points moved by what those on the edge move by, evenly spread between them."""
    places = np.array(points)
    steps = np.hypot(*np.diff(places, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    last = len(points) - 1
    known = [i for i, to in enumerate(goes) if to is not None or i in (0, last)]
    by = np.array([np.subtract(goes[i] or points[i], points[i]) for i in known])
    shift = np.column_stack([np.interp(along, along[known], by[:, axis]) for axis in (0, 1)])
    return tuple((x, y) for x, y in (places + shift).tolist())

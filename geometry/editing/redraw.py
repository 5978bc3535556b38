"""One stretch of the edge drawn anew: a vertex moved, added or deleted, a stretch straightened.

All four say the same: from here to there, the edge runs through these points instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.billet import Billet
from geometry.curves import Point
from geometry.editing.edges import REACH_MM, SAME_MM, Floats, Ring, rings_of, with_rings
from geometry.editing.numbers import check_finite
from geometry.errors import InputError

HAND_MM = 0.1  # a hand at the loupe points to about this, one standard deviation; no source
CHANGED_SHARE = 0.25  # a stretch that measures longer or shorter by more is another one

Deed = Literal["move a vertex", "add a vertex", "delete a vertex", "straighten"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Redraw:
    """The edge between two of its places runs through other points.

    Parameters
    ----------
    deed : str
        What the maker did, for the list of changes.
    start_mm, end_mm : tuple of float
        The stretch's ends, travelled with the steel on the left.
    length_mm : float
        Its length along the edge when it was drawn: tells it from the rest of the same edge.
    through_mm : tuple of tuple of float
        The new points between the ends; none for a straight line.
    sigma_mm : float
        One standard deviation of each new point, >= 0.
    """

    deed: Deed
    start_mm: Point
    end_mm: Point
    length_mm: float
    through_mm: tuple[Point, ...] = ()
    sigma_mm: float = HAND_MM

    @property
    def name(self) -> str:
        """What the maker did."""
        return self.deed

    def __post_init__(self) -> None:
        points = (self.start_mm, self.end_mm, *self.through_mm)
        check_finite("a place", *(number for point in points for number in point))
        check_finite("the length and the doubt", self.length_mm, self.sigma_mm)
        if self.length_mm < 0 or self.sigma_mm < 0:
            raise InputError("a length or a doubt below zero.", remedy="Give 0 or more.")

    def applied(self, billet: Billet) -> Billet:
        """Return the changed billet; InputError if the stretch is not found, or cannot be so."""
        rings = rings_of(billet)
        number = _nearest_ring(rings, self.start_mm, self.end_mm)
        rings[number] = self._redrawn(rings[number])
        return with_rings(billet, rings)

    def _redrawn(self, ring: Ring) -> Ring:
        ring, first = ring.with_vertex(ring.place(self.start_mm))
        place = ring.place(self.end_mm)
        longer, last = ring.with_vertex(place)
        if place.share > 0.0 and last <= first:
            first += 1
        points, sigma = (np.roll(each, -first, 0) for each in (longer.points_mm, longer.sigma_mm))
        last = (last - first) % len(points)
        rolled = Ring(points_mm=points, sigma_mm=sigma)
        if last == 0 or not self._is_meant(rolled.reached_mm()[[last, -1]]):
            raise InputError(
                "the stretch of edge that was drawn anew is not there as it was.",
                remedy="Take this change back, and make it again on the edge as it is now.",
            )
        new = np.array(self.through_mm, float).reshape(-1, 2)
        drawn = np.concatenate([points[:1], new, points[last:]])
        doubts = np.concatenate([sigma[:1], np.full(len(new), self.sigma_mm), sigma[last:]])
        apart = np.hypot(*(drawn - np.roll(drawn, 1, axis=0)).T) > SAME_MM
        return Ring(points_mm=drawn[apart], sigma_mm=doubts[apart])

    def _is_meant(self, reached_mm: Floats) -> bool:
        """Return whether a stretch, of how long an edge, is as long as this one, not its rest."""
        found_mm, round_mm = reached_mm.tolist()
        share_mm = CHANGED_SHARE * self.length_mm
        off_mm = abs(found_mm - self.length_mm)
        rest_off_mm = abs(round_mm - found_mm - self.length_mm)
        return bool(off_mm <= min(2 * REACH_MM, rest_off_mm) + share_mm)


def vertex_moved(
    billet: Billet, at_mm: Point, to_mm: Point, *, sigma_mm: float | None = None
) -> Redraw:
    """Return the change that moves the vertex nearest to a place.

    Parameters
    ----------
    billet : Billet
        As it is before.
    at_mm, to_mm : tuple of float
        Where the vertex is, and where it goes.
    sigma_mm : float, optional
        How sure the new place is; if left out, the hand's, but no surer than what was measured.
    """
    ring, vertex = _nearest_vertex(billet, at_mm)
    doubt = max(HAND_MM, float(ring.sigma_mm[vertex])) if sigma_mm is None else sigma_mm
    return _between(ring, vertex - 1, vertex + 1, "move a vertex", (to_mm,), doubt)


def vertex_added(
    billet: Billet, at_mm: Point, to_mm: Point | None = None, *, sigma_mm: float | None = None
) -> Redraw:
    """Return the change that adds a vertex to the edge nearest to a place, there or elsewhere."""
    check_finite("a place", *at_mm)
    rings = rings_of(billet)
    ring = rings[_nearest_ring(rings, at_mm)]
    place = ring.place(at_mm, snap_mm=SAME_MM)
    longer, vertex = ring.with_vertex(place)
    if longer is ring:
        raise InputError("there is a vertex already.", remedy="Move that one.")
    doubt = max(HAND_MM, float(longer.sigma_mm[vertex])) if sigma_mm is None else sigma_mm
    x_mm, y_mm = longer.points_mm[vertex].tolist()
    return _between(
        ring, place.piece, place.piece + 1, "add a vertex", (to_mm or (x_mm, y_mm),), doubt
    )


def vertex_deleted(billet: Billet, at_mm: Point) -> Redraw:
    """Return the change that takes away the vertex nearest to a place."""
    ring, vertex = _nearest_vertex(billet, at_mm)
    return _between(ring, vertex - 1, vertex + 1, "delete a vertex", (), 0.0)


def straightened(billet: Billet, one_mm: Point, other_mm: Point) -> Redraw:
    """Return the change that makes the shorter way between two places of the edge one line.

    A line may lie outside the edge that was measured: `claim` says by how much.
    """
    check_finite("a place", *one_mm, *other_mm)
    rings = rings_of(billet)
    ring = rings[_nearest_ring(rings, one_mm, other_mm)]
    ring, _ = ring.with_vertex(ring.place(one_mm))
    ring, last = ring.with_vertex(ring.place(other_mm))
    first = ring.place(one_mm).piece
    if first == last:
        raise InputError("both ends are the same place.", remedy="Point at two places.")
    reached = ring.reached_mm()
    forward_mm = (reached[last] - reached[first]) % reached[-1]
    if 2 * forward_mm > reached[-1]:
        first, last = last, first
    return _between(ring, first, last, "straighten", (), 0.0)


def _between(
    ring: Ring, first: int, last: int, deed: Deed, through: tuple[Point, ...], sigma_mm: float
) -> Redraw:
    count = len(ring.points_mm)
    reached = ring.reached_mm()
    (x0, y0), (x1, y1) = ring.points_mm[[first % count, last % count]].tolist()
    return Redraw(
        deed=deed,
        start_mm=(x0, y0),
        end_mm=(x1, y1),
        length_mm=float((reached[last % count] - reached[first % count]) % reached[-1]),
        through_mm=through,
        sigma_mm=sigma_mm,
    )


def _nearest_ring(rings: list[Ring], *places_mm: Point) -> int:
    """Return which ring passes by all places; InputError when none does."""
    off = [max(ring.place(place).off_mm for place in places_mm) for ring in rings]
    nearest = int(np.argmin(off))
    if not off[nearest] <= REACH_MM:
        raise InputError(
            f"the edge is {off[nearest]:.1f} mm away from where it was changed.",
            remedy="Take this change back, and make it again on the edge as it is now.",
        )
    return nearest


def _nearest_vertex(billet: Billet, at_mm: Point) -> tuple[Ring, int]:
    check_finite("a place", *at_mm)
    rings = rings_of(billet)
    off = [np.hypot(*(ring.points_mm - at_mm).T) for ring in rings]
    nearest = min(range(len(rings)), key=lambda number: off[number].min())
    if not off[nearest].min() <= REACH_MM:
        raise InputError(
            f"the nearest vertex is {off[nearest].min():.1f} mm away.",
            remedy="Point at a vertex, or add one.",
        )
    return rings[nearest], int(off[nearest].argmin())

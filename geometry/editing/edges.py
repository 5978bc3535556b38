"""A billet's edge as rings of places, each found again by where it lies.

A change of the edge has to hold when the piece is measured again, and then no vertex has its old
number or quite its old place. A place is therefore kept in mm, and looked up on the edge at hand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.billet import Billet
from geometry.curves import Point
from geometry.errors import InputError

REACH_MM = 3.0  # farther off, the edge at hand is not the one that was meant
SNAP_MM = 0.5  # a place this near to a vertex means the vertex: two measures differ by less
SAME_MM = 1e-6  # points this close are one point
SMALLEST_MM2 = 1.0  # of a piece that is one

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ring:
    """A closed edge with the steel on its left.

    Parameters
    ----------
    points_mm : ndarray, (N, 2)
        Its vertices, the first not repeated.
    sigma_mm : ndarray, (N,)
        One standard deviation of each.
    """

    points_mm: Floats
    sigma_mm: Floats

    def reached_mm(self) -> Floats:
        """Return (N + 1,) the way along the edge to each vertex, and all round."""
        steps = np.roll(self.points_mm, -1, axis=0) - self.points_mm
        return np.append(0.0, np.cumsum(np.hypot(*steps.T)))

    def place(self, at_mm: Point, *, snap_mm: float = SNAP_MM) -> Place:
        """Return the place of the edge that is meant by a point; a vertex, if one is so near."""
        start = self.points_mm
        along = np.roll(start, -1, axis=0) - start
        length2 = np.maximum((along**2).sum(axis=1), SAME_MM**2)
        share = np.clip(((at_mm - start) * along).sum(axis=1) / length2, 0.0, 1.0)
        feet = start + share[:, None] * along
        off = np.hypot(*(feet - at_mm).T)
        piece = int(off.argmin())
        to_vertex = np.hypot(*(start - at_mm).T)
        vertex = int(to_vertex.argmin())
        if to_vertex[vertex] <= max(snap_mm, off[piece] + SAME_MM):
            return Place(piece=vertex, share=0.0, off_mm=float(to_vertex[vertex]))
        return Place(piece=piece, share=float(share[piece]), off_mm=float(off[piece]))

    def with_vertex(self, place: Place) -> tuple[Ring, int]:
        """Return the ring with a vertex at a place, and its number; as doubtful as its sides."""
        if place.share == 0.0:
            return self, place.piece
        after = (place.piece + 1) % len(self.points_mm)
        here, there = self.points_mm[place.piece], self.points_mm[after]
        at = place.piece + 1
        doubt = max(self.sigma_mm[place.piece], self.sigma_mm[after])
        return Ring(
            points_mm=np.insert(self.points_mm, at, here + place.share * (there - here), axis=0),
            sigma_mm=np.insert(self.sigma_mm, at, doubt),
        ), at


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of a ring: on the piece after a vertex, a share of the way along it."""

    piece: int
    share: float
    off_mm: float


def rings_of(billet: Billet) -> list[Ring]:
    """Return the exterior and the holes; a billet taken as exact has no doubt anywhere."""
    points = [
        shapely.get_coordinates(ring)[:-1]
        for ring in (billet.shape.exterior, *billet.shape.interiors)
    ]
    ends = np.cumsum([len(each) for each in points])[:-1]
    sigmas = np.array(billet.vertex_sigma_mm or [0.0] * sum(map(len, points)))
    return [
        Ring(points_mm=each, sigma_mm=sigma)
        for each, sigma in zip(points, np.split(sigmas, ends), strict=True)
    ]


def with_rings(billet: Billet, rings: list[Ring]) -> Billet:
    """Return a billet with another edge.

    Raises
    ------
    InputError
        If the edge crosses itself, turns inside out or vanishes.
    """
    if min(len(ring.points_mm) for ring in rings) < 3:
        raise InputError(
            "nothing would be left inside that edge.", remedy="Keep three of its corners."
        )
    outer, *holes = (ring.points_mm for ring in rings)
    shape = Polygon(outer, holes)
    check_whole(shape)
    if orient(shape) != shape:
        raise InputError("the edge would turn inside out.", remedy="Move it less far.")
    sigma = np.concatenate([ring.sigma_mm for ring in rings])
    return replace(billet, shape=shape, vertex_sigma_mm=tuple(sigma.tolist()))


def check_whole(shape: Polygon) -> None:
    """Refuse a shape that is no piece of steel."""
    if not shape.is_valid:
        reason, _, place = shapely.is_valid_reason(shape).partition("[")
        x_mm, y_mm = (float(number) for number in place.rstrip("]").split()[:2])
        wrong = "the edge would cross or touch itself"
        if reason.startswith("Hole"):
            wrong = "a hole would no longer lie inside the edge"
        raise InputError(f"{wrong} near x {x_mm:.1f}, y {y_mm:.1f} mm.", remedy="Move it less far.")
    if shape.area < SMALLEST_MM2:
        raise InputError("nothing of the piece would be left.", remedy="Take less away.")

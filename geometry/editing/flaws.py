"""Flaws marked on the piece, and taken away again."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import shapely
from shapely import LineString, Polygon
from shapely import Point as Spot
from shapely.geometry.base import BaseGeometry

from geometry.billet import Billet
from geometry.curves import Point
from geometry.editing.edges import REACH_MM, SAME_MM
from geometry.editing.numbers import check_finite
from geometry.errors import InputError

QUARTER_SEGMENTS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class AddFlaw:
    """A region to keep out of: all that is as near as `reach_mm` to a spot, a crack or an area.

    Parameters
    ----------
    points_mm : tuple of tuple of float
        One point is a spot, two are a crack, three or more enclose an area.
    reach_mm : float
        How far round it to keep out, >= 0; above zero for a spot or a crack.
    """

    points_mm: tuple[Point, ...]
    reach_mm: float = 0.0

    @property
    def name(self) -> str:
        """What the maker did."""
        return "add a flaw"

    def __post_init__(self) -> None:
        check_finite("a place", *(number for point in self.points_mm for number in point))
        check_finite("the reach", self.reach_mm)
        if not self.points_mm:
            raise InputError("a flaw without a place.", remedy="Point at it.")
        if self.reach_mm < 0 or (self.reach_mm == 0 and len(self.points_mm) < 3):
            raise InputError(
                "a spot or a crack takes no room.", remedy="Say how far round it to keep out."
            )

    def region(self) -> Polygon:
        """Return the region, never smaller than the round one that it stands for.

        Raises
        ------
        InputError
            If the area's edge crosses itself, or encloses nothing.
        """
        if len(self.points_mm) == 1:
            core: BaseGeometry = Spot(self.points_mm[0])
        elif len(self.points_mm) == 2:
            core = LineString(self.points_mm)
        else:
            core = Polygon(self.points_mm)
            span = core.convex_hull
            if span.area <= SAME_MM * span.length:
                raise InputError(
                    "the flaw's points lie on one line, which encloses nothing.",
                    remedy="Draw round it, or mark a crack by two points.",
                )
            if not core.is_valid:
                raise InputError(
                    "the flaw's edge crosses itself, or runs back on itself.",
                    remedy="Draw round it in one loop.",
                )
        # Chords lie inside their circle: the reach is lengthened until they touch it.
        reach_mm = self.reach_mm / math.cos(math.pi / (4 * QUARTER_SEGMENTS))
        grown = core.buffer(reach_mm, quad_segs=QUARTER_SEGMENTS) if self.reach_mm else core
        assert isinstance(grown, Polygon)
        return grown

    def applied(self, billet: Billet) -> Billet:
        """Return the billet with one flaw more; InputError if it lies off the piece, or is all."""
        region = self.region()
        if not region.intersects(billet.shape):
            raise InputError("the flaw lies off the piece.", remedy="Mark it on the steel.")
        return replace(billet, flaws=(*billet.flaws, region))


@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveFlaw:
    """The flaw at a place is none; of several, the smallest."""

    at_mm: Point

    @property
    def name(self) -> str:
        """What the maker did."""
        return "remove a flaw"

    def __post_init__(self) -> None:
        check_finite("a place", *self.at_mm)

    def applied(self, billet: Billet) -> Billet:
        """Return the billet with one flaw less; InputError if there is none."""
        off = [shapely.distance(flaw, Spot(self.at_mm)) for flaw in billet.flaws]
        if not off or min(off) > REACH_MM:
            raise InputError("there is no flaw.", remedy="Point at one.")
        gone = min(range(len(off)), key=lambda number: (off[number], billet.flaws[number].area))
        left = tuple(flaw for number, flaw in enumerate(billet.flaws) if number != gone)
        return replace(billet, flaws=left)

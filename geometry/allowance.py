"""Steel to leave along a stretch of a piece's edge: a scale's grinding, a rough sawn end."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LinearRing, LineString, Point, Polygon
from shapely.ops import substring

from geometry.errors import InputError

QUARTER = 16
NEAR_MM = 5.0  # its ends are told on the edge; farther off, they are meant for another piece


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """A depth of steel to leave along a stretch of the edge.

    Parameters
    ----------
    start_mm, end_mm : tuple of float
        Places on the edge, mm. The stretch runs from the one to the other with the steel to its
        left: counter-clockwise round the outer edge, clockwise round a hole. From a place to
        itself it is the whole ring.
    depth_mm : float
        How much to leave, > 0.

    Raises
    ------
    InputError
        If a number is none, or the depth is not above 0.
    """

    start_mm: tuple[float, float]
    end_mm: tuple[float, float]
    depth_mm: float

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (*self.start_mm, *self.end_mm, self.depth_mm))):
            raise InputError("a number of an allowance is none.", where="Billet")
        if self.depth_mm <= 0.0:
            raise InputError(
                f"an allowance of {self.depth_mm:g} mm leaves nothing.",
                where="Billet",
                remedy="Give its depth, above 0, or take it away.",
            )

    def region(self, shape: Polygon) -> Polygon:
        """Return what lies within the depth of the stretch, of an oriented piece.

        Raises
        ------
        InputError
            If its ends do not lie on one ring of the edge.
        """
        ends = [Point(self.start_mm), Point(self.end_mm)]
        rings = [shape.exterior, *shape.interiors]
        ring = min(rings, key=lambda one: max(one.distance(end) for end in ends))
        off_mm = max(ring.distance(end) for end in ends)
        if off_mm > NEAR_MM:
            raise InputError(
                f"an allowance ends {off_mm:.1f} mm off the edge.",
                where="Billet",
                remedy="Give both ends on the edge of the piece, or of one hole.",
            )
        reach_mm = self.depth_mm / math.cos(math.pi / (4 * QUARTER))  # chords clear their arcs
        region = _stretch(ring, *ends).buffer(reach_mm, quad_segs=QUARTER)
        assert isinstance(region, Polygon)
        return region


def _stretch(ring: LinearRing, first: Point, last: Point) -> LineString:
    """Return the part of a ring from one place on to another, in its own sense."""
    start, end = ring.project(first), ring.project(last)
    line = LineString(ring.coords)
    spans = [(start, end)] if end > start else [(start, line.length), (0.0, end)]
    rest = [substring(line, *span) for span in spans]
    return LineString(np.concatenate([shapely.get_coordinates(part) for part in rest]))

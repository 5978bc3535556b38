"""The piece sawn through along a line, and one part of it kept."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely import Point as Spot
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from geometry.allowance import Allowance
from geometry.billet import Billet
from geometry.curves import Point
from geometry.editing.edges import REACH_MM, SAME_MM, Floats, check_whole, rings_of
from geometry.editing.numbers import check_finite
from geometry.errors import InputError

ON_EDGE_MM = 0.5  # an end of an allowance that lies farther off was cut off
SAW_MM = 0.25  # a bandsaw wanders off a scribed line by about this; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A saw's way through the steel.

    The middle of the blade follows the line. An end that lies in the steel is carried on to the
    edge; an end that lies outside is not, so that one arm of a crooked piece can be cut alone.

    Parameters
    ----------
    start_mm, end_mm : tuple of float
        The line.
    keep_mm : tuple of float, optional
        A place in the part that is kept; the largest part when None.
    kerf_mm : float
        What the saw takes, half of it on each side of the line, >= 0. One that is thinner than two
        points lie apart takes nothing.
    sigma_mm : float
        One standard deviation of the sawn edge, >= 0.
    """

    start_mm: Point
    end_mm: Point
    keep_mm: Point | None = None
    kerf_mm: float = 0.0
    sigma_mm: float = SAW_MM

    @property
    def name(self) -> str:
        """What the maker did."""
        return "cut"

    def __post_init__(self) -> None:
        check_finite("a place", *self.start_mm, *self.end_mm, *(self.keep_mm or ()))
        check_finite("the kerf or the doubt", self.kerf_mm, self.sigma_mm)
        if self.kerf_mm < 0 or self.sigma_mm < 0:
            raise InputError("a kerf or a doubt below zero.", remedy="Give 0 or more.")
        if math.dist(self.start_mm, self.end_mm) <= SAME_MM:
            raise InputError("the line of the cut has no length.", remedy="Draw it longer.")

    def applied(self, billet: Billet) -> Billet:
        """Return the part that is kept; InputError if nothing is parted, or nothing kept."""
        kept = _cleaned(self._kept(billet.shape))
        check_whole(kept)
        rings = (kept.exterior, *kept.interiors)
        points = np.concatenate([shapely.get_coordinates(ring)[:-1] for ring in rings])
        sigma = self._sigma_mm(points, billet)
        # An allowance along an edge that was cut stays where it is, as a place to keep out of.
        still, off = _parted(billet, kept)
        flaws = tuple(flaw for flaw in (*billet.flaws, *off) if flaw.intersects(kept))
        return replace(
            billet,
            shape=kept,
            vertex_sigma_mm=tuple(sigma.tolist()),
            flaws=flaws,
            allowances=still,
        )

    def parts(self, shape: Polygon) -> list[Polygon]:
        """Return all parts that the saw leaves, the largest first.

        It is one part where the saw takes all of the other: a piece that is trimmed.

        Raises
        ------
        InputError
            If the line misses the steel, or does not part it, or the saw leaves nothing.
        """
        cells, swarf = self._cells(shape)
        rest = shapely.union_all(cells[~swarf]) if swarf.any() else shapely.multipolygons(cells)
        parts = [part for part in shapely.get_parts(rest) if isinstance(part, Polygon)]
        if len(parts) < 2 and not self._takes_mm:
            raise InputError(
                "the line of the cut does not part the piece.",
                remedy="Draw it from edge to edge.",
            )
        if len(parts) < 2:
            self._halves(shape)  # a saw takes no slot where its line parts nothing
        if not parts:
            raise InputError("the saw takes all of the piece.", remedy="Give a smaller kerf.")
        return sorted(parts, key=lambda part: part.area, reverse=True)

    def _halves(self, shape: Polygon) -> list[Polygon]:
        """Return the parts that the line itself leaves, as a saw without kerf would."""
        return replace(self, kerf_mm=0.0).parts(shape)

    @property
    def _takes_mm(self) -> float:
        """The kerf; none if its sides would be one line."""
        return self.kerf_mm if self.kerf_mm > SAME_MM else 0.0

    def swarf(self, shape: Polygon) -> BaseGeometry:
        """Return what the saw takes of a shape; of a saw without kerf, the lines of its cut."""
        if not self._takes_mm:
            return shapely.union_all(self._ways(shape))
        cells, swarf = self._cells(shape)
        return shapely.union_all(cells[swarf])

    def _cells(self, shape: Polygon) -> tuple[NDArray[np.object_], NDArray[np.bool_]]:
        """Return the cells that the sides of the blade's way part a shape into, and which go.

        All are made from one noding, so that neighbours share their corners to the last bit.
        """
        ways = shapely.union_all(self._ways(shape))
        line = self._line(shape)
        sides = [line.offset_curve(side * self._takes_mm / 2) for side in (-1, 1)]
        noded = shapely.union_all([shape.boundary, *(sides if self._takes_mm else [ways])])
        cells = shapely.get_parts(shapely.polygonize([noded]))
        within = shapely.point_on_surface(cells)
        cells, within = (each[shapely.contains(shape, within)] for each in (cells, within))
        in_band = shapely.distance(within, line) < self._takes_mm / 2
        return cells, in_band & shapely.intersects(cells, ways)

    def _line(self, shape: Polygon) -> LineString:
        """Return the cut's line carried on at both ends to beyond a shape."""
        ends = np.array([self.start_mm, self.end_mm])
        reach_mm = LineString(ends).hausdorff_distance(shape) + self._takes_mm
        return _carried_on(LineString(ends), reach_mm)

    def _ways(self, shape: Polygon) -> list[LineString]:
        """Return the stretches of the carried-on line that lead through steel that it is to cut."""
        start, along = np.array(self.start_mm), np.subtract(self.end_mm, self.start_mm)
        length_mm = math.hypot(*along)
        through = shapely.get_parts(shapely.intersection(shape, self._line(shape)))
        ways = []
        for way in through[~shapely.is_empty(through)]:
            ends = (shapely.get_coordinates(way) - start) @ (along / length_mm)
            if min(ends.max(), length_mm) - max(ends.min(), 0.0) > SAME_MM:
                ways.append(_carried_on(way, SAME_MM))  # so that it surely crosses the edge
        if not ways:
            raise InputError("the line of the cut misses the steel.", remedy="Draw it across.")
        return ways

    def _kept(self, shape: Polygon) -> Polygon:
        """Return the part that is kept: what the saw leaves on that side of the line."""
        parts = self.parts(shape)
        if self.keep_mm is None:
            return parts[0]
        spot = Spot(self.keep_mm)
        side = min(self._halves(shape), key=spot.distance)
        if spot.distance(side) > REACH_MM:
            raise InputError(
                "the part to keep is not there.", remedy="Point into the part that you keep."
            )
        left = [part for part in parts if side.contains(part.representative_point())]
        if not left:
            raise InputError(
                "the saw takes all of the part to keep.",
                remedy="Move the line, or give a smaller kerf.",
            )
        return min(left, key=spot.distance)

    def _sigma_mm(self, points_mm: Floats, billet: Billet) -> Floats:
        """Return each vertex's doubt: the old edge's, and on the sawn edge no less than the saw's.

        A corner between both ends the old edge too: it is as doubtful as the worse.
        """
        rings = rings_of(billet)
        sigma = np.empty(len(points_mm))
        for number, (x_mm, y_mm) in enumerate(points_mm.tolist()):
            near = [(ring.place((x_mm, y_mm), snap_mm=SAME_MM), ring) for ring in rings]
            place, ring = min(near, key=lambda found: found[0].off_mm)
            edge, vertex = ring.with_vertex(place)
            sigma[number] = edge.sigma_mm[vertex]
        off_mm = shapely.distance(shapely.points(points_mm), self.swarf(billet.shape))
        sawn = off_mm <= 2 * SAME_MM
        sigma[sawn] = np.maximum(sigma[sawn], self.sigma_mm)
        return sigma


def _cleaned(shape: Polygon) -> Polygon:
    """Return a shape with vertices that are one point made one, oriented."""

    def ring(points: Floats) -> Floats:
        apart = np.hypot(*(points - np.roll(points, 1, axis=0)).T) > 2 * SAME_MM
        kept: Floats = points[apart]
        return kept

    rings = [ring(shapely.get_coordinates(r)[:-1]) for r in (shape.exterior, *shape.interiors)]
    outer, *holes = (each for each in rings if len(each) >= 3)
    return orient(Polygon(outer, holes))


def _carried_on(way: LineString, over_mm: float) -> LineString:
    """Return a straight line made longer at both ends."""
    ends = shapely.get_coordinates(way)[[0, -1]]
    along = (ends[1] - ends[0]) / way.length
    return LineString([ends[0] - over_mm * along, ends[1] + over_mm * along])


def _parted(billet: Billet, kept: Polygon) -> tuple[tuple[Allowance, ...], list[Polygon]]:
    """Return the allowances whose ends still lie on the edge, and the regions of the others."""
    still: list[Allowance] = []
    off: list[Polygon] = []
    for each in billet.allowances:
        ends = [Spot(each.start_mm), Spot(each.end_mm)]
        if max(shapely.distance(kept.boundary, end) for end in ends) <= ON_EDGE_MM:
            still.append(each)
        else:
            off.append(each.region(billet.shape))
    return tuple(still), off

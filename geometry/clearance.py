"""Exact clearance of a blank in the usable steel, fast enough for every move of the mouse."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon
from shapely.validation import explain_validity

from geometry.errors import InputError
from geometry.overhang import deepest_point
from geometry.segments import Floats, Segments


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """How much room a blank has, and where it is tightest.

    Parameters
    ----------
    value_mm : float
        Least signed distance of the blank to the usable edge, holes included; negative: it sticks
        out by that much at its worst point.
    blank_point_mm, edge_point_mm : tuple of float
        The tightest place: the point on the blank and the nearest point on the usable edge.
    """

    value_mm: float
    blank_point_mm: tuple[float, float]
    edge_point_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearanceProfile:
    """Signed distances along a blank's edge, for drawing.

    Parameters
    ----------
    points_mm : numpy.ndarray
        (N, 2) points on the blank's edge, evenly spaced.
    distances_mm : numpy.ndarray
        (N,) their signed distances to the usable edge, inside positive.
    """

    points_mm: Floats
    distances_mm: Floats


def filled(blank: Polygon) -> Polygon:
    """Return a blank without its holes.

    A hole drilled in the blank is steel taken away after the profile is cut: it needs no steel to
    be missing under it, and a flaw may not hide in it. Clearance is that of the profile.
    """
    return Polygon(blank.exterior) if len(blank.interiors) else blank


class UsableRegion:
    """The steel that may be used, made ready once for many questions.

    Parameters
    ----------
    shape : shapely.Polygon or shapely.MultiPolygon
        The usable steel, mm. Of several parts, a blank must lie in one: what reaches from one to
        another crosses what is not steel.

    Raises
    ------
    InputError
        If the shape is empty or crosses itself.

    Examples
    --------
    >>> UsableRegion(shapely.box(0, 0, 100, 40)).clearance(shapely.box(10, 5, 80, 33)).value_mm
    5.0
    """

    def __init__(self, shape: Polygon | MultiPolygon) -> None:
        if shape.is_empty or not shape.is_valid:
            raise InputError(
                f"the usable steel is no clean area ({explain_validity(shape)}).",
                where="Billet",
                remedy="Mend its edge so that it does not cross itself.",
            )
        self.shape = shape
        parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
        self._parts = [_Part(part) for part in parts]
        self.holes = [Polygon(ring) for part in parts for ring in part.interiors]
        self._boundary = shape.boundary
        shapely.prepare([self.shape, self._boundary])

    def clearance(self, blank: Polygon) -> Clearance:
        """Return the exact clearance of a blank: over all its points, interior ones too.

        Inside, it is the distance from edge to edge. When the blank sticks out, it is the greatest
        distance of a point of the blank from the steel, negative, to 0.001 mm; that point may lie
        in the middle of a hole that the blank covers.
        """
        whole = filled(blank)
        for part in self._parts:
            if part.holds(whole):
                return part.room(whole)
        return max((part.overlap(whole) for part in self._parts), key=lambda one: one.value_mm)

    def clearance_profile(self, blank: Polygon, count: int = 400) -> ClearanceProfile:
        """Return signed distances at evenly spaced points of the blank's edge."""
        ring = shapely.get_coordinates(blank.exterior)
        reached = np.append(0.0, np.cumsum(np.hypot(*np.diff(ring, axis=0).T)))
        steps = np.linspace(0.0, reached[-1], count, endpoint=False)
        points = np.column_stack([np.interp(steps, reached, axis) for axis in ring.T])
        return ClearanceProfile(points_mm=points, distances_mm=self.signed_distances_mm(points))

    def signed_distances_mm(self, points_mm: Floats) -> Floats:
        """Return (N,) signed distances of (N, 2) points to the usable edge, inside positive."""
        distance = shapely.distance(self._boundary, shapely.points(points_mm))
        inside = shapely.contains_xy(self.shape, points_mm[:, 0], points_mm[:, 1])
        signed: Floats = np.where(inside, distance, -distance)
        return signed


class _Part:
    """One connected part of the usable steel."""

    def __init__(self, polygon: Polygon) -> None:
        self._polygon = polygon
        self._boundary = polygon.boundary
        self._edge = Segments(polygon)
        shapely.prepare([self._polygon, self._boundary])

    def holds(self, blank: Polygon) -> bool:
        return bool(shapely.contains_properly(self._polygon, blank))

    def room(self, blank: Polygon, sign: float = 1.0) -> Clearance:
        """Return the distance from edge to edge with the two nearest points."""
        line = shapely.shortest_line(self._boundary, blank.exterior)
        (x1, y1), (x2, y2) = shapely.get_coordinates(line).tolist()
        return Clearance(
            value_mm=sign * float(np.hypot(x2 - x1, y2 - y1)),
            blank_point_mm=(x2, y2),
            edge_point_mm=(x1, y1),
        )

    def overlap(self, blank: Polygon) -> Clearance:
        """Return the clearance of a blank that touches the edge or reaches over it."""
        outside = shapely.difference(blank, self._polygon)
        if outside.is_empty:  # it touches from inside
            return self.room(blank)
        worst = deepest_point(outside, self._edge)
        return Clearance(
            value_mm=-worst.depth_mm,
            blank_point_mm=worst.point_mm,
            edge_point_mm=worst.edge_point_mm,
        )

"""A measured piece, or a drawing from elsewhere, as an outline in the outline frame.

A person says where the tip and the butt are, and may say where the heel is and on which side the
spine; what is left out is proposed from the shape (`geometry/ends.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.arc_fit import TOLERANCE_MM, circle_of, fitted_ring
from geometry.curves import Chain, Point
from geometry.ends import Ends, Side, proposed_ends, proposed_heel, proposed_spine, ring_of
from geometry.errors import InputError
from geometry.outline import Hole, Outline, Station
from geometry.pose import Pose

__all__ = ["Ends", "Side", "framed", "outline_from_contour", "proposed_ends"]

CORNER_MM = 2.0  # a tip said this near to a sharp corner of the edge means the corner
CORNER_RAD = math.radians(40)  # what counts as one
CHORD_MM = 1.5  # how far before and behind a place its corner is looked at
OFF_SHARE = 0.25  # of the shape's length: a place farther off its edge was not meant for it
LEAST_APART = 0.3  # of the shape's length, between tip and butt


def outline_from_contour(
    shape: Polygon,
    *,
    tip_mm: Point,
    butt_mm: Point,
    heel_mm: Point | None = None,
    spine: Side | None = None,
    name: str,
    tolerance_mm: float = TOLERANCE_MM,
) -> Outline:
    """Return a measured shape as an outline of lines and arcs in the outline frame.

    Parameters
    ----------
    shape : shapely.Polygon
        The steel, holes and all, mm, y up.
    tip_mm, butt_mm : tuple of float
        Where its tip and its butt are; each is taken to the nearest place of the edge.
    heel_mm : tuple of float, optional
        Where the edge meets the plunge; proposed when None.
    spine : {"left", "right"}, optional
        On which side the spine is, looking from the butt at the tip; the side away from the heel
        if that is given, else proposed.
    name : str
        What to call the outline.
    tolerance_mm : float
        How far lines and arcs may lie from the shape, > 0.

    Returns
    -------
    Outline
        Holes that are round within the tolerance are holes, others cutouts. Its stations are the
        tip, the heel (at the origin) and the butt.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of the shape, or the tolerance cannot be kept.
    """
    shape = orient(shape)
    chain = fitted_ring(ring_of(shape), tolerance_mm=tolerance_mm, claim_mm=tolerance_mm)
    holes, cutouts = _openings(shape, tolerance_mm)
    outline = Outline(name=name, chain=chain, holes=holes, cutouts=cutouts)
    return framed(outline, tip_mm=tip_mm, butt_mm=butt_mm, heel_mm=heel_mm, spine=spine)


def framed(
    outline: Outline,
    *,
    tip_mm: Point,
    butt_mm: Point,
    heel_mm: Point | None = None,
    spine: Side | None = None,
) -> Outline:
    """Return an outline moved into the outline frame, its lines and curves kept as they are.

    Parameters as in `outline_from_contour`, in the outline's frame as it is given. The heel comes
    to the origin, x points from the butt to the tip, y to the side of the spine: an outline whose
    spine is on the right is turned over.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of the shape.
    """
    shape = outline.polygon()
    ends = _met(shape, tip_mm, butt_mm)
    heel = None if heel_mm is None else _on_edge(shape, heel_mm, "heel")
    if spine is None:
        spine = proposed_spine(shape, ends) if heel is None else _away_from(shape, ends, heel)
    if heel is None:
        heel = proposed_heel(shape, ends, spine)
    pose = _pose(ends, heel, spine)
    named = (("tip", ends.tip_mm), ("heel", heel), ("butt", ends.butt_mm))
    stations = tuple(Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in named)
    others = tuple(s for s in outline.stations if s.name not in {name for name, _ in named})
    return replace(outline, stations=(*stations, *others)).moved(pose)


def _openings(shape: Polygon, tolerance_mm: float) -> tuple[tuple[Hole, ...], tuple[Chain, ...]]:
    """Return the round holes of a shape, and the others as lines and arcs."""
    holes: list[Hole] = []
    cutouts: list[Chain] = []
    for ring in shape.interiors:
        points = shapely.get_coordinates(ring)[:-1]
        chain = fitted_ring(points, tolerance_mm=tolerance_mm, claim_mm=tolerance_mm)
        circle = circle_of(chain)
        if circle is None:
            cutouts.append(chain)
        else:
            (x, y), radius = circle
            holes.append(Hole(x_mm=x, y_mm=y, diameter_mm=2.0 * radius))
    return tuple(holes), tuple(cutouts)


def _met(shape: Polygon, tip_mm: Point, butt_mm: Point) -> Ends:
    """Return the ends that were said, on the edge; a tip beside a sharp corner is the corner."""
    tip, butt = _on_edge(shape, tip_mm, "tip"), _on_edge(shape, butt_mm, "butt")
    tip = _corner_near(shape, tip)
    length = shapely.minimum_bounding_radius(shape) * 2.0
    if math.dist(tip, butt) < LEAST_APART * length:
        raise InputError(
            f"tip and butt are {math.dist(tip, butt):.1f} mm apart on a shape of {length:.0f} mm.",
            where="Tip and butt",
            remedy="Choose the two ends of the knife.",
        )
    return Ends(tip_mm=tip, butt_mm=butt)


def _on_edge(shape: Polygon, place: Point, what: str) -> Point:
    """Return the place of the edge nearest a point; InputError when it lies far off."""
    edge, point = shape.exterior, shapely.Point(place)
    off = edge.distance(point) if all(map(math.isfinite, place)) else math.inf
    if off > OFF_SHARE * 2.0 * shapely.minimum_bounding_radius(shape):
        raise InputError(
            f"the {what} at x {place[0]:.1f}, y {place[1]:.1f} mm is not at the shape's edge.",
            where=what.capitalize(),
            remedy="Give a place on the edge.",
        )
    met = edge.interpolate(edge.project(point))
    return met.x, met.y


def _corner_near(shape: Polygon, place: Point) -> Point:
    """Return the sharpest corner of the edge close to a place; the place itself if none is."""
    edge = shapely.LinearRing(ring_of(shape))
    best, sharpest = place, CORNER_RAD
    for x, y in _vertices_near(edge, place):
        at = edge.project(shapely.Point(x, y))
        before, after = (
            edge.interpolate((at + way) % edge.length) for way in (-CHORD_MM, CHORD_MM)
        )
        turn = np.angle(complex(after.x - x, after.y - y) / complex(x - before.x, y - before.y))
        if turn > sharpest:
            best, sharpest = (x, y), float(turn)
    return best


def _vertices_near(edge: shapely.LinearRing, place: Point) -> Iterable[Point]:
    points = shapely.get_coordinates(edge)[:-1]
    near = np.hypot(*(points - place).T) <= CORNER_MM
    return [(x, y) for x, y in points[near].tolist()]


def _away_from(shape: Polygon, ends: Ends, heel: Point) -> Side:
    """Return the side of the spine: the way from tip to butt that the heel is not on."""
    edge = shapely.LinearRing(ring_of(shape))
    tip, butt, at = (edge.project(shapely.Point(p)) for p in (ends.tip_mm, ends.butt_mm, heel))
    return "right" if (at - tip) % edge.length < (butt - tip) % edge.length else "left"


def _pose(ends: Ends, heel: Point, spine: Side) -> Pose:
    """Return the move that brings the heel to the origin and the tip's direction to x."""
    (x0, y0), (x1, y1) = ends.butt_mm, ends.tip_mm
    angle = math.atan2(y1 - y0, x1 - x0)
    over = spine == "right"
    pose = Pose(theta_rad=angle if over else -angle, mirrored=over)
    [(x, y)] = pose.points([heel]).tolist()
    return replace(pose, x_mm=-x, y_mm=-y)

"""The parts of a shape that its frame hangs on: tip, butt, heel and the side of its spine.

What a person points at is taken to the edge; what is left out is proposed (`geometry/ends.py`).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from geometry.curves import Point
from geometry.ends import Ends, Side, proposed_ends, proposed_heel, proposed_spine, ring_of
from geometry.errors import InputError
from geometry.pose import Pose

CORNER_MM = 2.0  # a tip said this near to a sharp corner of the edge means the corner
CORNER_RAD = math.radians(40)  # what counts as one
CHORD_MM = 1.5  # how far before and behind a place its corner is looked at
OFF_SHARE = 0.25  # of the shape's length: a place farther off its edge was not meant for it
LEAST_APART = 0.3  # of the shape's length, between tip and butt
LEVEL_RAD = math.radians(30)  # a drawing lies level, or upright, whose tip points so nearly so


@dataclass(frozen=True, slots=True, kw_only=True)
class Pointed:
    """What a person said of a shape, mm in its own frame; None for what is to be proposed.

    Parameters
    ----------
    tip_mm, butt_mm, heel_mm : tuple of float, optional
        Each means the nearest place of the edge.
    spine : {"left", "right"}, optional
        Looking from the butt at the tip.
    """

    tip_mm: Point | None = None
    butt_mm: Point | None = None
    heel_mm: Point | None = None
    spine: Side | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """Tip, butt and heel on the edge, mm, and the side of the spine."""

    tip_mm: Point
    butt_mm: Point
    heel_mm: Point
    spine: Side

    def pose(self, *, level: bool = False) -> Pose:
        """Return the move into the outline frame: heel to the origin, tip toward x, spine up.

        Parameters
        ----------
        level : bool
            Whether what lies level, or upright, stays so: it is turned by quarter turns alone,
            unless it lies askew by more than `LEVEL_RAD`. Else x runs from butt to tip.
        """
        (x0, y0), (x1, y1) = self.butt_mm, self.tip_mm
        angle = math.atan2(y1 - y0, x1 - x0)
        quarters = round(angle / (math.pi / 2)) * math.pi / 2
        if level and abs(angle - quarters) <= LEVEL_RAD:
            angle = quarters
        over = self.spine == "right"
        pose = Pose(theta_rad=angle if over else -angle, mirrored=over)
        [(x, y)] = pose.points([self.heel_mm]).tolist()
        return replace(pose, x_mm=-x, y_mm=-y)


def parts_of(shape: Polygon, pointed: Pointed) -> Parts:
    """Return the parts of a shape: as pointed at, else as proposed.

    Where one end alone is pointed at, the other is the proposed end that is farther from it. The
    spine is on the side away from a heel that is pointed at.

    Raises
    ------
    InputError
        If a place is not at the edge, or tip and butt are not at two ends of the shape.
    """
    ends = _ends(shape, pointed)
    heel, spine = None, pointed.spine
    if pointed.heel_mm is not None:
        heel = on_edge(shape, pointed.heel_mm, "heel")
        spine = spine or _away_from(shape, ends, heel)
    spine = spine or proposed_spine(shape, ends)
    heel = heel or proposed_heel(shape, ends, spine)
    return Parts(tip_mm=ends.tip_mm, butt_mm=ends.butt_mm, heel_mm=heel, spine=spine)


def on_edge(shape: Polygon, place: Point, what: str) -> Point:
    """Return the place of the edge nearest a point; InputError when it lies far off."""
    edge, point = shape.exterior, shapely.Point(place)
    off = edge.distance(point) if all(map(math.isfinite, place)) else math.inf
    if off > OFF_SHARE * _length_mm(shape):
        raise InputError(
            f"the {what} at {told(place)} mm is not at the shape's edge.",
            where=what.capitalize(),
            remedy=f"Give a place on the edge{_nearest(edge, point)}. {_both_ends(shape)}",
        )
    met = edge.interpolate(edge.project(point))
    return met.x, met.y


def told(place: Point) -> str:
    """Return a place in words.

    Examples
    --------
    >>> told((3.0, -0.04))
    'x 3.0, y 0.0'
    """
    x, y = (round(value, 1) + 0.0 for value in place)
    return f"x {x:.1f}, y {y:.1f}"


def _nearest(edge: shapely.LinearRing, point: shapely.Point) -> str:
    if not math.isfinite(point.x + point.y):
        return ""
    met = edge.interpolate(edge.project(point))
    return f"; the nearest is at {told((met.x, met.y))}"


def _both_ends(shape: Polygon) -> str:
    ends = proposed_ends(shape)
    return f"Its two ends are at {told(ends.tip_mm)} and {told(ends.butt_mm)}."


def _ends(shape: Polygon, pointed: Pointed) -> Ends:
    """Return both ends on the edge; a tip that is pointed at beside a sharp corner is there."""
    tip, butt = pointed.tip_mm, pointed.butt_mm
    if tip is None or butt is None:
        proposed = proposed_ends(shape)
        told = tip or butt
        tip, butt = (
            (proposed.tip_mm, proposed.butt_mm)
            if told is None
            else (tip or _farther(told, proposed), butt or _farther(told, proposed))
        )
    tip, butt = _corner_near(shape, on_edge(shape, tip, "tip")), on_edge(shape, butt, "butt")
    if math.dist(tip, butt) < LEAST_APART * _length_mm(shape):
        raise InputError(
            f"tip and butt are {math.dist(tip, butt):.1f} mm apart on a shape of "
            f"{_length_mm(shape):.0f} mm.",
            where="Tip and butt",
            remedy=f"Choose the two ends of the knife. {_both_ends(shape)}",
        )
    return Ends(tip_mm=tip, butt_mm=butt)


def _farther(place: Point, ends: Ends) -> Point:
    return max((ends.tip_mm, ends.butt_mm), key=lambda end: math.dist(place, end))


def _length_mm(shape: Polygon) -> float:
    return 2.0 * float(shapely.minimum_bounding_radius(shape))


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


def _vertices_near(edge: shapely.LinearRing, place: Point) -> Iterator[Point]:
    points = shapely.get_coordinates(edge)[:-1]
    near = np.hypot(*(points - place).T) <= CORNER_MM
    yield from ((x, y) for x, y in points[near].tolist())


def _away_from(shape: Polygon, ends: Ends, heel: Point) -> Side:
    """Return the side of the spine: the way from tip to butt that the heel is not on."""
    edge = shapely.LinearRing(ring_of(shape))
    tip, butt, at = (edge.project(shapely.Point(p)) for p in (ends.tip_mm, ends.butt_mm, heel))
    return "right" if (at - tip) % edge.length < (butt - tip) % edge.length else "left"

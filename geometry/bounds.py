"""Clearances that no pose can beat, each by a short argument from one measure of the two shapes.

If a pose has the clearance t >= 0, the outline grown by t lies in the steel. If it has t < 0, the
outline lies in the steel grown by -t. So for every measure that a shape cannot exceed by lying in
another, and of which the growth is known, t is bounded:

==================  ===============================================================
least width         t <= (W - w) / 2, the steel's hull taken: hulls lie in one another
greatest diameter   t <= (D - d) / 2: the ends of the longest chord grow by t each
enclosing circle    t <= E - e
hull's perimeter    t <= (P - p) / (2 pi): Steiner's formula, and convex bodies
                    in one another have ordered perimeters
largest disc in it  t <= I - i when I >= i; else t <= min(0, I of the steel's hull - i),
                    since a notch or hole may close when the steel is grown, a hull may not
area                of the outline grown by t at most the steel's area; when the steel
                    is too small, the outline's at most that of the steel grown by -t
==================  ===============================================================

Each holds for all angles and both faces. Round corners are drawn with chords, always on the side
that loosens the bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import MultiPolygon, Polygon

from geometry.clearance import filled
from geometry.segments import Floats

QUAD_SEGMENTS = 64  # a chord lies 0.00008 of the radius inside its arc
OUTSIDE = 1.0 / math.cos(math.pi / (4 * QUAD_SEGMENTS))  # the chords of a larger circle clear it
DISC_TOLERANCE = 1e-4  # of the largest disc's radius, per radius
AREA_TOLERANCE_MM = 5e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Measures of one shape, none of which a shape inside it can exceed; lengths in mm.

    ``disc_mm`` is the radius of a disc that lies in the shape, ``disc_limit_mm`` one that no disc
    in it exceeds.
    """

    width_mm: float
    diameter_mm: float
    circle_mm: float
    perimeter_mm: float
    disc_mm: float
    disc_limit_mm: float
    hull_disc_limit_mm: float
    area_mm2: float


def measures(shape: Polygon) -> Measures:
    """Return the measures of a polygon, its holes left open."""
    hull = Polygon(shapely.get_coordinates(shapely.convex_hull(shape)))
    corners = shapely.get_coordinates(hull.exterior)
    disc, limit = _largest_disc(shape)
    return Measures(
        width_mm=_least_width_mm(corners),
        diameter_mm=max(float(np.hypot(*(corners - corner).T).max()) for corner in corners),
        circle_mm=float(shapely.minimum_bounding_radius(shape)),
        perimeter_mm=float(hull.length),
        disc_mm=disc,
        disc_limit_mm=limit,
        hull_disc_limit_mm=_largest_disc(hull)[1],
        area_mm2=float(shape.area),
    )


def upper_bound_mm(outline: Polygon, steel: Polygon | MultiPolygon, *, scale: float = 1.0) -> float:
    """Return a clearance that no pose of the outline at this scale can exceed in the steel, mm.

    Of several parts of steel the roomiest counts, since the outline must lie in one.
    """
    whole = shapely.transform(filled(outline), lambda points: points * scale)
    return max(_bound_in_part(whole, part) for part in shapely.get_parts(steel))


def scale_bound(outline: Polygon, steel: Polygon | MultiPolygon, *, margin_mm: float) -> float:
    """Return a scale that no pose of the outline can exceed and keep the margin, >= 0 mm.

    The same measures: each grows in proportion to the scale, the area with its square.
    """
    small = measures(filled(outline))
    return max(
        _scale_in_part(small, measures(part), margin_mm) for part in shapely.get_parts(steel)
    )


def _bound_in_part(outline: Polygon, part: Polygon) -> float:
    small, large = measures(outline), measures(part)
    by_disc = large.disc_limit_mm - small.disc_mm
    if by_disc < 0.0:
        by_disc = min(0.0, large.hull_disc_limit_mm - small.disc_mm)
    cheap = min(
        (large.width_mm - small.width_mm) / 2.0,
        (large.diameter_mm - small.diameter_mm) / 2.0,
        large.circle_mm - small.circle_mm,
        (large.perimeter_mm - small.perimeter_mm) / (2.0 * math.pi),
        by_disc,
    )
    return min(cheap, _by_area_mm(outline, part, cheap))


def _scale_in_part(small: Measures, large: Measures, margin_mm: float) -> float:
    by_length = min(
        (large.width_mm - 2.0 * margin_mm) / small.width_mm,
        (large.diameter_mm - 2.0 * margin_mm) / small.diameter_mm,
        (large.circle_mm - margin_mm) / small.circle_mm,
        (large.perimeter_mm - 2.0 * math.pi * margin_mm) / small.perimeter_mm,
        (large.disc_limit_mm - margin_mm) / small.disc_mm,
    )
    # Any shape grown by m gains at least what a disc of its area does (Brunn and Minkowski):
    # sqrt(area) + m sqrt(pi) <= sqrt(area of the steel).
    by_area = math.sqrt(large.area_mm2) - margin_mm * math.sqrt(math.pi)
    return max(0.0, min(by_length, by_area / math.sqrt(small.area_mm2)))


def _least_width_mm(hull_corners: Floats) -> float:
    """Return the least distance of parallel lines that hold a hull: one lies along a side."""
    sides = np.diff(hull_corners, axis=0)
    normals = np.column_stack([-sides[:, 1], sides[:, 0]]) / np.hypot(*sides.T)[:, None]
    return min(float(np.ptp(hull_corners @ normal)) for normal in normals)


def _largest_disc(shape: Polygon) -> tuple[float, float]:
    """Return a radius that is reached by a disc in the shape, and one that none exceeds."""
    tolerance = DISC_TOLERANCE * math.sqrt(shape.area)
    radius = float(shapely.maximum_inscribed_circle(shape, tolerance=tolerance).length)
    return radius, radius + tolerance


def _by_area_mm(outline: Polygon, part: Polygon, high_mm: float) -> float:
    """Return the bound by area, or `high_mm` where the area does not tighten that."""
    if outline.area > part.area:

        def fits(t_mm: float) -> bool:
            # Where GEOS simplifies a notch before it grows a shape, it makes the area larger, and
            # so do chords outside the arcs: both loosen the bound.
            grown = part.buffer(-t_mm * OUTSIDE, quad_segs=QUAD_SEGMENTS)
            return float(outline.area) <= float(grown.area)

        return high_mm if fits(high_mm) else _root_mm(fits, _enough_mm(fits, high_mm), high_mm)

    def small_enough(t_mm: float) -> bool:
        return float(outline.buffer(t_mm, quad_segs=QUAD_SEGMENTS).area) <= float(part.area)

    if small_enough(high_mm):
        return high_mm
    bound = _root_mm(small_enough, 0.0, high_mm)
    # Here a simplified notch would tighten the bound: only a union of grown sides proves it.
    while bound < high_mm and _area_of_grown_sides_mm2(outline, bound) <= part.area:
        bound += AREA_TOLERANCE_MM
    return min(bound, high_mm)


def _enough_mm(fits: Callable[[float], bool], below_mm: float) -> float:
    step = 1.0
    while not fits(below_mm - step):
        step *= 2.0
    return below_mm - step


def _root_mm(fits: Callable[[float], bool], low_mm: float, high_mm: float) -> float:
    """Return a value that does not fit any more, within the tolerance of one that does."""
    while high_mm - low_mm > AREA_TOLERANCE_MM:
        middle = (low_mm + high_mm) / 2.0
        low_mm, high_mm = (middle, high_mm) if fits(middle) else (low_mm, middle)
    return high_mm


def _area_of_grown_sides_mm2(outline: Polygon, by_mm: float) -> float:
    """Return the area of a grown outline from its sides, each grown by itself, chords inside."""
    ends = shapely.get_coordinates(outline.exterior)
    sides = shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1))
    grown = shapely.buffer(sides, by_mm, quad_segs=QUAD_SEGMENTS)
    return float(shapely.union_all([outline, *shapely.get_parts(grown)]).area)

"""Fewer vertices, without claiming steel that is not there."""

from __future__ import annotations

import math

import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from calibration.top_face import largest

CLAIM_MM = 0.02  # how far a simplified edge may lie outside the measured one
MAX_VERTICES = 600
LEAST_MM, GROWTH = 0.01, math.sqrt(2.0)  # tolerances that are tried
LEAST_INSET_MM = 1e-6
PASSED_OVER = 0.01  # of the distance, by GEOS where it draws a polygon in
ARC_SEGMENTS = 4  # of a quarter circle, where a polygon is drawn in


def simplified(measured: Polygon) -> Polygon:
    """Return a polygon of fewer than 600 vertices that lies within the measured one.

    Parameters
    ----------
    measured : shapely.Polygon
        Valid, mm.

    Returns
    -------
    shapely.Polygon
        Valid, oriented, nowhere more than 0.02 mm outside of `measured`.

    Notes
    -----
    Douglas and Peucker's chords stray from the line by the tolerance at most, to either side.
    Where that is more than may be claimed, the polygon is drawn in by the difference first.
    """
    tolerance, coarsest = LEAST_MM, math.sqrt(measured.area)
    while tolerance < coarsest:
        smaller = _drawn_in(measured, tolerance - CLAIM_MM)
        simple = largest(shapely.simplify(smaller, tolerance, preserve_topology=True))
        if not simple.is_empty and vertex_count(simple) < MAX_VERTICES:
            return orient(simple)
        tolerance *= GROWTH
    return _round_core(measured)


def _drawn_in(measured: Polygon, inset: float) -> Polygon:
    """Return the largest part of a polygon that keeps this far from its edge, itself below 0.

    Round a notch the new edge is an arc of chords, their middles nearest to the notch; and what is
    finer than a hundredth of the distance is passed over.
    """
    if inset < LEAST_INSET_MM:
        return measured
    outset = (1.0 + PASSED_OVER) * inset / math.cos(math.pi / (4 * ARC_SEGMENTS))
    return largest(measured.buffer(-outset, quad_segs=ARC_SEGMENTS))


def _round_core(measured: Polygon) -> Polygon:
    """Return the largest circle within a polygon too ragged for its shape to be kept."""
    radius = shapely.maximum_inscribed_circle(measured)
    return orient(shapely.get_point(radius, 0).buffer(radius.length))


def vertex_count(polygon: Polygon) -> int:
    """Return the number of vertices, holes included, none repeated."""
    rings = [polygon.exterior, *polygon.interiors]
    return sum(len(ring.coords) - 1 for ring in rings)

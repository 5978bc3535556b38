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
STRAYS = (1.02, 1.5, 2.0)  # of the tolerance; a buffer is up to 1 % short
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
    Douglas and Peucker's chords stray from the line by the tolerance, to either side, and by more
    where the ring's first point is left out.  Where that is more than may be claimed, the polygon
    is drawn in first.
    """
    allowed = measured.buffer(CLAIM_MM)
    shapely.prepare(allowed)
    tolerance, coarsest = LEAST_MM, math.sqrt(measured.area)
    while tolerance < coarsest:
        for strays in STRAYS:
            drawn_in = _drawn_in(measured, strays * tolerance - CLAIM_MM)
            simple = shapely.simplify(drawn_in, tolerance, preserve_topology=False)
            if not simple.is_valid:  # seldom; minding it all along takes ten times the time
                simple = shapely.simplify(drawn_in, tolerance, preserve_topology=True)
            simple = largest(simple)
            if simple.is_empty or vertex_count(simple) >= MAX_VERTICES:
                break
            if allowed.contains(simple):
                return orient(simple)
        tolerance *= GROWTH
    return _round_core(measured)


def _drawn_in(measured: Polygon, inset: float) -> Polygon:
    """Return the largest part of a polygon that keeps this far from its edge, itself below 0.

    Round a notch the new edge is an arc of chords, their middles nearest to the notch.
    """
    if inset < LEAST_INSET_MM:
        return measured
    outset = inset / math.cos(math.pi / (4 * ARC_SEGMENTS))
    return largest(measured.buffer(-outset, quad_segs=ARC_SEGMENTS))


def _round_core(measured: Polygon) -> Polygon:
    """Return the largest circle within a polygon too ragged for its shape to be kept."""
    radius = shapely.maximum_inscribed_circle(measured)
    return orient(shapely.get_point(radius, 0).buffer(radius.length))


def vertex_count(polygon: Polygon) -> int:
    """Return the number of vertices, holes included, none repeated."""
    rings = [polygon.exterior, *polygon.interiors]
    return sum(len(ring.coords) - 1 for ring in rings)

"""Fewer vertices, without claiming steel that is not there."""

from __future__ import annotations

import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from calibration.top_face import largest

CLAIM_MM = 0.02  # how far a simplified edge may lie outside the measured one
MAX_VERTICES = 600
TOLERANCES_MM = (0.01, 0.014, 0.02, 0.03, 0.045, 0.07, 0.1, 0.15, 0.25, 0.4, 0.7, 1.2, 2.0)


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
    for tolerance in TOLERANCES_MM:
        inset = max(0.0, tolerance - CLAIM_MM)
        smaller = measured if inset == 0.0 else largest(measured.buffer(-inset, quad_segs=4))
        simple = largest(shapely.simplify(smaller, tolerance, preserve_topology=True))
        if not simple.is_empty and vertex_count(simple) < MAX_VERTICES:
            return orient(simple)
    return orient(largest(measured.convex_hull.intersection(measured)))


def vertex_count(polygon: Polygon) -> int:
    """Return the number of vertices, holes included, none repeated."""
    rings = [polygon.exterior, *polygon.interiors]
    return sum(len(ring.coords) - 1 for ring in rings)

"""The top face of a plate from its silhouette.

A plate's top is nearer to the lens than the paper and looks larger; beyond it, the sides that
face the lens are seen.  Read at the height of its top, the silhouette has the true edge wherever
the top's own edge is its rim; read at the height of the paper, wherever a foot of the plate is.
Sides stand upright, so both readings cover the whole plate, and it fills just what they share.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from calibration.sheet_map import SheetMap

Points = NDArray[np.float64]


def top_face(silhouette_px: Points, sheet_map: SheetMap, thickness_mm: float) -> Polygon:
    """Return the plate's edge, mm on the sheet.

    Parameters
    ----------
    silhouette_px : ndarray, (N, 2)
        The rim of what is seen of the plate.
    sheet_map : SheetMap
        Of the paper.
    thickness_mm : float
        Of the plate, >= 0.
    """
    on_paper = _polygon(sheet_map.to_mm(silhouette_px))
    if thickness_mm <= 0.0:
        return on_paper
    on_top = _polygon(sheet_map.raised(thickness_mm).to_mm(silhouette_px))
    return Polygon(largest(shapely.intersection(on_top, on_paper)).exterior)


def largest(shape: shapely.Geometry) -> Polygon:
    """Return the largest polygon of a shape; empty if there is none."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=Polygon())


def _polygon(points: Points) -> Polygon:
    polygon = Polygon(points)
    return polygon if polygon.is_valid else largest(shapely.make_valid(polygon))

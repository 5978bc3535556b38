"""The straight pieces of a shape's edge, as arrays, with the nearest one to many points at once."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Segments:
    """All pieces of the edge of a polygon, its holes included.

    Parameters
    ----------
    shape : shapely.Polygon or shapely.MultiPolygon
        Edges of no length (a repeated vertex) are left out.

    Attributes
    ----------
    start_mm, along_mm : numpy.ndarray
        (M, 2) first point of each piece, and the vector to its last.
    """

    def __init__(self, shape: BaseGeometry) -> None:
        points, ring = shapely.get_coordinates(shapely.get_rings(shape), return_index=True)
        same = ring[1:] == ring[:-1]
        start, along = points[:-1][same], np.diff(points, axis=0)[same]
        long_enough = (along != 0.0).any(axis=1)
        self.start_mm: Floats = start[long_enough]
        self.along_mm: Floats = along[long_enough]
        self._length2: Floats = (self.along_mm**2).sum(axis=1)
        ends = np.stack([self.start_mm, self.start_mm + self.along_mm], axis=1)
        self._tree = shapely.STRtree(np.asarray(shapely.linestrings(ends)))

    def nearest(self, points_mm: Floats) -> Ints:
        """Return for each of (N, 2) points the number of the piece nearest to it."""
        found: Ints = self._tree.query_nearest(shapely.points(points_mm), all_matches=False)[1]
        return found

    def shares(self, points_mm: Floats, piece: Ints) -> Floats:
        """Return (...) how far along each named piece's line each point lies: 0 to 1 is on it."""
        away = points_mm - self.start_mm[piece]
        shares: Floats = (away * self.along_mm[piece]).sum(axis=-1) / self._length2[piece]
        return shares

    def foot(self, points_mm: Floats, piece: Ints) -> Floats:
        """Return (..., 2) the point of each named piece that is nearest to each point."""
        shares = np.clip(self.shares(points_mm, piece), 0.0, 1.0)
        foot: Floats = self.start_mm[piece] + shares[..., None] * self.along_mm[piece]
        return foot

    def distance_mm(self, points_mm: Floats, piece: Ints) -> Floats:
        """Return (...) the distance of each point to the piece named for it."""
        away = points_mm - self.foot(points_mm, piece)
        distance: Floats = np.hypot(away[..., 0], away[..., 1])
        return distance

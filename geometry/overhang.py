"""How far a shape sticks out of a region: the deepest point of the part outside, exactly.

The distance to a straight piece of edge is a convex function, and so is any mean of such distances
with fixed weights. Over a triangle it is greatest at a corner. The distance to the region is the
least over all pieces, so no point of the triangle is farther out than the greatest corner value of
any such mean. Triangles that cannot beat the deepest point found are dropped, the others halved.
The mean of two pieces settles the ridge between two parallel edges in one step, where a plain
Lipschitz bound would need thousands of cells.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from geometry.segments import Floats, Ints, Segments

TOLERANCE_MM = 2e-4  # the depth is exact to this; a fifth of a micrometre is below any use
MAX_ROUNDS = 80  # a halving each: from a metre to below the tolerance with room to spare
PAIRS = np.array([(0, 1), (1, 2), (2, 0)])


class Deepest(NamedTuple):
    """A point outside, how far it is from the region, and the region's nearest point."""

    depth_mm: float
    point_mm: tuple[float, float]
    edge_point_mm: tuple[float, float]


def deepest_point(outside: BaseGeometry, edge: Segments) -> Deepest:
    """Return the point of `outside` that is farthest from the region.

    Parameters
    ----------
    outside : shapely geometry
        The part of a shape that lies outside the region; not empty.
    edge : Segments
        The region's edge, holes included.
    """
    points = shapely.get_coordinates(outside)
    pieces = edge.nearest(points)
    depth = edge.distance_mm(points, pieces)
    best = int(depth.argmax())
    deepest = Deepest(float(depth[best]), *_with_foot(points[best], pieces[best], edge))
    cells = _cells(outside, points, pieces)
    for _ in range(MAX_ROUNDS):
        cells = cells.kept(cells.bounds(edge) > deepest.depth_mm + TOLERANCE_MM)
        if not len(cells.nearest):
            break
        cells, middles, pieces = cells.halved(edge)
        depth = edge.distance_mm(middles, pieces)
        best = int(depth.argmax())
        if depth[best] > deepest.depth_mm:
            deepest = Deepest(float(depth[best]), *_with_foot(middles[best], pieces[best], edge))
    return deepest


def _with_foot(
    point: Floats, piece: np.intp, edge: Segments
) -> tuple[tuple[float, float], tuple[float, float]]:
    foot = edge.foot(point[None], np.array([piece]))[0]
    return (float(point[0]), float(point[1])), (float(foot[0]), float(foot[1]))


def _cells(outside: BaseGeometry, points: Floats, pieces: Ints) -> _Cells:
    """Return triangles that cover every polygon of a geometry; their corners are its vertices."""
    parts = shapely.get_parts(outside)
    polygons = parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON]
    meshes = shapely.get_parts(shapely.constrained_delaunay_triangles(polygons))
    corners = shapely.get_coordinates(meshes).reshape(-1, 4, 2)[:, :3]
    known = dict(zip(map(tuple, points), pieces, strict=True))
    nearest = [known[tuple(corner)] for corner in corners.reshape(-1, 2)]
    return _Cells(corners, np.array(nearest, dtype=np.intp).reshape(-1, 3))


class _Cells(NamedTuple):
    """Triangles, (N, 3, 2), and the piece of edge nearest to each corner, (N, 3)."""

    corners: Floats
    nearest: Ints

    def kept(self, wanted: NDArray[np.bool_]) -> _Cells:
        return _Cells(self.corners[wanted], self.nearest[wanted])

    def bounds(self, edge: Segments) -> Floats:
        """Return (N,) what no point of a triangle is farther out than."""
        # [triangle, corner, piece]: each corner to the pieces nearest to the three corners
        table = edge.distance_mm(self.corners[:, :, None, :], self.nearest[:, None, :])
        single = table.max(axis=1).min(axis=1)
        pair = table[:, :, PAIRS].mean(axis=-1).max(axis=1).min(axis=1)
        bound: Floats = np.minimum(single, pair)
        return bound

    def halved(self, edge: Segments) -> tuple[_Cells, Floats, Ints]:
        """Return the triangles cut across their longest sides, and the new corners."""
        sides = np.linalg.norm(self.corners - np.roll(self.corners, -1, axis=1), axis=2)
        order = (sides.argmax(axis=1)[:, None] + np.arange(3)) % 3
        rows = np.arange(len(order))[:, None]
        a, b, c = np.moveaxis(self.corners[rows, order], 1, 0)
        at_a, at_b, at_c = self.nearest[rows, order].T
        middle = (a + b) / 2.0
        at_middle = edge.nearest(middle)
        corners = np.stack([[a, middle, c], [middle, b, c]])
        nearest = np.stack([[at_a, at_middle, at_c], [at_middle, at_b, at_c]])
        halves = _Cells(
            np.moveaxis(corners, 1, 2).reshape(-1, 3, 2), np.moveaxis(nearest, 1, 2).reshape(-1, 3)
        )
        return halves, middle, at_middle

"""Signed distances to a shape's edge on a grid, for scoring very many points at once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.segments import Floats, Segments

MAX_NODES = 120_000  # a grid is made coarser beyond this: 0.1 to 0.3 s to build
TOUCHING_MM = 1e-9  # nearer than this, the direction to the edge is noise


Singles = NDArray[np.float32]  # half the memory to move, and 0.0001 mm is enough for roughness


class Readings(NamedTuple):
    """Signed distances of points to pieces of edge, and the unit directions in which they grow.

    ``point`` (K,) numbers the points, each of which may be read against several pieces.
    """

    point: NDArray[np.intp]
    values_mm: Floats
    gradients: Floats


class DistanceField:
    """Distances from the edge of one polygon, inside positive.

    Every node of the grid knows the piece of edge nearest to it. `rough` reads the nearest node,
    right to 0.7 cells. `readings` measure to the pieces known to the four nodes around, which hold
    the nearest piece nearly always: good enough to steer by, not to promise by.

    Parameters
    ----------
    shape : shapely.Polygon
        The shape, mm.
    cell_mm : float
        Distance of the nodes, > 0.
    pad_mm : float
        How far the grid reaches beyond the shape. Farther out, values fall by the distance.
    """

    def __init__(self, shape: Polygon, *, cell_mm: float, pad_mm: float) -> None:
        self.shape = orient(shape)  # so that inside lies to the left of every piece
        self._edge = Segments(self.shape)
        x1, y1, x2, y2 = self.shape.bounds
        area = (x2 - x1 + 2 * pad_mm) * (y2 - y1 + 2 * pad_mm)
        self.cell_mm = max(cell_mm, float(np.sqrt(area / MAX_NODES)))
        self._origin: Floats = np.array([x1 - pad_mm, y1 - pad_mm])
        reach = np.array([x2 + pad_mm, y2 + pad_mm]) - self._origin
        self._columns, self._rows = (np.ceil(reach / self.cell_mm).astype(int) + 1).tolist()
        grid = np.meshgrid(np.arange(self._columns), np.arange(self._rows))
        nodes = self._origin + self.cell_mm * np.column_stack([axis.ravel() for axis in grid])
        self._piece = self._nearest_pieces(nodes)
        shapely.prepare(self.shape)
        distance = self._edge.distance_mm(nodes, self._piece)
        inside = shapely.contains_xy(self.shape, nodes[:, 0], nodes[:, 1])
        self._value = np.where(inside, distance, -distance).astype(np.float32)

    def _nearest_pieces(self, nodes: Floats) -> NDArray[np.intp]:
        from scipy.spatial import cKDTree  # slow to import: only a search needs it

        lengths = np.hypot(*self._edge.along_mm.T)
        counts = np.ceil(lengths / (self.cell_mm / 2.0)).astype(int) + 1
        piece = np.repeat(np.arange(len(counts)), counts)
        step = np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
        share = (step + 0.5) / counts[piece]
        samples = self._edge.start_mm[piece] + share[:, None] * self._edge.along_mm[piece]
        found: NDArray[np.intp] = piece[cKDTree(samples).query(nodes)[1]]
        return found

    def rough(self, x_mm: Singles, y_mm: Singles) -> Singles:
        """Return the signed distance at the nodes nearest to points given by two arrays."""
        across = (x_mm - np.float32(self._origin[0])) * np.float32(1.0 / self.cell_mm)
        up = (y_mm - np.float32(self._origin[1])) * np.float32(1.0 / self.cell_mm)
        column = np.clip(across, np.float32(0.0), np.float32(self._columns - 1))
        row = np.clip(up, np.float32(0.0), np.float32(self._rows - 1))
        across -= column
        up -= row
        beyond = np.abs(across, out=across)
        beyond += np.abs(up, out=up)
        node = np.rint(row, out=row).astype(np.int32)
        node *= self._columns
        node += np.rint(column, out=column).astype(np.int32)
        value: Singles = self._value.take(node)
        value -= beyond * np.float32(self.cell_mm)
        return value

    def readings(self, points_mm: Floats, *, all_inside: bool, corners: bool) -> Readings:
        """Return signed distances of (N, 2) points to the pieces of edge near them.

        Parameters
        ----------
        points_mm : numpy.ndarray
            (N, 2) points.
        all_inside : bool
            Points inside (else: points outside) are read against the nearest piece and against
            every other piece known around that they stand square to: a point midway between two
            pieces is near both. The others are read against the nearest alone.
        corners : bool
            Whether the many-sided points are read against a corner, where that is nearest.
        """
        place = (points_mm - self._origin) / self.cell_mm
        column = np.clip(place[:, 0].astype(int), 0, self._columns - 2)
        row = np.clip(place[:, 1].astype(int), 0, self._rows - 2)
        corner = row * self._columns + column
        around = corner[:, None] + np.array([0, 1, self._columns, self._columns + 1])
        pieces = np.sort(self._piece[around], axis=1)
        inside = shapely.contains_xy(self.shape, points_mm[:, 0], points_mm[:, 1])
        many = (inside == all_inside)[:, None]
        nearest = np.zeros(pieces.shape, dtype=bool)
        distance = self._edge.distance_mm(points_mm[:, None, :], pieces)
        nearest[np.arange(len(pieces)), distance.argmin(axis=1)] = True
        shares = self._edge.shares(points_mm[:, None, :], pieces)
        square = many & (shares > 0.0) & (shares < 1.0)
        square[:, 1:] &= pieces[:, 1:] != pieces[:, :-1]
        wanted = square | (nearest if corners else nearest & ~many)
        point = np.nonzero(wanted)[0]
        return self._readings(points_mm, point, pieces[wanted], inside[point])

    def _readings(
        self,
        points_mm: Floats,
        point: NDArray[np.intp],
        piece: NDArray[np.intp],
        inside: NDArray[np.bool_],
    ) -> Readings:
        away = points_mm[point] - self._edge.foot(points_mm[point], piece)
        distance = np.hypot(away[:, 0], away[:, 1])
        sign = np.where(inside, 1.0, -1.0)
        along = self._edge.along_mm[piece]
        inward = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
        near = distance < TOUCHING_MM
        gradient = away * (sign / np.where(near, 1.0, distance))[:, None]
        gradients = np.where(near[:, None], inward, gradient)
        return Readings(point=point, values_mm=sign * distance, gradients=gradients)

"""The edge of a shape walked round, as arrays: places along it, and which way is in."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.segments import Floats, Ints


class RingWalk:
    """All straight pieces of a polygon's edge in order, the shape to their left.

    Parameters
    ----------
    shape : shapely.Polygon
        Its pieces of no length (a repeated vertex) are left out.

    Attributes
    ----------
    starts_mm : numpy.ndarray
        (M, 2) first points.
    lengths_mm : numpy.ndarray
        (M,) lengths, > 0.
    inward : numpy.ndarray
        (M, 2) unit directions to the left.
    """

    def __init__(self, shape: Polygon) -> None:
        whole = orient(shape)
        rings = [_without_repeats(ring) for ring in (whole.exterior, *whole.interiors)]
        self._set(rings)

    def _set(self, rings: list[Floats]) -> None:
        self._rings = rings
        self.starts_mm: Floats = np.concatenate(rings)
        along = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in rings])
        self.lengths_mm: Floats = np.hypot(*along.T)
        self._along = along
        unit = along / self.lengths_mm[:, None]
        self.inward: Floats = np.column_stack([-unit[:, 1], unit[:, 0]])
        counts = np.array([len(ring) for ring in rings])
        before = np.arange(counts.sum()) - 1
        before[np.cumsum(counts) - counts] = np.cumsum(counts) - 1
        self._before: Ints = before

    def reversed(self) -> RingWalk:
        """Return the walk the other way round, with what is outside the shape to its left."""
        other = object.__new__(RingWalk)
        other._set([ring[::-1] for ring in self._rings])
        return other

    def spaced(self, step_mm: float) -> tuple[Ints, Floats]:
        """Return evenly spaced places: the pieces' numbers and shares, each piece's start among."""
        counts = np.maximum(1, np.ceil(self.lengths_mm / step_mm)).astype(int)
        edge = np.repeat(np.arange(len(counts)), counts)
        number = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts)
        return edge, number / counts[edge]

    def places(self, edge: Ints, share: Floats) -> Floats:
        """Return (N, 2) places at shares, 0 to 1, of pieces."""
        places: Floats = self.starts_mm[edge] + share[:, None] * self._along[edge]
        return places

    def fans(self, step_rad: Floats) -> tuple[Ints, Floats]:
        """Return directions between those of the two pieces at each corner that bends right.

        Parameters
        ----------
        step_rad : numpy.ndarray
            (M,) how far two of them may lie apart at each piece's start.

        Returns
        -------
        corner, ways : numpy.ndarray
            (N,) the piece that starts at the corner, and (N, 2) unit directions to the left, no
            farther than the step from each other and from those of the pieces.
        """
        last = self.inward[self._before]
        turn = np.arctan2(
            last[:, 0] * self.inward[:, 1] - last[:, 1] * self.inward[:, 0],
            (last * self.inward).sum(axis=1),
        )
        counts = np.maximum(0, np.ceil(-turn / step_rad).astype(int) - 1)
        corner = np.repeat(np.arange(len(turn)), counts)
        number = np.arange(len(corner)) - np.repeat(np.cumsum(counts) - counts, counts) + 1
        start = np.arctan2(last[:, 1], last[:, 0])[corner]
        angle = start + turn[corner] * number / (counts[corner] + 1)
        return corner, np.column_stack([np.cos(angle), np.sin(angle)])


def _without_repeats(ring: shapely.LinearRing) -> Floats:
    points: Floats = shapely.get_coordinates(ring)[:-1]
    moved: Floats = points[(points != np.roll(points, 1, axis=0)).any(axis=1)]
    return moved

"""The strokes of a sheet thinned to lines, on a picture small enough to try many things on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.thinning import Mask, thinned

Points = NDArray[np.float64]
Box = tuple[slice, slice]

MARGIN = 12  # cells of bare paper kept round the ink


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lines:
    """Strokes on the cells of a sheet's ink.

    Parameters
    ----------
    ink, thin : ndarray of bool, (h, w)
        The strokes, and the same one pixel wide.
    corner : ndarray of int, (2,)
        Column and row of their first cell among all cells: only the part with ink is kept.
    factor : int
        Pixels of the full picture to a side of a cell.
    width_px : float
        The usual stroke's width, full picture's pixels.
    """

    ink: Mask
    thin: Mask
    corner: NDArray[np.intp]
    factor: int
    width_px: float

    @classmethod
    def of(cls, ink: Ink) -> Lines:
        """Return the lines of a sheet's ink."""
        mask, corner = _cropped(ink.mask)
        thin = thinned(mask)
        width = float(mask.sum()) / max(1.0, float(thin.sum()))
        return cls(
            ink=mask, thin=thin, corner=corner, factor=ink.factor, width_px=ink.factor * width
        )

    def along(self, outline: NDArray[np.intp]) -> Lines:
        """Return the same lines, their usual width that of the stroke along an outline.

        Parameters
        ----------
        outline : ndarray of int, (N, 2)
            Cells beside the thin stroke, x and y.
        """
        depth = cv2.distanceTransform(self.ink.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_3)
        middle = cv2.dilate(depth, np.ones((3, 3), np.uint8))[outline[:, 1], outline[:, 0]]
        reach = 2 * int(np.ceil(float(np.median(middle)))) + 3
        band = np.zeros(self.ink.shape, np.uint8)
        corners = [outline.astype(np.int32)]
        cv2.polylines(band, corners, isClosed=True, color=1, thickness=reach)
        ink, thin = (np.count_nonzero(each & (band > 0)) for each in (self.ink, self.thin))
        return replace(self, width_px=self.factor * ink / thin) if ink and thin else self

    def part(self, cells: Mask) -> Mask:
        """Return the part of a picture of all cells that is kept."""
        rows, columns = (
            slice(first, first + size)
            for first, size in zip(self.corner[::-1].tolist(), self.thin.shape, strict=True)
        )
        return cells[rows, columns]

    def to_full(self, points: Points) -> Points:
        """Return places of the full picture."""
        return np.asarray((points + self.corner + 0.5) * self.factor - 0.5, float)

    def to_work(self, points: Points) -> Points:
        """Return places at working size."""
        return np.asarray((points + 0.5) / self.factor - 0.5 - self.corner, float)

    def cell(self, point: Points) -> tuple[int, int]:
        """Return the column and row of the cell of a place of the full picture."""
        column, row = np.floor((point + 0.5) / self.factor).astype(int) - self.corner
        return int(column), int(row)

    def enlarged(
        self, mask: Mask, outline: NDArray[np.intp], shape: tuple[int, ...]
    ) -> tuple[Box, Mask]:
        """Return a box of the full picture around an outline, and the mask in it.

        Parameters
        ----------
        mask : ndarray of bool
            At working size.
        outline : ndarray of int, (N, 2)
            Cells, x and y.
        shape : tuple of int
            Of the full picture.
        """
        margin = int(4 * self.width_px) + 16
        left, top = (outline.min(axis=0) + self.corner) * self.factor - margin
        right, bottom = (outline.max(axis=0) + self.corner + 1) * self.factor + margin
        box = (
            slice(max(0, int(top)), min(shape[0], int(bottom))),
            slice(max(0, int(left)), min(shape[1], int(right))),
        )
        rows, columns = (
            np.clip(np.arange(side.start, side.stop) // self.factor - first, 0, size - 1)
            for side, size, first in zip(box, mask.shape, self.corner[::-1], strict=True)
        )
        return box, mask[np.ix_(rows, columns)]


def _cropped(mask: Mask) -> tuple[Mask, NDArray[np.intp]]:
    """Return the part of a mask that has ink with some bare cells round it, and its corner."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return mask, np.zeros(2, np.intp)
    top, left = (max(0, int(each[0]) - MARGIN) for each in (rows, columns))
    part = mask[top : int(rows[-1]) + MARGIN, left : int(columns[-1]) + MARGIN]
    return np.ascontiguousarray(part), np.array([left, top], np.intp)

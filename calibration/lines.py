"""The strokes of a sheet thinned to lines, on a picture small enough to try many things on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.thinning import Mask, thinned

Points = NDArray[np.float64]
Box = tuple[slice, slice]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lines:
    """Strokes on the cells of a sheet's ink.

    Parameters
    ----------
    ink, thin : ndarray of bool, (h, w)
        The strokes, and the same one pixel wide.
    factor : int
        Pixels of the full picture to a side of a cell.
    width_px : float
        The usual stroke's width, full picture's pixels.
    """

    ink: Mask
    thin: Mask
    factor: int
    width_px: float

    @classmethod
    def of(cls, ink: Ink) -> Lines:
        """Return the lines of a sheet's ink."""
        thin = thinned(ink.mask)
        width = float(ink.mask.sum()) / max(1.0, float(thin.sum()))
        return cls(ink=ink.mask, thin=thin, factor=ink.factor, width_px=ink.factor * width)

    def to_full(self, points: Points) -> Points:
        """Return places of the full picture."""
        return (points + 0.5) * self.factor - 0.5

    def to_work(self, points: Points) -> Points:
        """Return places at working size."""
        return (points + 0.5) / self.factor - 0.5

    def cell(self, point: Points) -> tuple[int, int]:
        """Return the column and row of the cell of a place of the full picture."""
        return int((point[0] + 0.5) // self.factor), int((point[1] + 0.5) // self.factor)

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
        left, top = outline.min(axis=0) * self.factor - margin
        right, bottom = (outline.max(axis=0) + 1) * self.factor + margin
        box = (
            slice(max(0, int(top)), min(shape[0], int(bottom))),
            slice(max(0, int(left)), min(shape[1], int(right))),
        )
        rows, columns = (
            np.minimum(np.arange(side.start, side.stop) // self.factor, size - 1)
            for side, size in zip(box, mask.shape, strict=True)
        )
        return box, mask[np.ix_(rows, columns)]

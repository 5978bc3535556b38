"""The evened darkness of a sheet at the picture's full size, reckoned only where it is asked for.

Strokes take a small part of a sheet.  So the picture is parted into tiles, and a tile is evened
when something near it is first measured; the rest is never touched, nor does it take memory.
"""

from __future__ import annotations

from typing import Any, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.cores import each
from calibration.light import lights

Picture = NDArray[np.uint8]
Field = NDArray[np.float32]
Mask = NDArray[np.bool_]
Points = NDArray[np.float64]
Box = tuple[slice, slice]

Scalar = TypeVar("Scalar", bound=np.generic)

TILE_PX = 64
STRIP_PX = 32  # rows at a time of whole pictures: they stay in the processor's cache
PART_PX = 16  # of a tile: how finely it is told whether it lies within reach of a path
_WHAT_IS_MISSING = np.array([[-1.0, -1.0, -1.0, 1.0]], np.float32)  # 1 less the three channels


class Darkness:
    """Share of the bare paper's light that is missing: 0 on paper, near 1 on ink.

    Parameters
    ----------
    rgb : ndarray of uint8, (h, w, 3)
        The picture, coarser than the photo by `pitch`.
    gain : ndarray of float32, (H, W, 3)
        Weight of each channel over the bare paper's light, on a small picture of the same view.
    sheet : ndarray of bool, (h', w')
        Where the paper is, on a small picture too; beyond it the darkness is 0.
    pitch : int
        Pixels of the photo to one of `rgb`.
    """

    def __init__(self, *, rgb: Picture, gain: Field, sheet: Mask, pitch: int) -> None:
        self.shape = (int(rgb.shape[0]), int(rgb.shape[1]))
        self.pitch = pitch
        self.rgb, self._gain, self._sheet = rgb, gain, sheet.astype(np.uint8)
        rows, columns = (-(-side // TILE_PX) for side in self.shape)
        self._known = np.zeros((rows, columns), bool)
        self._values = np.zeros(self.shape, np.float32)  # memory is taken where it is written

    @classmethod
    def known(cls, values: Field) -> Darkness:
        """Return the darkness whose values are known everywhere."""
        rows, columns = values.shape
        rgb, gain = np.zeros((rows, columns, 3), np.uint8), np.zeros((1, 1, 3), np.float32)
        whole = cls(rgb=rgb, gain=gain, sheet=np.ones((1, 1), bool), pitch=1)
        whole._values[:] = values
        whole._known[:] = True
        return whole

    def own(self, points_px: Points) -> Points:
        """Return places of the photo in this picture's pixels."""
        return (np.asarray(points_px, float) + 0.5) / self.pitch - 0.5

    def photo(self, points: Points) -> Points:
        """Return places of this picture in the photo's pixels."""
        return (np.asarray(points, float) + 0.5) * self.pitch - 0.5

    def along(self, path: Points, reach: float) -> Field:
        """Return the whole field, known within `reach` of a path, 0 where never asked for.

        Parameters
        ----------
        path : ndarray, (N, 2)
            Corners of an open path, this picture's pixels; it may leave the picture.
        reach : float
            Pixels to either side.
        """
        rows, columns = self._known.shape
        parts = TILE_PX // PART_PX
        drawn = np.zeros((rows * parts, columns * parts), np.uint8)
        corners = np.rint(path / PART_PX).astype(np.int32)
        thickness = 2 * int(np.ceil(reach / PART_PX)) + 3
        cv2.polylines(drawn, [corners], isClosed=False, color=255, thickness=thickness)
        share = cv2.resize(drawn, (columns, rows), interpolation=cv2.INTER_AREA)
        self._even(np.asarray(share > 0, bool))
        return self._values

    def within(self, box: Box) -> Field:
        """Return the field in a box of this picture, all of it known."""
        rows, columns = (
            slice(start // TILE_PX, -(-stop // TILE_PX))
            for start, stop, _ in (
                side.indices(size) for side, size in zip(box, self.shape, strict=True)
            )
        )
        wanted = np.zeros(self._known.shape, bool)
        wanted[rows, columns] = True
        self._even(wanted)
        return np.ascontiguousarray(self._values[box])

    def rows(self, step: int) -> tuple[Field, Mask]:
        """Return every `step`-th row of the field, and which of its pixels are paper."""
        return self._evened(slice(0, None, step), slice(0, None))

    def _even(self, wanted: Mask) -> None:
        """Even the tiles that are wanted and not known, those beside each other at once."""
        wanted = np.asarray(wanted & ~self._known, bool)
        boxes = []
        for row in np.flatnonzero(wanted.any(axis=1)):
            turns = np.flatnonzero(np.diff(wanted[row], prepend=False, append=False))
            boxes += [(int(row), int(start), int(stop)) for start, stop in turns.reshape(-1, 2)]
        each(lambda box: self._even_box(*box), boxes)
        self._known |= wanted

    def _even_box(self, row: int, start: int, stop: int) -> None:
        rows = slice(row * TILE_PX, min((row + 1) * TILE_PX, self.shape[0]))
        columns = slice(start * TILE_PX, min(stop * TILE_PX, self.shape[1]))
        values, inside = self._evened(rows, columns)
        self._values[rows, columns] = np.where(inside, values, np.float32(0.0))

    def _evened(self, rows: slice, columns: slice) -> tuple[Field, Mask]:
        """Return the darkness of a part of the picture, and which of it is paper."""
        gain = self._from_small(self._gain, rows, columns, cv2.INTER_LINEAR)
        sheet = self._from_small(self._sheet, rows, columns, cv2.INTER_NEAREST)
        return evened(self.rgb[rows, columns], np.asarray(gain, np.float32)), sheet > 0

    def _from_small(
        self, small: Field | Picture, rows: slice, columns: slice, how: int
    ) -> NDArray[Any]:
        """Return what a small picture of the same view shows in a part of this one."""
        first, size, matrix = [], [], np.zeros((2, 3))
        for axis, part in ((1, columns), (0, rows)):
            start, stop, step = part.indices(self.shape[axis])
            ratio = small.shape[axis] / self.shape[axis]
            size.append(len(range(start, stop, step)))
            first.append((start + 0.5) * ratio - 0.5)
            matrix[1 - axis, 1 - axis] = ratio * step
        matrix[:, 2] = first
        flags, border = how | cv2.WARP_INVERSE_MAP, cv2.BORDER_REPLICATE
        return np.asarray(cv2.warpAffine(small, matrix, size, flags=flags, borderMode=border))


def evened(rgb: Picture, gain: Field) -> Field:
    """Return the weighted share of missing light of a picture and its gain of the same size."""
    light = lights(rgb)
    cv2.multiply(light, gain, dst=light)
    return np.asarray(cv2.transform(light, _WHAT_IS_MISSING), np.float32)


def evened_whole(whole: Picture, some: Picture, gain: Field) -> tuple[Field, Field]:
    """Return the same of a whole picture, and of every second strip of another of its size.

    The gain is small.
    """
    rows, columns = whole.shape[:2]
    tall = np.asarray(cv2.resize(gain, (gain.shape[1], rows)), np.float32)
    fields = np.empty((rows, columns), np.float32), np.empty(some.shape[:2], np.float32)

    def even(top: int) -> None:
        strip = slice(top, top + STRIP_PX)
        local = np.asarray(cv2.resize(tall[strip], (columns, len(tall[strip]))), np.float32)
        fields[0][strip] = evened(whole[strip], local)
        if top % (2 * STRIP_PX) == 0:
            place = slice(top // 2, top // 2 + len(local))
            fields[1][place] = evened(some[place], local)

    each(even, range(0, rows, STRIP_PX))
    return fields


def every_second(values: NDArray[Scalar]) -> NDArray[Scalar]:
    """Return every second strip of a picture, one below the other."""
    tops = range(0, len(values), 2 * STRIP_PX)
    return np.concatenate([values[top : top + STRIP_PX] for top in tops])

"""Ink on a sheet: the light evened out, so that bare paper is 0 and ink stands above it.

Where there is ink is judged on cells of a few pixels; how dark it is, at full size and only where
that is asked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.cores import beside, each
from calibration.darkness import STRIP_PX, Darkness, evened_whole, every_second
from calibration.ground import FAINTEST
from calibration.photo import Photo
from calibration.resized import cells_of

Picture = NDArray[np.uint8]
Field = NDArray[np.float32]
Mask = NDArray[np.bool_]
Points = NDArray[np.float64]

FULL_PX = 6000  # long side beyond which a phone's picture has no more detail, only more memory
WORK_PX = 2000  # long side of the picture whose pixels are the cells
FEW_BLOCKS = 20  # with marks: too few to tell two kinds
BLOCKS = 250  # along the long side: a block is wider than a pen's stroke
GRAIN_PX = 3  # over which grain is averaged before what is darkest is looked for
NOISE_ROWS = 30  # on which the noise is measured: a hundred thousand pixels and more


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ink:
    """The evened darkness of a sheet.

    Parameters
    ----------
    darkness : Darkness
        Share of the paper's light that is missing: 0 on bare paper, near 1 on black ink;
        0 outside the sheet.  At the photo's size, or a whole part of it where that is very large.
    mask : ndarray of bool, (h, w)
        Cells with likely ink: any pixel of theirs is darker than `threshold`, within the sheet.
    sheet : ndarray of bool, (h, w)
        Cells of the light region that is taken for the paper, holes filled; all true if none was
        found.
    factor : int
        Pixels of `darkness` to a side of a cell.
    sheet_found : bool
        Whether a light region stood out from the bench.
    threshold : float
        The darkness between what the paper has of itself (grain, rules, grid) and ink.
    noise : float
        One standard deviation of `darkness` on bare paper, per pixel.
    """

    darkness: Darkness
    mask: Mask
    sheet: Mask
    factor: int
    sheet_found: bool
    threshold: float
    noise: float

    @property
    def cell_px(self) -> int:
        """Pixels of the photo to a side of a cell."""
        return self.factor * self.darkness.pitch

    @property
    def long_px(self) -> int:
        """The photo's long side."""
        return max(self.darkness.shape) * self.darkness.pitch

    def cells(self, points_px: Points) -> Points:
        """Return places of the photo in cells, their middles at integers."""
        return (np.asarray(points_px, float) + 0.5) / self.cell_px - 0.5


def find_ink(photo: Photo) -> Ink:
    """Return the ink of a sheet, whatever its colour and the light on it.

    Parameters
    ----------
    photo : Photo
        The upright picture.
    """
    pitch = math.ceil(max(photo.rgb.shape[:2]) / FULL_PX)
    rgb = photo.cells(pitch)
    factor = max(1, round(max(rgb.shape[:2]) / WORK_PX))
    cells = photo.cells(factor) if pitch == 1 else cells_of(rgb, factor)
    looked = beside(lambda: photo.ground)
    darkest = rgb if factor == 1 else _least(rgb, factor)
    calm_cells = _calm(every_second(cells), factor)
    ground = photo.ground if looked.cancel() else looked.result()
    size = (darkest.shape[1], darkest.shape[0])
    sheet = cv2.resize(ground.sheet.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    darkness = Darkness(rgb=rgb, gain=ground.gain, sheet=ground.sheet, pitch=pitch)
    noise = _noise(darkness)
    field, calm = evened_whole(darkest, calm_cells, ground.gain)
    threshold = _threshold(calm, every_second(sheet), noise)
    return Ink(
        darkness=darkness,
        mask=(field > threshold) & sheet,
        sheet=sheet,
        factor=factor,
        sheet_found=ground.sheet_found,
        threshold=threshold,
        noise=noise,
    )


def _least(values: Picture, factor: int) -> Picture:
    """Return a picture of cells, each the least of its pixels in each channel."""
    rows, columns = (side // factor for side in values.shape[:2])
    cells = np.empty((rows, columns, *values.shape[2:]), np.uint8)

    def least_of(top: int) -> None:
        part = cells[top : top + STRIP_PX]
        whole = values[top * factor : (top + len(part)) * factor, : columns * factor]
        low = whole[::factor]
        for k in range(1, factor):
            low = np.asarray(cv2.min(low, whole[k::factor]), np.uint8)
        least = low.copy()
        for k in range(1, factor):
            least[:, :-k] = cv2.min(least[:, :-k], low[:, k:])
        part[:] = cv2.resize(least, (columns, len(part)), interpolation=cv2.INTER_NEAREST)

    each(least_of, range(0, rows, STRIP_PX))
    return cells


def _calm(cells: Picture, factor: int) -> Picture:
    """Return a picture of cells, each the mean over about GRAIN_PX pixels or itself.

    Strip by strip: strips that were not neighbours share no light.
    """
    rest = (GRAIN_PX**2 - factor**2) / (12.0 * factor**2)  # variances of boxes, cells
    if rest <= 0.0:
        return cells
    calm = np.empty_like(cells)

    def calmed(top: int) -> None:
        strip = cells[top : top + STRIP_PX]
        calm[top : top + STRIP_PX] = cv2.GaussianBlur(strip, (3, 3), math.sqrt(rest))

    each(calmed, range(0, len(cells), STRIP_PX))
    return calm


def _noise(darkness: Darkness) -> float:
    """Return one standard deviation on bare paper, from differences of neighbours."""
    step = max(1, darkness.shape[0] // NOISE_ROWS)
    values, inside = darkness.rows(step)
    pairs = inside[:, 1:] & inside[:, :-1]
    if not pairs.any():
        return 0.0
    change = np.abs(values[:, 1:] - values[:, :-1])[pairs]
    return float(np.median(change) / 0.6745 / np.sqrt(2.0))


def _threshold(darkness: Field, sheet: Mask, noise: float) -> float:
    """Return the darkness that parts ink from the paper's own marks.

    The darkest place of each small block says what is strongest there: grain, a rule of the
    paper, or a pen.  Two groups apart by far are paper and pen; else all of it is pen.
    """
    darkest, inside = _darkest(darkness, sheet, max(4, round(max(darkness.shape) / BLOCKS)))
    least = max(FAINTEST, 5 * noise)
    values = darkest[inside & (darkest > least)]
    if len(values) < FEW_BLOCKS:
        return least
    split, low, high = _two_groups(values)
    strongest = high if high > 1.7 * low else float(values.mean())
    return max(least, 0.45 * strongest, min(split, 0.6 * strongest) if high > 1.7 * low else 0)


def _darkest(darkness: Field, sheet: Mask, block: int) -> tuple[Field, Mask]:
    """Return the darkest place of each block, 0..1, and which blocks lie within the sheet."""
    if min(darkness.shape) < block:
        return np.zeros((0, 0), np.float32), np.zeros((0, 0), bool)
    light = np.asarray(255 - cv2.convertScaleAbs(np.maximum(darkness, 0.0), alpha=255.0), np.uint8)
    darkest = 1.0 - _least(light, block).astype(np.float32) / np.float32(255.0)
    return darkest, _least(sheet.astype(np.uint8), block) > 0


def _two_groups(values: Field) -> tuple[float, float, float]:
    """Return the value that parts two groups (least spread within), and the groups' means."""
    eight = (values * 255).astype(np.uint8)
    split, _ = cv2.threshold(eight, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    low, high = values[eight <= split], values[eight > split]
    if not len(low) or not len(high):
        return float(values.max()), float(values.mean()), float(values.mean())
    return float(split) / 255, float(low.mean()), float(high.mean())

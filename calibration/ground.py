"""The ground of a picture: the light of the bare sheet, and where it lies.

The light of the bare paper is what is left when dark marks narrower than a few millimetres are
filled up; dividing by it takes away shade, warm light and shadows' edges.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.light import LIGHT, dimmest, lights

Picture = NDArray[np.uint8]
Field = NDArray[np.float32]
Mask = NDArray[np.bool_]

FILLED_PX = 15  # of the small picture: wider than any pen, narrower than a shadow
MIN_SHEET = 0.04  # of the picture: a smaller light region is not the sheet
MAX_SHEET = 0.97  # of the picture: the sheet fills it
STEP = 0.2  # of the light's logarithm over 4 px of the small picture; a crease makes 0.1
MIN_PAPER = 0.004  # linear light; below it there is only noise to divide by
FAINTEST = 0.06  # darkness; less is paper's grain


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """What evens out the light of a sheet.

    Parameters
    ----------
    gain : ndarray of float32, (h / 2, w / 2, 3)
        Weight of each channel over the bare paper's light.
    sheet : ndarray of bool, (h, w)
        The light region that is taken for the paper, holes filled, drawn in a little from its
        rim; all true if none was found.
    sheet_found : bool
        Whether a light region stood out from the bench.
    """

    gain: Field
    sheet: Mask
    sheet_found: bool


def ground_of(small: Picture) -> Ground:
    """Return the ground of a small picture, (h, w, 3)."""
    paper = _paper(small)
    sheet, found = _sheet(dimmest(paper))
    light = np.maximum(_smooth_light(paper), MIN_PAPER)
    weights = _ink_colour(small, light, sheet)
    gain = np.asarray(cv2.transform(cv2.divide(1.0, light), np.diag(weights)), np.float32)
    inner = cv2.erode(sheet.astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=1)
    return Ground(gain=gain, sheet=inner > 0, sheet_found=found)


def _paper(small: Picture) -> Picture:
    """Return the bare surface, encoded: narrow dark marks filled up."""
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (FILLED_PX, FILLED_PX))
    filled = cv2.morphologyEx(cv2.medianBlur(small, 3), cv2.MORPH_CLOSE, kernel)
    return np.asarray(filled, np.uint8)


def _smooth_light(paper: Picture) -> Field:
    """Return the paper's light, blurred, on a picture of half the size."""
    half = (-(-paper.shape[1] // 2), -(-paper.shape[0] // 2))
    light = cv2.resize(lights(paper), half, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(light, (0, 0), FILLED_PX / 10), np.float32)


def _sheet(lightest: Picture) -> tuple[Mask, bool]:
    """Return the light region that no sharp step of light crosses, and whether it stands out.

    A sheet ends in a sharp step; shade, soft shadows and creases within it change less.  Holes
    are filled.
    """
    level = cv2.LUT(lightest, np.log(np.maximum(LIGHT, MIN_PAPER)))
    steps = _steps(np.asarray(level, np.float32))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        (steps < STEP).astype(np.uint8), connectivity=4
    )
    some = np.s_[::2, ::2]  # plenty
    known = np.asarray(labels[some], np.intp).ravel()
    count = np.bincount(known, minlength=len(stats))
    light = np.bincount(known, lights(lightest[some]).ravel(), len(stats))
    area = stats[:, cv2.CC_STAT_AREA].astype(float)
    weight = area * (light / np.maximum(count, 1.0)) ** 2
    weight[0] = 0.0  # the steps themselves
    chosen = int(np.argmax(weight))
    share = area[chosen] / lightest.size
    if not MIN_SHEET <= share <= MAX_SHEET:
        return np.ones(lightest.shape, bool), False
    region = cv2.dilate((labels == chosen).astype(np.uint8), np.ones((5, 5), np.uint8))
    outlines, _ = cv2.findContours(region, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = cv2.drawContours(np.zeros(region.shape, np.uint8), outlines, -1, 1, cv2.FILLED)
    return filled > 0, True


def _steps(level: Field) -> Field:
    """Return the change of a level over 4 px, the larger of across and along."""
    wide = cv2.copyMakeBorder(level, 2, 2, 2, 2, cv2.BORDER_REPLICATE)
    across = cv2.absdiff(wide[2:-2, 4:], wide[2:-2, :-4])
    along = cv2.absdiff(wide[4:, 2:-2], wide[:-4, 2:-2])
    return np.asarray(cv2.max(across, along), np.float32)


def _ink_colour(small: Picture, light: Field, sheet: Mask) -> Field:
    """Return the weight of each channel, sum 1: most where the ink takes most of the light.

    The paper's light is that of every second pixel.
    """
    even = np.full(3, 1 / 3, np.float32)
    some = np.s_[::2, ::2]  # plenty
    small, sheet = small[some], sheet[some]
    inner = cv2.erode(sheet.astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=1) > 0
    if not inner.any():
        return even
    left = cv2.divide(lights(small), light)
    red, green, blue = cv2.split(left)
    strongest = 1.0 - np.asarray(cv2.min(cv2.min(red, green), blue), np.float32)
    dark = inner & (strongest > max(float(np.quantile(strongest[inner], 0.99)), FAINTEST))
    if not dark.any():
        return even
    taken = np.maximum(1.0 - left[dark].mean(axis=0), 0.02)
    return np.asarray(taken / taken.sum(), np.float32)

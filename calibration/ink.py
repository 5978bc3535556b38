"""Ink on a sheet: the light evened out, so that bare paper is 0 and ink stands above it.

The camera's encoded values are turned back into light first.  Blur mixes light, so only there
does the half level of a blurred edge lie on the edge; taken on encoded values it moves by half
a pixel into the ink.  The light of the bare paper is what is left when dark marks narrower than
a few millimetres are filled up; dividing by it takes away shade, warm light and shadows' edges.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.photo import Photo

SMALL_PX = 1000  # long side of the picture on which paper is judged; a line is then 1-3 px wide
FILLED_PX = 15  # of the small picture: wider than any pen, narrower than a shadow
MIN_SHEET = 0.04  # of the picture: a smaller light region is not the sheet
MAX_SHEET = 0.97  # of the picture: the sheet fills it
STEP = 0.2  # of the light's logarithm over 4 px of the small picture; a crease makes 0.1
MIN_PAPER = 0.004  # linear light; below it there is only noise to divide by
FAINTEST = 0.06  # darkness; less is paper's grain
FEW_BLOCKS = 20  # with marks: too few to tell two kinds
STRIP_PX = 512  # rows at a time, to keep memory small on 48 megapixels


def _light_table() -> NDArray[np.float32]:
    """Return the light, 0..1, of each encoded value (IEC 61966-2-1, sRGB)."""
    value = np.arange(256) / 255.0
    light = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


LIGHT = _light_table()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ink:
    """The evened darkness of a sheet.

    Parameters
    ----------
    darkness : ndarray of float32, (h, w)
        Share of the paper's light that is missing: 0 on bare paper, near 1 on black ink;
        0 outside `sheet`.
    mask : ndarray of bool, (h, w)
        Likely ink: darker than `threshold`, within the sheet.
    sheet : ndarray of bool, (h, w)
        The light region that is taken for the paper, holes filled; all true if none was found.
    sheet_found : bool
        Whether a light region stood out from the bench.
    threshold : float
        The darkness between what the paper has of itself (grain, rules, grid) and ink.
    noise : float
        One standard deviation of `darkness` on bare paper, per pixel.
    """

    darkness: NDArray[np.float32]
    mask: NDArray[np.bool_]
    sheet: NDArray[np.bool_]
    sheet_found: bool
    threshold: float
    noise: float


def find_ink(photo: Photo) -> Ink:
    """Return the ink of a sheet, whatever its colour and the light on it.

    Parameters
    ----------
    photo : Photo
        The upright picture.

    Returns
    -------
    Ink
        At the picture's full size.
    """
    height, width = photo.rgb.shape[:2]
    small = _shrunk(photo.rgb)
    paper = _paper_light(small)
    sheet_small, found = _sheet(paper)
    paper = np.asarray(cv2.GaussianBlur(paper, (0, 0), FILLED_PX / 5), np.float32)
    sheet = _enlarged(sheet_small, (width, height))
    weights = _ink_colour(small, paper, sheet_small)
    darkness = _darkness(photo.rgb, paper, weights, _box(sheet))
    darkness[~sheet] = 0.0
    noise = _noise(darkness, sheet)
    threshold = _threshold(darkness, sheet, noise)
    mask = darkness > threshold
    return Ink(
        darkness=darkness,
        mask=mask,
        sheet=sheet,
        sheet_found=found,
        threshold=threshold,
        noise=noise,
    )


def _shrunk(rgb: NDArray[np.uint8]) -> NDArray[np.uint8]:
    scale = SMALL_PX / max(rgb.shape[:2])
    if scale >= 1.0:
        return rgb
    size = (max(1, round(rgb.shape[1] * scale)), max(1, round(rgb.shape[0] * scale)))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), np.uint8)


def _paper_light(small: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the light of the bare surface, (h, w, 3): narrow dark marks filled up."""
    light = cv2.LUT(small, LIGHT)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (FILLED_PX, FILLED_PX))
    filled = cv2.morphologyEx(cv2.medianBlur(light, 3), cv2.MORPH_CLOSE, kernel)
    return np.asarray(filled, np.float32)


def _sheet(paper: NDArray[np.float32]) -> tuple[NDArray[np.bool_], bool]:
    """Return the light region that no sharp step of light crosses, and whether it stands out.

    A sheet ends in a sharp step; shade, soft shadows and creases within it change less.  Holes
    are filled.
    """
    lightest = paper.min(axis=2)  # the dimmest channel: paper is light in all three
    steps = _steps(np.log(np.maximum(lightest, MIN_PAPER)))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        (steps < STEP).astype(np.uint8), connectivity=4
    )
    light = np.bincount(labels.ravel(), lightest.ravel(), len(stats))
    area = stats[:, cv2.CC_STAT_AREA].astype(float)
    weight = area * (light / np.maximum(area, 1.0)) ** 2
    weight[0] = 0.0  # the steps themselves
    chosen = int(np.argmax(weight))
    share = area[chosen] / lightest.size
    if not MIN_SHEET <= share <= MAX_SHEET:
        return np.ones(lightest.shape, bool), False
    region = cv2.dilate((labels == chosen).astype(np.uint8), np.ones((5, 5), np.uint8))
    outlines, _ = cv2.findContours(region, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = cv2.drawContours(np.zeros(region.shape, np.uint8), outlines, -1, 1, cv2.FILLED)
    return filled > 0, True


def _steps(level: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the change of a level over 4 px, the larger of across and along."""
    kernel = np.array([[-1.0, 0.0, 0.0, 0.0, 1.0]], np.float32)
    across = cv2.filter2D(level, -1, kernel, borderType=cv2.BORDER_REPLICATE)
    along = cv2.filter2D(level, -1, kernel.T, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(np.maximum(np.abs(across), np.abs(along)), np.float32)


def _enlarged(mask: NDArray[np.bool_], size: tuple[int, int]) -> NDArray[np.bool_]:
    """Return a mask of the small picture at full size, drawn in a little from its rim."""
    inner = cv2.erode(mask.astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=1)
    return cv2.resize(inner, size, interpolation=cv2.INTER_NEAREST) > 0


def _box(mask: NDArray[np.bool_]) -> tuple[slice, slice]:
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return slice(0, mask.shape[0]), slice(0, mask.shape[1])
    return slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)


def _ink_colour(
    small: NDArray[np.uint8], paper: NDArray[np.float32], sheet: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Return the weight of each channel, sum 1: most where the ink takes most of the light."""
    missing = 1.0 - cv2.LUT(small, LIGHT) / np.maximum(paper, MIN_PAPER)
    strongest = missing.max(axis=2)
    inner = cv2.erode(sheet.astype(np.uint8), np.ones((9, 9), np.uint8), borderValue=1) > 0
    if not inner.any():
        return np.full(3, 1 / 3)
    dark = inner & (strongest > max(np.quantile(strongest[inner], 0.99), FAINTEST))
    if not dark.any():
        return np.full(3, 1 / 3)
    taken = np.maximum(missing[dark].mean(axis=0), 0.02).astype(np.float64)
    return np.asarray(taken / taken.sum(), np.float64)


def _darkness(
    rgb: NDArray[np.uint8],
    paper: NDArray[np.float32],
    weights: NDArray[np.float64],
    box: tuple[slice, slice],
) -> NDArray[np.float32]:
    """Return the weighted share of missing light at full size, in the box only."""
    height, width = rgb.shape[:2]
    gain = np.asarray(weights / np.maximum(paper, MIN_PAPER), np.float32)
    scale_x, scale_y = paper.shape[1] / width, paper.shape[0] / height
    left, right = box[1].start, box[1].stop
    darkness = np.zeros((height, width), np.float32)
    columns = ((np.arange(left, right) + 0.5) * scale_x - 0.5).astype(np.float32)
    for top in range(box[0].start, box[0].stop, STRIP_PX):
        bottom = min(top + STRIP_PX, box[0].stop)
        rows = ((np.arange(top, bottom) + 0.5) * scale_y - 0.5).astype(np.float32)
        map_x, map_y = np.meshgrid(columns, rows)
        light = cv2.LUT(np.ascontiguousarray(rgb[top:bottom, left:right]), LIGHT)
        local = cv2.remap(gain, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        total = cv2.transform(cv2.multiply(light, local), np.ones((1, 3), np.float32))
        darkness[top:bottom, left:right] = 1.0 - total
    return darkness


def _noise(darkness: NDArray[np.float32], sheet: NDArray[np.bool_]) -> float:
    """Return one standard deviation on bare paper, from differences of neighbours."""
    step = max(1, sheet.shape[0] // 300)
    rows = np.s_[::step]
    pairs = sheet[rows, 1:] & sheet[rows, :-1]
    if not pairs.any():
        return 0.0
    change = np.abs(darkness[rows, 1:] - darkness[rows, :-1])[pairs]
    return float(np.median(change) / 0.6745 / np.sqrt(2.0))


def _threshold(darkness: NDArray[np.float32], sheet: NDArray[np.bool_], noise: float) -> float:
    """Return the darkness that parts ink from the paper's own marks.

    The darkest place of each small block says what is strongest there: grain, a rule of the
    paper, or a pen.  Two groups apart by far are paper and pen; else all of it is pen.
    """
    darkest, inside = _darkest(darkness, sheet, max(4, round(max(darkness.shape) / 250)))
    least = max(FAINTEST, 5 * noise)
    values = np.clip(darkest[inside & (darkest > least)], 0, 1)
    if len(values) < FEW_BLOCKS:
        return least
    split, low, high = _two_groups(values)
    strongest = high if high > 1.7 * low else float(values.mean())
    return max(least, 0.45 * strongest, min(split, 0.6 * strongest) if high > 1.7 * low else 0)


def _darkest(
    darkness: NDArray[np.float32], sheet: NDArray[np.bool_], block: int
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Return the darkest place of each block, grain averaged, and which lie within the sheet."""
    columns = darkness.shape[1] // block * block
    darkest, inside = [], []
    for top in range(0, darkness.shape[0] - block + 1, block):
        rows = np.s_[top : top + block, :columns]
        shape = (block, columns // block, block)
        smooth = cv2.blur(np.ascontiguousarray(darkness[rows]), (3, 3))
        darkest.append(smooth.reshape(shape).max(axis=(0, 2)))
        inside.append(sheet[rows].reshape(shape).all(axis=(0, 2)))
    if not darkest or not columns:
        return np.zeros((0, 0), np.float32), np.zeros((0, 0), bool)
    return np.stack(darkest), np.stack(inside)


def _two_groups(values: NDArray[np.float32]) -> tuple[float, float, float]:
    """Return the value that parts two groups (least spread within), and the groups' means."""
    eight = (values * 255).astype(np.uint8)
    split, _ = cv2.threshold(eight, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    low, high = values[eight <= split], values[eight > split]
    if not len(low) or not len(high):
        return float(values.max()), float(values.mean()), float(values.mean())
    return float(split) / 255, float(low.mean()), float(high.mean())

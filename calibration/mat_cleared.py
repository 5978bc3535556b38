"""A photo of the printed mat without its own printing, so that only the maker's marks are left.

What is printed thick is filled from what lies round it: with paper where it lies bare, with steel
where steel covers it.  Words are thin: the light round each of their lines closes over them.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.cores import each
from calibration.mat import LINE_MM, Box
from calibration.mat_marks import MatSeen
from calibration.photo import Photo

Points = NDArray[np.float64]
Picture = NDArray[np.uint8]
Patch = tuple[tuple[slice, slice], Picture]

SPREAD_MM, SPREAD_PX = 0.06, 2.0  # ink that ran, and blur, beyond what was asked for
AROUND_MM = 3.0  # from which the light is taken
WORD_MM = 1.2  # wider than the strokes of any letter on the mat
PATCH_PX = 400  # long side on which a patch is filled: its light changes slowly
CELL_MM = 0.4  # least side of a pixel of that
SOFT_MM = 1.2  # over which what lies far from anything known is softened
STRIP_PX = 256  # rows copied at a time
NEAR_PX = 3  # of what was filled, where an edge is not clear of it
KNOWN = 0.5  # of a pixel of that: unprinted, so that its light counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cleared:
    """A photo without the mat's printing.

    Parameters
    ----------
    photo : Photo
    printed : ndarray of uint8, (h, w)
        Not 0 where light was filled in.
    """

    photo: Photo
    printed: Picture

    @property
    def filled(self) -> NDArray[np.bool_]:
        """Where light was filled in, or close by; edges there are not what was seen."""
        around = np.ones((2 * NEAR_PX + 1, 2 * NEAR_PX + 1), np.uint8)
        return np.asarray(cv2.dilate(self.printed, around) > 0, bool)


def cleared(photo: Photo, mat: MatSeen) -> Cleared:
    """Return the photo with the mat's printing taken off.

    Parameters
    ----------
    photo : Photo
        The upright picture.
    mat : MatSeen
        Where the mat is in it.
    """
    rgb = np.empty_like(photo.rgb)
    strips = [slice(top, top + STRIP_PX) for top in range(0, len(rgb), STRIP_PX)]
    each(lambda strip: np.copyto(rgb[strip], photo.rgb[strip]), strips)
    pitch_mm = mat.map.mm_per_px(_middle(mat))
    printed = np.zeros(rgb.shape[:2], np.uint8)
    spread = SPREAD_MM + SPREAD_PX * pitch_mm
    for ring in _rings(mat, _thick(mat), spread):
        cv2.fillConvexPoly(printed, ring, 255, shift=4)
    patches = _patches(printed, AROUND_MM / pitch_mm)

    def fill(patch: Patch) -> None:
        box, own = patch
        _fill(rgb[box], printed[box], own, pitch_mm)

    each(fill, patches)
    for ring in _rings(mat, list(mat.layout.words_mm), 0.0):
        _close(rgb, ring, WORD_MM / pitch_mm)
    return Cleared(photo=dataclasses.replace(photo, rgb=rgb), printed=printed)


def _middle(mat: MatSeen) -> tuple[float, float]:
    x, y = mat.points_px.mean(axis=0).tolist()
    return x, y


def _thick(mat: MatSeen) -> list[Box]:
    """Return the boxes that are printed dark, the bars' lines too."""
    half = LINE_MM / 2
    boxes = list(mat.layout.dark_mm)
    for (ax, ay), (bx, by) in mat.layout.lines_mm:
        boxes.append((ax - half, ay - half, bx + half, by + half))
    return boxes


def _rings(mat: MatSeen, boxes: list[Box], spread_mm: float) -> list[NDArray[np.int32]]:
    """Return the corners of boxes on the page, grown, in sixteenths of a pixel, (4, 2) each."""
    sides = np.array(boxes) + spread_mm * np.array([-1.0, -1.0, 1.0, 1.0])
    corners = sides[:, [[0, 1], [2, 1], [2, 3], [0, 3]]].reshape(-1, 2)
    seen = np.clip(mat.seen_px(corners), -1e6, 1e6)
    return list(np.rint(seen * 16.0).astype(np.int32).reshape(-1, 4, 2))


def _patches(printed: Picture, around_px: float) -> list[Patch]:
    """Return boxes of the picture, with some room, and what is printed in each and in no other."""
    height, width = printed.shape
    step = max(1, round(around_px))
    cells = (math.ceil(width / step), math.ceil(height / step))
    padded = np.zeros((cells[1] * step, cells[0] * step), np.uint8)
    padded[:height, :width] = printed
    held = cv2.resize(padded, cells, interpolation=cv2.INTER_AREA)
    near = cv2.dilate(np.asarray(held > 0, np.uint8), np.ones((3, 3), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(near, connectivity=8)
    patches = []
    for label, (x, y, w, h, _) in enumerate(stats[1:].tolist(), start=1):
        box = np.s_[y * step : (y + h) * step, x * step : (x + w) * step]
        part = (labels[y : y + h, x : x + w] == label).astype(np.uint8)
        part = cv2.resize(part, (w * step, h * step), interpolation=cv2.INTER_NEAREST)
        own = np.asarray(cv2.bitwise_and(padded[box], padded[box], mask=part), np.uint8)
        rows, columns = printed[box].shape
        patches.append((box, own[:rows, :columns]))
    return patches


def _fill(rgb: Picture, printed: Picture, own: Picture, pitch_mm: float) -> None:
    """Fill a patch's own part of what is printed from what is not, in place.

    Each place is as the nearest that is known; far from any, softened, so that an edge that was
    carried on is not taken for one that was seen.
    """
    finer = max(math.ceil(max(printed.shape) / PATCH_PX), round(CELL_MM / pitch_mm), 1)
    size = (math.ceil(printed.shape[1] / finer), math.ceil(printed.shape[0] / finer))
    bare = cv2.bitwise_not(printed)
    share = cv2.resize(bare, size, interpolation=cv2.INTER_AREA)
    known = np.asarray(share >= 255 * KNOWN, bool)
    if not known.any():
        return
    light = cv2.resize(cv2.bitwise_and(rgb, rgb, mask=bare), size, interpolation=cv2.INTER_AREA)
    mask = known.astype(np.uint8)
    weight = cv2.blur(cv2.bitwise_and(share, share, mask=mask).astype(np.float32), (3, 3))
    smooth = cv2.blur(cv2.bitwise_and(light, light, mask=mask).astype(np.float32), (3, 3))
    off, nearest = cv2.distanceTransformWithLabels(
        1 - mask, cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_PIXEL
    )
    source = np.zeros((int(nearest.max()) + 1, 3), np.float32)
    source[nearest[known]] = smooth[known] * (255.0 / weight[known][:, None])
    sharp = source[nearest]
    soft = cv2.GaussianBlur(sharp, (0, 0), SOFT_MM / (finer * pitch_mm))
    far = np.clip(off * (finer * pitch_mm / SOFT_MM), 0.0, 1.0)[..., None]
    filled = np.rint(sharp + far * (soft - sharp)).astype(np.uint8)
    cv2.copyTo(cv2.resize(filled, printed.shape[::-1]), own, rgb)


def _close(rgb: Picture, ring: NDArray[np.int32], wide_px: float) -> None:
    """Close the light over thin dark strokes within a ring, in place."""
    height, width = rgb.shape[:2]
    reach = math.ceil(wide_px) + 2
    left, top = np.maximum(ring.min(axis=0) // 16 - reach, 0).tolist()
    right, bottom = np.minimum(ring.max(axis=0) // 16 + reach, [width, height]).tolist()
    if right - left < 3 or bottom - top < 3:
        return
    part = rgb[top:bottom, left:right]
    within = np.zeros(part.shape[:2], np.uint8)
    cv2.fillConvexPoly(within, ring - np.array([left, top], np.int32) * 16, 1, shift=4)
    side = 2 * math.ceil(wide_px / 2) + 1
    kernel = np.ones((side, side), np.uint8)
    closed = cv2.morphologyEx(part, cv2.MORPH_CLOSE, kernel)
    part[within > 0] = closed[within > 0]

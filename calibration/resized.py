"""Pictures made smaller, pixels averaged, and turned upright."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

# by the orientation of Exif 2.32, tag 0112
_TURNS = {3: cv2.ROTATE_180, 6: cv2.ROTATE_90_CLOCKWISE, 8: cv2.ROTATE_90_COUNTERCLOCKWISE}
_FLIPS = {2: 1, 4: 0}


def cells_of(rgb: NDArray[np.uint8], factor: int) -> NDArray[np.uint8]:
    """Return a picture of cells, each the mean of its pixels."""
    if factor == 1:
        return rgb
    rows, columns = (side // factor for side in rgb.shape[:2])
    return _averaged(rgb[: rows * factor, : columns * factor], (columns, rows))


def at_most(rgb: NDArray[np.uint8], long_px: int) -> NDArray[np.uint8]:
    """Return a picture shrunk to a long side, pixels averaged; itself if it is no longer."""
    height, width = rgb.shape[:2]
    scale = long_px / max(height, width)
    if scale >= 1.0:
        return rgb
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    while rgb.shape[1] >= 2 * size[0] and rgb.shape[0] >= 2 * size[1]:  # by halves: far faster
        rgb = _averaged(rgb, (rgb.shape[1] // 2, rgb.shape[0] // 2))
    return _averaged(rgb, size)


def _averaged(rgb: NDArray[np.uint8], size_px: tuple[int, int]) -> NDArray[np.uint8]:
    return np.asarray(cv2.resize(rgb, size_px, interpolation=cv2.INTER_AREA), np.uint8)


def upright(rgb: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Return a picture turned and mirrored as its orientation tells, in one copy at most."""
    turn, over = _TURNS.get(orientation), _FLIPS.get(orientation)
    if turn is not None:
        rgb = np.asarray(cv2.rotate(rgb, turn), np.uint8)
    elif over is not None:
        rgb = np.asarray(cv2.flip(rgb, over), np.uint8)
    elif orientation == 5:
        rgb = np.asarray(cv2.transpose(rgb), np.uint8)
    elif orientation == 7:
        rgb = np.asarray(cv2.flip(cv2.transpose(rgb), -1), np.uint8)
    return np.ascontiguousarray(rgb)

"""Regions that strokes enclose, and what shape they have."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]

MIN_ROUND = 0.85  # 4 pi area / perimeter^2 of the convex outline; a circle has 1, a square 0.79
MAX_OVAL = 1.25  # longer over shorter side; a nought is taller than wide
STRAIGHT = 0.015  # of its size: a box's sides bow by less, through the lens too
ON_SIDES = 0.95  # of a box's outline; its corners may be rounded


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Region:
    """One region enclosed by thin lines.

    Parameters
    ----------
    filled : ndarray of bool, (h, w)
        The region with everything inside it, up to the middle of its lines.
    outline : ndarray, (N, 2)
        Its outer pixels in order, x and y.
    area : float
        Of `filled`, square pixels.
    rivals : tuple of (x, y)
        A pixel well within each other region that might have been meant.
    frames : tuple of (x, y)
        A pixel between the region and each that holds it and was taken for a frame.
    along_sheet : bool
        Whether it runs along the sheet's edges, as a printed frame does.
    """

    filled: Mask
    outline: NDArray[np.intp]
    area: float
    rivals: tuple[tuple[int, int], ...] = ()
    frames: tuple[tuple[int, int], ...] = ()
    along_sheet: bool = False


def enclosed_regions(lines: Mask) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Label what thin lines enclose.

    Parameters
    ----------
    lines : ndarray of bool, (h, w)
        Lines one pixel wide, without loose ends.

    Returns
    -------
    labels : ndarray of int32, (h, w)
        0 on lines.
    stats : ndarray of int32, (labels, 5)
        Left, top, width, height, area of each label; one that reaches the rim is open.
    """
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        (~lines).astype(np.uint8), connectivity=4
    )
    return np.asarray(labels, np.int32), np.asarray(stats, np.int32)


def open_labels(labels: NDArray[np.int32]) -> set[int]:
    """Return the labels that reach the rim of the picture, and that of the lines."""
    rim = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    return {0, *np.unique(rim).tolist()}


def region_of(labels: NDArray[np.int32], label: int) -> Region:
    """Return one labelled region with its holes filled."""
    contours, _ = cv2.findContours(
        (labels == label).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    outline = max(contours, key=len).reshape(-1, 2)
    filled = cv2.drawContours(np.zeros(labels.shape, np.uint8), [outline], -1, 1, cv2.FILLED)
    return Region(
        filled=filled > 0, outline=outline.astype(np.intp), area=float(np.count_nonzero(filled))
    )


def middle_of(filled: Mask) -> tuple[tuple[int, int], float]:
    """Return the pixel, x and y, that lies farthest within what is filled, and how far."""
    depth = cv2.distanceTransform(filled.astype(np.uint8), cv2.DIST_L2, 3)
    y, x = np.unravel_index(int(np.argmax(depth)), depth.shape)
    return (int(x), int(y)), float(depth[y, x])


def holds(region: Region, places: Points | NDArray[np.intp]) -> bool:
    """Return whether all places lie within a region."""
    column, row = np.rint(places).astype(int).T
    height, width = region.filled.shape
    seen = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    return bool(seen.all() and region.filled[row, column].all())


def is_round(region: Region) -> bool:
    """Return whether a region is as round as a drilled hole, seen from aside too."""
    hull = cv2.convexHull(region.outline.astype(np.int32))
    area, around = cv2.contourArea(hull), cv2.arcLength(hull, closed=True)
    if around <= 0 or 4 * np.pi * area / around**2 < MIN_ROUND or region.area < 0.9 * area:
        return False
    sides = cv2.minAreaRect(hull)[1]
    return min(sides) > 0 and max(sides) / min(sides) < MAX_OVAL


def is_box(region: Region) -> bool:
    """Return whether a region has four straight sides, seen from aside too."""
    outline = region.outline.astype(np.int32)[:, None]
    size = float(np.sqrt(region.area))
    corners = cv2.approxPolyDP(outline, 2.0 * STRAIGHT * size, closed=True)
    if len(corners) != 4 or not cv2.isContourConvex(corners):
        return False
    sides = np.ones(region.filled.shape, np.uint8)
    cv2.polylines(sides, [corners], isClosed=True, color=0, thickness=1)
    off = cv2.distanceTransform(sides, cv2.DIST_L2, 3)[region.outline[:, 1], region.outline[:, 0]]
    return float(np.mean(off <= max(2.0, STRAIGHT * size))) > ON_SIDES

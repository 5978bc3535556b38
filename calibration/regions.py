"""Regions that strokes enclose, and the one among them that is the piece."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.thinning import without_loose_ends

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]

MIN_AREA = 0.004  # of the sheet; a letter's loop on a whole sheet takes less
FRAME_SHARE = 0.25  # a region holding another of this share of its area is a frame round it
LEAST_SHARE = 0.03  # the same where a reference lies between them; a drilled hole is smaller
RIVAL_SHARE = 0.1  # of the largest region's area: may be what was meant
BESIDE_PX = 4  # to either side of a reference line, past its own thin stroke
AVOIDED_SHARE = 0.7  # of a region's outline lying on a reference: it is the reference


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
    """

    filled: Mask
    outline: NDArray[np.intp]
    area: float
    rivals: tuple[tuple[int, int], ...] = ()


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


def piece_region(
    lines: Mask, *, sheet_area: float, inside: tuple[int, int] | None, avoid: Sequence[Points]
) -> Region | None:
    """Return the region that is the piece, or None.

    Parameters
    ----------
    lines : ndarray of bool, (h, w)
        Thinned strokes.
    sheet_area : float
        Square pixels of the sheet.
    inside : tuple of int, optional
        A pixel, x and y, within the piece.
    avoid : sequence of ndarray, (N, 2)
        Lines and polygons of the references, pixels.
    """
    closed = without_loose_ends(lines)
    labels, stats = enclosed_regions(closed)
    dividing = _dividing(labels, [each for each in avoid if len(each) == 2])
    if (closed & dividing).any():
        labels, stats = enclosed_regions(without_loose_ends(closed & ~dividing))
    if inside is not None:
        return _region_at(labels, inside)
    outside = open_labels(labels)
    areas = stats[:, cv2.CC_STAT_AREA]
    large = [
        label
        for label in np.argsort(-areas).tolist()
        if label not in outside and areas[label] >= MIN_AREA * sheet_area
    ]
    candidates = [region_of(labels, label) for label in large[:8]]
    candidates = [each for each in candidates if not _is_reference(each, avoid)]
    candidates = [each for each in candidates if not _frames_another(each, candidates, avoid)]
    if not candidates:
        return None
    largest = max(candidates, key=lambda each: each.area)
    rivals = tuple(
        middle_of(each)
        for each in candidates
        if each is not largest
        and each.area > RIVAL_SHARE * largest.area
        and not _holds(largest, each.outline)
    )
    return dataclasses.replace(largest, rivals=rivals)


def middle_of(region: Region) -> tuple[int, int]:
    """Return the pixel of a region, x and y, that lies farthest within it."""
    depth = cv2.distanceTransform(region.filled.astype(np.uint8), cv2.DIST_L2, 3)
    y, x = np.unravel_index(int(np.argmax(depth)), depth.shape)
    return int(x), int(y)


def _dividing(labels: NDArray[np.int32], drawn: Sequence[Points]) -> Mask:
    """Return where reference lines run through what is enclosed: they divide no piece.

    Parameters
    ----------
    labels : ndarray of int32, (h, w)
        Of what the lines enclose.
    drawn : sequence of ndarray, (2, 2)
        The ends of the reference lines.
    """
    taken = np.zeros(labels.shape, bool)
    outside = list(open_labels(labels))
    for a, b in drawn:
        length = float(np.hypot(*(b - a)))
        along = (b - a) / max(length, 1.0)
        aside = np.array([-along[1], along[0]])
        way = a + np.arange(0.0, length, 0.5)[:, None] * along
        enclosed = np.ones(len(way), bool)
        for reach in (-float(BESIDE_PX), float(BESIDE_PX)):
            column, row = np.rint(way + reach * aside).astype(int).T
            row, column = row.clip(0, labels.shape[0] - 1), column.clip(0, labels.shape[1] - 1)
            enclosed &= ~np.isin(labels[row, column], outside)
        clear = np.ones(2 * BESIDE_PX + 1)  # as far from the trace that it crosses
        enclosed = np.convolve(enclosed, clear, "same") == len(clear)
        for reach in np.arange(0.5 - BESIDE_PX, BESIDE_PX, 0.5).tolist():
            column, row = np.rint(way[enclosed] + reach * aside).astype(int).T
            taken[row, column] = True
    return taken


def _region_at(labels: NDArray[np.int32], inside: tuple[int, int]) -> Region | None:
    x, y = inside
    if not (0 <= x < labels.shape[1] and 0 <= y < labels.shape[0]):
        return None
    near = labels[max(y - 3, 0) : y + 4, max(x - 3, 0) : x + 4]
    label = int(labels[y, x]) or int(near.max())
    if label in open_labels(labels):
        return None
    return region_of(labels, label)


def _is_reference(region: Region, avoid: Sequence[Points]) -> bool:
    """Return whether most of a region's outline runs along one reference."""
    for reference in avoid:
        if len(reference) < 3:
            continue
        drawn = np.zeros(region.filled.shape, np.uint8)
        width = max(3, int(0.06 * np.sqrt(region.area)))
        corners = [np.round(reference).astype(np.int32)]
        cv2.polylines(drawn, corners, isClosed=True, color=1, thickness=width)
        on_it = drawn[region.outline[:, 1], region.outline[:, 0]] > 0
        if on_it.mean() > AVOIDED_SHARE:
            return True
    return False


def _frames_another(region: Region, others: Sequence[Region], avoid: Sequence[Points]) -> bool:
    """Return whether another region lies within this one, and this one is a frame round it.

    It is if the other is large, or if a reference was drawn between the two: a maker draws that
    beside the piece.
    """
    for other in others:
        if other.area >= region.area or not _holds(region, other.outline):
            continue
        share = other.area / region.area
        between = any(_holds(region, one) and not _holds(other, one) for one in avoid)
        if share > FRAME_SHARE or (share > LEAST_SHARE and between):
            return True
    return False


def _holds(region: Region, places: Points | NDArray[np.intp]) -> bool:
    """Return whether all places lie within a region."""
    column, row = np.rint(places).astype(int).T
    height, width = region.filled.shape
    seen = (column >= 0) & (column < width) & (row >= 0) & (row < height)
    return bool(seen.all() and region.filled[row, column].all())

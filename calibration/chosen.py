"""The region among those that strokes enclose that is the piece: no reference, no frame."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.regions import (
    Mask,
    Points,
    Region,
    enclosed_regions,
    holds,
    is_box,
    is_round,
    middle_of,
    open_labels,
    region_of,
)
from calibration.thinning import without_loose_ends

MIN_AREA = 0.004  # of the sheet; a letter's loop on a whole sheet takes less
BOXED_SHARE = 0.25  # of a straight box: what takes more of it was drawn into the box
TWICE_SHARE = 0.5  # of a region: a line in it that encloses more is its own, drawn again
SAME_STROKE = 0.05  # of the region's size: no farther off, the line round it is the same stroke
RIVAL_SHARE = 0.1  # of the region's area: may be what was meant
SHEET_SHARE = 0.5  # of the sheet: a frame along its edges encloses more
EDGE_BAND = 0.24  # of the depth of the sheet's middle: so near its edges they are run along
ALONG = 0.6  # of a frame's outline; a form has a broad field at one side, or at two
COARSE = 4  # every so many pixels tell where the sheet ends
BESIDE_PX = 4  # to either side of a reference line, past its own thin stroke
AVOIDED_SHARE = 0.7  # of a region's outline lying on a reference: it is the reference


def near_edges(sheet: Mask) -> Mask:
    """Return where the edges of a sheet, or of its picture, are near."""
    some = np.pad(sheet[::COARSE, ::COARSE].astype(np.uint8), 1)
    depth = cv2.distanceTransform(some, cv2.DIST_L2, cv2.DIST_MASK_3)[1:-1, 1:-1]
    near = (depth < EDGE_BAND * depth.max()).astype(np.uint8)
    size = (sheet.shape[1], sheet.shape[0])
    return np.asarray(cv2.resize(near, size, interpolation=cv2.INTER_NEAREST) > 0)


def piece_region(
    lines: Mask,
    *,
    sheet_area: float,
    near_edges: Mask,
    inside: tuple[int, int] | None,
    avoid: Sequence[Points],
) -> Region | None:
    """Return the region that is the piece, or None.

    Parameters
    ----------
    lines : ndarray of bool, (h, w)
        Thinned strokes.
    sheet_area : float
        Square pixels of the sheet.
    near_edges : ndarray of bool, (h, w)
        Where the sheet's edges are near.
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
        pointed = _region_at(labels, inside)
        return None if pointed is None else _told_along(pointed, sheet_area, near_edges)
    outside = open_labels(labels)
    areas = stats[:, cv2.CC_STAT_AREA]
    least = MIN_AREA * sheet_area
    large = [
        label
        for label in np.argsort(-areas).tolist()
        if label not in outside and areas[label] >= least
    ]
    candidates = [region_of(labels, label) for label in large[:8]]
    candidates = [each for each in candidates if not _is_reference(each, avoid)]
    candidates = [_told_along(each, sheet_area, near_edges) for each in candidates]
    return _chosen(candidates, avoid) if candidates else None


def _chosen(candidates: Sequence[Region], avoid: Sequence[Points]) -> Region:
    """Return the largest region that is no frame, and what else might have been meant."""
    frames = [each for each in candidates if _frames_another(each, candidates)]
    rest = [each for each in candidates if not any(each is frame for frame in frames)]
    piece = max(rest, key=lambda each: each.area)
    rivals = [
        each
        for each in rest
        if each is not piece
        and each.area > RIVAL_SHARE * piece.area
        and not (is_round(each) and _lies_within(each, piece) and not _between(each, piece, avoid))
    ]
    return dataclasses.replace(
        piece,
        rivals=tuple(middle_of(each.filled)[0] for each in rivals),
        frames=tuple(
            place
            for place, apart in (
                middle_of(each.filled & ~piece.filled)
                for each in frames
                if _lies_within(piece, each)
            )
            if apart > SAME_STROKE * np.sqrt(piece.area)
        ),
    )


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
        if length < BESIDE_PX * 2:  # too short to run through anything
            continue
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


def _frames_another(region: Region, others: Sequence[Region]) -> bool:
    """Return whether a region is a frame round another one.

    It is if it runs along the sheet's edges, if the other one is most of it (a trace drawn twice,
    a broad stroke pale in its middle), or if it is a straight box and the other one fills much of
    it.  What is round may be a hole, and what is as straight as the box a window.
    """
    within = [each for each in others if _lies_within(each, region) and not is_round(each)]
    if region.along_sheet or any(each.area > TWICE_SHARE * region.area for each in within):
        return bool(within)
    filling = [each for each in within if each.area > BOXED_SHARE * region.area]
    return bool(filling) and is_box(region) and not all(is_box(each) for each in filling)


def _told_along(region: Region, sheet_area: float, near_edges: Mask) -> Region:
    """Return the region, and whether it runs along the sheet's edges."""
    near = near_edges[region.outline[:, 1], region.outline[:, 0]]
    along = region.area > SHEET_SHARE * sheet_area and near.mean() > ALONG
    return dataclasses.replace(region, along_sheet=bool(along))


def _lies_within(region: Region, other: Region) -> bool:
    return region.area < other.area and holds(other, region.outline)


def _between(region: Region, other: Region, avoid: Sequence[Points]) -> bool:
    """Return whether a reference was drawn within the other one, beside the region."""
    return any(holds(other, one) and not holds(region, one) for one in avoid)

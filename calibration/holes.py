"""Drilled holes traced inside the piece, told from the loops of letters."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.lines import Lines
from calibration.regions import Region, enclosed_regions, is_round, open_labels, region_of
from calibration.subpixel import Edge, stroke_edge
from calibration.thinning import Mask, without_loose_ends

Points = NDArray[np.float64]

MIN_WIDTHS = 4.0  # a hole's diameter in widths of the stroke; no pen fits in a smaller one
MAX_SHARE = 0.2  # of the piece's area
ROOM = 0.6  # of the diameter that stays free of other strokes round a hole


def drilled_holes(
    ink: Ink, lines: Lines, piece: Region, *, edge: Edge, mm_per_px: float | None = None
) -> list[tuple[Points, NDArray[np.float64]]]:
    """Return the edges of traced holes and their sigmas, full picture's pixels.

    A hole is traced from within, so the steel's edge is the far side of its stroke.

    Parameters
    ----------
    ink : Ink
        The full picture.
    lines : Lines
        Its lines.
    piece : Region
        The piece, at working size.
    edge : {"inner", "middle", "outer"}
        The side of the outline's stroke that is the steel; outer takes a hole's inner side.
    mm_per_px : float, optional
        Scale of the full picture at the piece.
    """
    within = cv2.erode(piece.filled.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    labels, stats = enclosed_regions(without_loose_ends(lines.thin & within))
    outside = open_labels(labels)
    width = lines.width_px / lines.factor
    least = (MIN_WIDTHS * width) ** 2 * np.pi / 4
    found = []
    for label in range(1, len(stats)):
        area = stats[label, cv2.CC_STAT_AREA]
        if label in outside or not least < area < MAX_SHARE * piece.area:
            continue
        loop = region_of(labels, label)
        if is_round(loop) and _stands_alone(loop, lines.ink & within, width):
            hole = _hole_edge(ink, lines, loop, edge, mm_per_px)
            if hole is not None:
                found.append(hole)
    return found


def _stands_alone(loop: Region, mask: Mask, width: float) -> bool:
    """Return whether no other stroke lies round the loop, as the next letters would."""
    size = float(np.sqrt(4 * loop.area / np.pi))
    left, top = loop.outline.min(axis=0)
    right, bottom = loop.outline.max(axis=0) + 1
    own = int(np.ceil(1.5 * width)) + 1
    room = own + int(ROOM * size)
    box = (
        slice(max(0, top - room), bottom + room),
        slice(max(0, left - room), right + room),
    )
    filled = loop.filled[box].astype(np.uint8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * own + 1, 2 * own + 1))
    others = mask[box] & (cv2.dilate(filled, disc) == 0)
    return int(np.count_nonzero(others)) <= 0.02 * filled.size


def _hole_edge(
    ink: Ink, lines: Lines, loop: Region, edge: Edge, mm_per_px: float | None
) -> tuple[Points, NDArray[np.float64]] | None:
    box, filled = lines.enlarged(loop.filled, loop.outline, ink.darkness.shape)
    darkness = ink.darkness.within(box)
    far = stroke_edge(darkness, filled, width_px=lines.width_px, far=True, mm_per_px=mm_per_px)
    if far is None:
        return None
    corner = np.array([box[1].start, box[0].start], float)
    return far.side(edge) + corner, far.sigma_px(ink.noise)

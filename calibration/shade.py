"""Telling a photo of the steel itself from one of its trace: steel is darker than the paper."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.light import mean_light
from calibration.photo import Photo

CLEAR_MM = 2.0  # kept from the edge on both sides: ink, side faces, the hand
RING_MM = 8.0  # as far out the paper is looked at
RIM_PX = 1.5  # of the small picture: the places compared lie that close beyond the edge
STEEL_SHARE = 0.6  # of the paper's light: a trace returns all of it, ground steel 0.34, scale 0.1


def looks_like_steel(
    photo: Photo, ink: Ink, outer_px: NDArray[np.float64], mm_per_px: float
) -> bool:
    """Return whether the inside of a contour is much darker than the paper round it.

    Parameters
    ----------
    photo : Photo
    ink : Ink
        Of the same photo; only its sheet is used.
    outer_px : ndarray, shape (N, 2)
        The contour.
    mm_per_px : float
        Scale at the contour.
    """
    size = (photo.small.shape[1], photo.small.shape[0])
    factor = max(photo.rgb.shape[:2]) / max(size)
    clear, wide = (mm / mm_per_px / factor for mm in (CLEAR_MM, RING_MM))
    ring = np.rint(outer_px / factor).astype(np.int32)
    low = np.maximum(ring.min(axis=0) - math.ceil(2.5 * wide) - 2, 0)
    right, bottom = ring.max(axis=0) + math.ceil(2.5 * wide) + 3
    box = (slice(low[1], bottom), slice(low[0], right))
    sheet = cv2.resize(ink.sheet.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)[box]
    light = mean_light(photo.small[box])
    piece = cv2.fillPoly(np.zeros(light.shape, np.uint8), [ring - low], 1)
    into, out = (cv2.distanceTransform(part, cv2.DIST_L2, 5) for part in (piece, 1 - piece))
    rim = (out > 0) & (out < RIM_PX)
    within, without = (
        _local_mean(light, band, 4 * math.ceil(wide))[rim]
        for band in (into > clear, (out > clear) & (out <= wide) & (sheet > 0))
    )
    seen = np.isfinite(within) & np.isfinite(without)
    return bool(seen.any() and np.median(within[seen] / without[seen]) < STEEL_SHARE)


def _local_mean(
    light: NDArray[np.float32], band: NDArray[np.bool_], side_px: int
) -> NDArray[np.float32]:
    """Return the mean light of a band round each pixel, so that shade falls on both; or NaN."""
    weight = band.astype(np.float32)
    reach = (side_px, side_px)
    share = np.asarray(cv2.blur(weight, reach))
    total = np.asarray(cv2.blur(light * weight, reach))
    few = 1.0 / (reach[0] * reach[1])  # less than a pixel of the band: rounding
    return np.where(share > few, total / np.maximum(share, few), np.nan).astype(np.float32)

"""How far the edges of a picture are spread, each judged by its own step of light.

An edge between two tones, blurred by a normal curve of deviation s, is steepest in its middle:
there it climbs by the tones' difference / (s sqrt(2 pi)) a pixel.  A line that is much thinner
than the blur climbs faster, and tells two thirds of s.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Mask = NDArray[np.bool_]

REACH_PX = 12  # to either side of an edge, where its two tones are looked for
LEAST_STEP = 8.0  # of 255, between an edge's two tones; grain has less
STRONGEST = 0.001  # share of the picture that the strongest steps are
STRONG = 0.35  # of the strongest: what is far weaker is grain or a shadow
STRAIGHT = 2.0  # times as steep across as along: an edge that lies straight across
SHARPEST = 0.2  # share of the edges that say how sharp the picture is
FEWEST = 20  # edges that tell it


def strongest_step(grey: Grey) -> float:
    """Return how far apart the tones of a picture's strongest edges are, of 255."""
    calm = _calm(grey)
    return max(_strongest(_steps(calm, axis)) for axis in (0, 1))


def spreads_px(grey: Grey, near: Mask | None = None) -> tuple[float | None, float | None]:
    """Return the deviation over which the sharpest edges are spread, across and down, pixels.

    Parameters
    ----------
    grey : ndarray of uint8, (h, w)
    near : ndarray of bool, (h, w), optional
        Where the edges lie that count; everywhere if left out.

    Returns
    -------
    tuple of float or None
        None where too few edges lie that way.
    """
    calm = _calm(grey)
    down, across = (_rises(calm, axis) for axis in (0, 1))
    everywhere = np.ones(grey.shape, bool) if near is None else near
    return (
        _spread_px(calm, across, down, everywhere, axis=1),
        _spread_px(calm, down, across, everywhere, axis=0),
    )


def _calm(grey: Grey) -> Grey:
    """Return the picture with single odd pixels taken out."""
    return np.asarray(cv2.medianBlur(grey, 3), np.uint8)


def _along(axis: int, reach_px: int) -> Grey:
    """Return a window of that reach along an axis of a picture."""
    size = 2 * reach_px + 1
    return np.ones((size, 1) if axis == 0 else (1, size), np.uint8)


def _steps(grey: Grey, axis: int) -> Grey:
    """Return the difference of the lightest and the darkest tone within reach along an axis."""
    window = _along(axis, REACH_PX)
    return np.asarray(cv2.subtract(cv2.dilate(grey, window), cv2.erode(grey, window)), np.uint8)


def _strongest(steps: Grey) -> float:
    return float(np.quantile(steps, 1.0 - STRONGEST)) if steps.size else 0.0


def _rises(grey: Grey, axis: int) -> Grey:
    """Return by how much the tone changes from each pixel to the next along an axis."""
    rises = np.zeros_like(grey)
    here, there = (slice(None, -1), slice(1, None))
    if axis == 0:
        rises[here] = cv2.absdiff(grey[here], grey[there])
    else:
        rises[:, here] = cv2.absdiff(grey[:, here], grey[:, there])
    return rises


def _spread_px(grey: Grey, rises: Grey, others: Grey, near: Mask, *, axis: int) -> float | None:
    """Return the deviation of the sharpest edges along an axis; None if there are too few."""
    steps = _steps(grey, axis)
    least = max(LEAST_STEP, STRONG * _strongest(steps[near]))
    steepest = cv2.dilate(rises, _along(axis, REACH_PX)) == rises
    straight = rises > STRAIGHT * others.astype(np.float32)
    edges = near & steepest & straight & (steps > least)
    if np.count_nonzero(edges) < FEWEST:
        return None
    spread = steps[edges] / (math.sqrt(2.0 * math.pi) * rises[edges].astype(float))
    return float(np.quantile(spread, SHARPEST))

"""Inner corners of the mat's chequer, measured as saddles of the light between dark squares."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.mat import MatLayout

Points = NDArray[np.float64]
Grey = NDArray[np.uint8]

QUADRANT = 0.06  # of a square's side from its corner: bare or dark paper, before any marker
WINDOW = 0.12  # of the same: half the window in which a saddle is measured
LEAST_WINDOW_PX, MOST_WINDOW_PX = 5, 12
ASTRAY = 0.08  # of the same: a saddle farther from where it should be is another
BLUNT = 0.35  # of the usual contrast between dark and bare: less is half covered
STEADY_PX = 0.005  # of a saddle's place, from one round to the next
ROUNDS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Guess:
    """Where an inner corner should be seen.

    Parameters
    ----------
    index : int
        Which corner of the layout.
    point_px : ndarray, (2,)
    across : ndarray, (2, 2)
        How the picture moves there with a step on the page, px for mm.
    """

    index: int
    point_px: Points
    across: Points


def measured(grey: Grey, layout: MatLayout, guesses: list[Guess]) -> tuple[list[int], Points]:
    """Return the corners that are there and clear: their numbers and pixels, (N, 2).

    Parameters
    ----------
    grey : ndarray of uint8, (h, w)
        The whole picture.
    layout : MatLayout
    guesses : list of Guess
    """
    side = layout.square_mm
    kept, points, contrasts = [], [], []
    for guess in guesses:
        side_px = float(np.sqrt(abs(np.linalg.det(guess.across)))) * side
        point = _saddle(grey, guess.point_px, side_px)
        if point is None or np.hypot(*(point - guess.point_px)) > ASTRAY * side_px + 0.5:
            continue
        step = guess.across * (QUADRANT * side)
        contrast = _contrast(grey, point, step, rising=layout.rising[guess.index])
        kept.append(guess.index)
        points.append(point)
        contrasts.append(contrast)
    if not points:
        return [], np.empty((0, 2))
    clear = np.array(contrasts) > max(BLUNT * float(np.median(contrasts)), 0.0)
    return [k for k, good in zip(kept, clear, strict=True) if good], np.array(points)[clear]


def _saddle(grey: Grey, guess: Points, side_px: float) -> Points | None:
    """Return the saddle of the light near a place, None if that is not within the picture.

    A small window is enlarged, so that slopes taken over whole pixels stay within it.
    """
    reach = WINDOW * side_px
    room = int(ASTRAY * side_px + reach) + 4
    height, width = grey.shape
    left, top = (int(each) - room for each in guess)
    if left < 0 or top < 0 or left + 2 * room >= width or top + 2 * room >= height:
        return None
    part = grey[top : top + 2 * room + 1, left : left + 2 * room + 1]
    finer = max(1, math.ceil(LEAST_WINDOW_PX / reach))
    if finer > 1:
        part = np.asarray(cv2.resize(part, None, fx=finer, fy=finer, interpolation=cv2.INTER_CUBIC))
    half = min(round(reach * finer), MOST_WINDOW_PX)
    ends = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, ROUNDS, STEADY_PX)
    start = ((guess - (left, top) + 0.5) * finer - 0.5).astype(np.float32).reshape(1, 1, 2)
    found = cv2.cornerSubPix(part, start, (half, half), (-1, -1), ends)
    return (np.asarray(found, float).reshape(2) + 0.5) / finer - 0.5 + (left, top)


def _contrast(grey: Grey, point: Points, step: Points, *, rising: bool) -> float:
    """Return how much lighter the two bare quadrants are than the two dark ones.

    The least light and the least dark of them count; below zero where it is not as it should be.
    """
    corners = np.array([[1.0, 1.0], [-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0]]) @ step.T
    at = (point + corners).astype(np.float32)
    light = cv2.remap(grey, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR)[0].astype(float)
    dark, bare = (light[:2], light[2:]) if rising else (light[2:], light[:2])
    return float(bare.min() - dark.max())

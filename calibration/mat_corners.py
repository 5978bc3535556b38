"""Inner corners of the mat's chequer, measured by laying the printed pattern on the picture.

Where two dark squares meet, all that is printed around is known: the edges of squares and markers.
It is blurred as the picture is and shifted until it fits, so that blur moves no corner.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.mat import MatLayout

Points = NDArray[np.float64]
Grey = NDArray[np.uint8]
Cells = NDArray[np.float32]

REACH = 0.7  # of a square's side from its corner: what is laid on the picture
CELLS = 36  # that across
ASTRAY = 0.2  # of a square's side: a corner farther from where it should be is another
FITS = 0.8  # of the light's variance that the pattern explains where nothing covers it
BLUNT = 0.35  # of the usual contrast between dark and bare: less is half covered
ROUNDS = 12  # of shifting
STEADY = 0.005  # of a cell, from one round to the next
SAME_BLUR = 0.02  # of a cell's square: no need to blur the pattern anew
BLUR = 0.4, 5.0  # cells; the least and most that a picture is blurred by
FIRST_BLUR = 3.0  # cells: wide, so that a pattern that is far off is drawn in
ENOUGH, WIDER = 4, 2.0  # corners that tell the picture's blur, and times that for the rest


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Laid:
    """How a pattern fits: its corner's pixel, dark to bare in levels, blur, share explained."""

    point_px: Points
    contrast: float
    blur: float
    explained: float


def measured(
    grey: Grey, layout: MatLayout, guesses: list[Guess], blur: float = FIRST_BLUR
) -> tuple[list[int], Points, float]:
    """Return the corners that are there and clear, their numbers and pixels, and their blur.

    Parameters
    ----------
    grey : ndarray of uint8, (h, w)
        The whole picture.
    layout : MatLayout
    guesses : list of Guess
    blur : float
        Roughly that of the picture, in cells, where it is known and the guesses are good.

    Returns
    -------
    numbers : list of int
    points_px : ndarray, (N, 2)
    blur : float
        The usual one.
    """
    kept, found = list[int](), list[_Laid]()
    for guess in guesses:
        if len(found) == ENOUGH:
            blur = min(blur, WIDER * float(np.median([laid.blur for laid in found])))
        laid = _laid(grey, layout, guess, blur)
        side_px = math.sqrt(abs(np.linalg.det(guess.across))) * layout.square_mm
        if laid is None or laid.explained < FITS:
            continue
        if math.dist(laid.point_px, guess.point_px) <= ASTRAY * side_px + 0.5:
            kept.append(guess.index)
            found.append(laid)
    if not found:
        return [], np.empty((0, 2)), blur
    contrasts = np.array([laid.contrast for laid in found])
    clear = contrasts > max(BLUNT * float(np.median(contrasts)), 0.0)
    points = np.array([laid.point_px for laid in found])[clear]
    usual = float(np.median([laid.blur for laid in found]))
    return [k for k, good in zip(kept, clear, strict=True) if good], points, usual


def _laid(grey: Grey, layout: MatLayout, guess: Guess, blur: float) -> _Laid | None:
    """Return how the pattern round a corner fits the picture, None if that is not within it.

    Gauss's and Newton's way over the light of dark and bare, its slopes, the shift and the blur.
    """
    step_mm = 2.0 * REACH * layout.square_mm / CELLS
    part, corner_px, scale = _part(grey, guess, step_mm)
    if part is None:
        return None
    pattern, grid = _pattern(layout, guess.index), _grid()
    across = guess.across * (step_mm * scale)
    cells_px = corner_px[:, None] + across @ grid
    shift, blur2, laid_blur2 = np.zeros(2), blur**2, 0.0
    for _ in range(ROUNDS):
        x, y = (cells_px + (across @ shift)[:, None]).astype(np.float32)
        light = cv2.remap(part, x[None], y[None], cv2.INTER_LINEAR)[0].astype(float)
        if abs(blur2 - laid_blur2) > SAME_BLUR:
            laid_blur2 = blur2
            made_of = _made_of(pattern, grid, math.sqrt(blur2))
            inverse = np.linalg.inv(made_of @ made_of.T)
        numbers = inverse @ (made_of @ light)
        contrast = numbers[0] or 1e-9
        move = np.clip(numbers[4:6] / contrast, -2.0, 2.0)
        more = np.clip(numbers[6] / contrast, -3.0, 3.0)
        blur2 = float(np.clip(laid_blur2 + more, *np.square(BLUR)))
        shift = shift + move
        if np.hypot(*move) < STEADY:
            break
    left = light - numbers @ made_of
    explained = 1.0 - float(left.var()) / max(float(light.var()), 1e-9)
    point = guess.point_px + guess.across @ shift * step_mm
    contrast = float(numbers[0])
    return _Laid(point_px=point, contrast=contrast, blur=math.sqrt(blur2), explained=explained)


def _part(grey: Grey, guess: Guess, step_mm: float) -> tuple[Grey | None, Points, float]:
    """Return the picture round a corner, where that is in it, and its pixels over the picture's.

    No finer than the cells, each the mean of what it holds.
    """
    cells_px = np.abs(guess.across).sum(axis=1) * step_mm
    room = np.ceil(cells_px * (0.5 * CELLS + 4.0)).astype(int) + 2
    low, high = (
        np.rint(guess.point_px).astype(int) - room,
        np.rint(guess.point_px).astype(int) + room,
    )
    height, width = grey.shape
    if (low < 0).any() or high[0] >= width or high[1] >= height:
        return None, guess.point_px, 1.0
    coarse = max(1, int(math.sqrt(abs(np.linalg.det(guess.across))) * step_mm))
    size = (high - low) // coarse * coarse
    part = grey[low[1] : low[1] + size[1], low[0] : low[0] + size[0]]
    if coarse > 1:
        small = (int(size[0]) // coarse, int(size[1]) // coarse)
        part = np.asarray(cv2.resize(part, small, interpolation=cv2.INTER_AREA), np.uint8)
    return part, (guess.point_px - low + 0.5) / coarse - 0.5, 1.0 / coarse


def _made_of(pattern: Cells, grid: Points, blur: float) -> Points:
    """Return what the light is made of, (7, N).

    Pattern, paper, its slopes, shifts, and further blur.
    """
    seen = cv2.GaussianBlur(pattern, (0, 0), blur, borderType=cv2.BORDER_REPLICATE)
    first = (pattern.shape[0] - CELLS) // 2
    before, here, after = (slice(k, k + CELLS) for k in (first - 1, first, first + 1))
    parts = np.ones((7, CELLS, CELLS))
    parts[0] = seen[here, here]
    parts[2:4] = grid.reshape(2, CELLS, CELLS)
    parts[4] = 0.5 * (seen[here, before] - seen[here, after])
    parts[5] = 0.5 * (seen[after, here] - seen[before, here])
    parts[6] = 0.5 * cv2.Laplacian(seen, cv2.CV_32F)[here, here]
    return parts.reshape(7, -1)


@functools.cache
def _grid() -> Points:
    """Return the cells' middles from the corner, in cells, x right and y up, (2, N)."""
    along = np.arange(CELLS) + 0.5 - 0.5 * CELLS
    x, y = np.meshgrid(along, -along)
    return np.stack([x.ravel(), y.ravel()])


@functools.lru_cache(maxsize=256)
def _pattern(layout: MatLayout, index: int) -> Cells:
    """Return the share of bare paper in each cell round a corner, and in a margin for blur."""
    margin = round(2.0 * BLUR[1])
    count = CELLS + 2 * margin
    step_mm = 2.0 * REACH * layout.square_mm / CELLS
    x, y = layout.corners_mm[index]
    boxes = (_dark(layout) - (x, y, x, y)) / step_mm + 0.5 * count
    boxes = boxes[(boxes[:, 2:] > 0).all(axis=1) & (boxes[:, :2] < count).all(axis=1)]
    cells = np.arange(count)

    def covered(low: Points, high: Points) -> Points:
        ends = np.minimum(high[:, None], cells + 1.0) - np.maximum(low[:, None], cells)
        share: Points = np.clip(ends, 0.0, 1.0)
        return share

    dark = np.einsum(
        "kj,ki->kji", covered(boxes[:, 1], boxes[:, 3]), covered(boxes[:, 0], boxes[:, 2])
    )
    bare: Cells = (1.0 - dark.max(axis=0)[::-1]).astype(np.float32)
    return bare


@functools.lru_cache(maxsize=4)
def _dark(layout: MatLayout) -> Points:
    return np.array(layout.dark_mm)

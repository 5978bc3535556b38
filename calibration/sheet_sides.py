"""The step from paper to bench along one side of a sheet, place by place to a fraction of a pixel.

Profiles across the side show where the light falls most steeply.  Where it comes back close
beyond, there is paper on both sides: a pen's line, and no edge.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from calibration.light import dimmest, lights
from calibration.profiles import smooth_curve
from calibration.rings import sampled

Points = NDArray[np.float64]

PARTS = 8  # that a side is read in
STATIONS = 240  # profiles across each side
MIN_SEEN = 0.2  # of a side that must be seen as a clean step
ENDS = 0.02  # of a side left out at each corner, where two edges blur into each other
STEP_CLEAR = 0.12  # of the paper's light that the step must take
BEYOND = 0.02  # of the picture's long side: looked at past an edge; any pen line ends before
PAPER_AGAIN = 0.92  # of the paper's light; what is that light close beyond a fall is paper


def side_points(rgb: NDArray[np.uint8], a: Points, b: Points, reach_px: float) -> Points:
    """Return the step on each of STATIONS profiles across a side, (n, 2); nan where unclear."""
    along = (b - a) / math.dist(a, b)
    outward = np.array([-along[1], along[0]])  # corners run counter-clockwise as seen, y down
    places = a + np.linspace(ENDS, 1.0 - ENDS, STATIONS)[:, None] * (b - a)
    coarse = _steps(rgb, places, along, outward, reach_px, max(1.0, reach_px / 16.0))
    smooth, kept = smooth_curve(coarse, 0.35 * reach_px)
    if kept.sum() < MIN_SEEN * STATIONS:
        return np.full((STATIONS, 2), np.nan)
    places = places + smooth[:, None] * outward
    fine = _steps(rgb, places, along, outward, max(7.0, 0.5 * reach_px), 0.5)
    fine[_strokes_there(rgb, places, along, outward)] = np.nan
    return np.asarray(places + fine[:, None] * outward, float)


def _strokes_there(
    rgb: NDArray[np.uint8], places: Points, along: Points, outward: Points
) -> NDArray[np.bool_]:
    """Return where the light comes back beyond a fall: there is paper on both sides of a stroke."""
    far = max(12.0, BEYOND * max(rgb.shape[:2]))
    offsets = np.concatenate([np.linspace(-far, -0.3 * far, 8), np.linspace(-3.0, far, 40)])
    breadth = np.linspace(-2.0, 2.0, 5)  # averaged along the edge against grain
    grid = (
        places[:, None, None]
        + offsets[None, :, None, None] * outward
        + breadth[None, None, :, None] * along
    )
    light = _median_along(_light_at(rgb, grid).mean(axis=2))
    paper = np.median(light[:, :8], axis=1, keepdims=True)
    dark = np.minimum.accumulate(light[:, 8:], axis=1)
    back = light[:, 8:] - dark > 0.5 * (paper - dark)
    fallen = dark < (1.0 - STEP_CLEAR) * paper
    return np.asarray((fallen & back & (light[:, 8:] > PAPER_AGAIN * paper)).any(axis=1))


def _median_along(light: Points) -> Points:
    """Return profiles (n, m), each the median of its neighbours along the edge."""
    padded = np.pad(light, ((4, 4), (0, 0)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 9, axis=0)
    return np.asarray(np.median(windows, axis=-1), float)


def _steps(
    rgb: NDArray[np.uint8],
    places: Points,
    along: Points,
    outward: Points,
    reach_px: float,
    step_px: float,
) -> Points:
    """Return how far outward of each place the light falls most steeply, px; nan if nowhere."""
    offsets = np.arange(-reach_px, reach_px + 0.5 * step_px, step_px)
    breadth = np.linspace(-2.0, 2.0, 5) * step_px  # averaged along the edge against grain
    grid = (
        places[:, None, None]
        + offsets[None, :, None, None] * outward
        + breadth[None, None, :, None] * along
    )
    light = _light_at(rgb, grid).mean(axis=2)
    far = _corners(grid).reshape(len(grid), -1, 2)
    inside = ((far >= 0) & (far <= (rgb.shape[1] - 1, rgb.shape[0] - 1))).all(axis=(1, 2))
    steps = _steepest(light, offsets)
    steps[~inside] = np.nan
    return steps


def _light_at(rgb: NDArray[np.uint8], places: Points) -> Points:
    """Return the light of the dimmest channel at places (n, m, k, 2) along a side."""
    parts = np.array_split(places, PARTS)  # a slanting side in one box would take in half a sheet
    return np.concatenate([_light_in_box(rgb, part) for part in parts])


def _corners(grid: Points) -> Points:
    """Return the outermost places (N, 2) of each station's even grid (n, m, k, 2)."""
    return grid[:, [0, 0, -1, -1], [0, -1, 0, -1]].reshape(-1, 2)


def _light_in_box(rgb: NDArray[np.uint8], places: Points) -> Points:
    corners = _corners(places)
    low = np.maximum(np.floor(corners.min(axis=0)).astype(int) - 2, 0)
    high = np.ceil(corners.max(axis=0)).astype(int) + 3
    part = rgb[low[1] : high[1], low[0] : high[0]]
    if not part.size:
        return np.zeros(places.shape[:-1])
    return sampled(lights(dimmest(part)), places - low)


def _steepest(light: Points, offsets: Points) -> Points:
    """Return the offset of the steepest fall of each profile (n, m), nan where it is no step."""
    fall = light[:, :-1] - light[:, 1:]
    middle = 0.5 * (offsets[:-1] + offsets[1:])
    peak = fall.argmax(axis=1)
    rows = np.arange(len(light))
    half = 3 if len(middle) > 12 else 2
    window = peak[:, None] + np.arange(-half, half + 1)
    good = (window >= 0).all(axis=1) & (window < len(middle)).all(axis=1)
    window = np.clip(window, 0, len(middle) - 1)
    weights = np.maximum(fall[rows[:, None], window], 0.0)
    weights = np.where(weights > 0.15 * weights.max(axis=1, keepdims=True), weights, 0.0)
    total = weights.sum(axis=1)
    paper = np.quantile(light, 0.9, axis=1)
    good &= total > STEP_CLEAR * np.maximum(paper, 1e-3)
    return np.where(good, (weights * middle[window]).sum(axis=1) / np.maximum(total, 1e-9), np.nan)

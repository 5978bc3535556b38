"""The step from paper to bench along one side of a sheet, place by place to a fraction of a pixel.

Profiles across the side show where the light falls most steeply.  Where it comes back close
beyond, there is paper on both sides: a pen's line, and no edge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.light import dimmest, lights
from calibration.profiles import smooth_curve
from calibration.rings import sampled

Points = NDArray[np.float64]
Field = NDArray[np.float32]
Picture = NDArray[np.uint8]

PARTS = 8  # that a side is read in
EVENLY = np.full(5, 0.2)  # weights of the places along the edge that a profile is the mean of
ASIDE = 2  # of every second station to either side: a profile is compared with those
STATIONS = 240  # profiles across each side
MIN_SEEN = 0.2  # of a side that must be seen as a clean step
ENDS = 0.02  # of a side left out at each corner, where two edges blur into each other
STEP_CLEAR = 0.12  # of the paper's light that the step must take
BEYOND = 0.02  # of the picture's long side: looked at past an edge; any pen line ends before
PAPER_AGAIN = 0.92  # of the paper's light; what is that light close beyond a fall is paper


@dataclass(frozen=True, kw_only=True, eq=False)
class _Beside:
    """The light of the dimmest channel beside a side, made once for all that is asked of it.

    In parts along the side: a slanting one in one box would take in half a sheet.
    """

    parts: tuple[tuple[Points, Field], ...]

    @classmethod
    def of(cls, rgb: Picture, places: Points, reach_px: float) -> _Beside:
        """Return the light within reach of places (n, 2) along a side."""
        return cls(
            parts=tuple(
                _light_in_box(rgb, part.min(axis=0) - reach_px, part.max(axis=0) + reach_px)
                for part in np.array_split(places, PARTS)
            )
        )

    def at(self, places: Points) -> Points:
        """Return the light at places (n, m, k, 2), the n evenly along the side."""
        shares = np.array_split(places, PARTS)
        return np.concatenate(
            [
                sampled(light, share - low) if light.size else np.zeros(share.shape[:-1])
                for (low, light), share in zip(self.parts, shares, strict=True)
            ]
        )


def _light_in_box(rgb: Picture, low: Points, high: Points) -> tuple[Points, Field]:
    left, top = np.maximum(np.floor(low).astype(int), 0)
    right, bottom = np.maximum(np.ceil(high).astype(int) + 1, 0)
    part = rgb[top:bottom, left:right]
    light = lights(dimmest(part)) if part.size else np.zeros((0, 0), np.float32)
    return np.array([left, top], float), light


def side_points(rgb: Picture, a: Points, b: Points, reach_px: float) -> Points:
    """Return the step on each of STATIONS profiles across a side, (n, 2); nan where unclear."""
    along = (b - a) / math.dist(a, b)
    outward = np.array([-along[1], along[0]])  # corners run counter-clockwise as seen, y down
    places = a + np.linspace(ENDS, 1.0 - ENDS, STATIONS)[:, None] * (b - a)
    far = max(12.0, BEYOND * max(rgb.shape[:2]))
    beside = _Beside.of(rgb, places, far + 2.0 * reach_px)
    coarse = _steps(beside, places, along, outward, reach_px, max(1.0, reach_px / 16.0))
    coarse[_off_picture(rgb, places, reach_px)] = np.nan
    smooth, kept = smooth_curve(coarse, 0.35 * reach_px)
    if kept.sum() < MIN_SEEN * STATIONS:
        return np.full((STATIONS, 2), np.nan)
    places = places + smooth[:, None] * outward
    near = max(7.0, 0.5 * reach_px)
    fine = _steps(beside, places, along, outward, near, 0.5)
    fine[_off_picture(rgb, places, near)] = np.nan
    fine[_strokes_there(beside, places, along, outward, far)] = np.nan
    return np.asarray(places + fine[:, None] * outward, float)


def _off_picture(rgb: Picture, places: Points, reach_px: float) -> NDArray[np.bool_]:
    """Return which places lie nearer to the picture's rim than profiles across them reach."""
    size = (rgb.shape[1] - 1, rgb.shape[0] - 1)
    return np.asarray(((places < reach_px) | (places > np.subtract(size, reach_px))).any(axis=1))


def _grid(
    places: Points, offsets: Points, along: Points, outward: Points, wide_px: float
) -> Points:
    """Return places (n, m, k, 2) across a side at offsets (m,), k along it against grain."""
    breadth = np.linspace(-wide_px, wide_px, len(EVENLY))
    way = offsets[:, None, None] * outward + breadth[:, None] * along
    return np.asarray(places[:, None, None] + way)


def _strokes_there(
    beside: _Beside, places: Points, along: Points, outward: Points, far_px: float
) -> NDArray[np.bool_]:
    """Return where the light comes back beyond a fall: there is paper on both sides of a stroke.

    Every second place tells for the one beside it.
    """
    places = places[::2]
    offsets = np.concatenate(
        [np.linspace(-far_px, -0.3 * far_px, 8), np.linspace(-3.0, far_px, 40)]
    )
    light = _median_along(beside.at(_grid(places, offsets, along, outward, 2.0)) @ EVENLY)
    paper = np.median(light[:, :8], axis=1, keepdims=True)
    dark = np.minimum.accumulate(light[:, 8:], axis=1)
    back = light[:, 8:] - dark > 0.5 * (paper - dark)
    fallen = dark < (1.0 - STEP_CLEAR) * paper
    there = (fallen & back & (light[:, 8:] > PAPER_AGAIN * paper)).any(axis=1)
    return np.repeat(there, 2)


def _median_along(light: Points) -> Points:
    """Return profiles (n, m), each the median of its neighbours along the edge."""
    padded = np.pad(light, ((ASIDE, ASIDE), (0, 0)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * ASIDE + 1, axis=0)
    return np.asarray(np.partition(windows, ASIDE, axis=-1)[..., ASIDE], float)


def _steps(
    beside: _Beside,
    places: Points,
    along: Points,
    outward: Points,
    reach_px: float,
    step_px: float,
) -> Points:
    """Return how far outward of each place the light falls most steeply, px; nan if nowhere."""
    offsets = np.arange(-reach_px, reach_px + 0.5 * step_px, step_px)
    light = beside.at(_grid(places, offsets, along, outward, 2.0 * step_px)) @ EVENLY
    return _steepest(light, offsets)


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

"""The darkness at which the true edge of a blurred stroke lies, from profiles across it.

A stroke is taken for a box of width w and darkness D, blurred by s (one standard deviation).  Its
profile's area is D w whatever the blur; its height is D erf(w / (2 sqrt(2) s)); its steepest rise
tells s.  Where w is more than about three s the three numbers follow from these three measures.
Below that every profile looks like the blur alone, and only another place helps: a pen is as dark
where a shaking hand blurred its line along as where it blurred it across.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.rings import median_along

Values = NDArray[np.float64]

STEP_PX = 0.5  # along the profile across a stroke
BEFORE_PX = 4.0  # of bare paper at the start of each profile
MAX_GAIN = 2.0  # of the darkness shown: a line that blur weakens more is not understood
HALO = -0.008  # of a stroke's darkness: a blur alone never leaves the paper beside it brighter than
# the rest, so that what is brighter by more than eight bits round to was sharpened
ROUNDS, SHARPENED_ROUNDS = 3, 2  # each nears the blur by about half; see `_own_darkness`
MIN_BLUR_PX, MAX_BLUR_PX = 0.3, 6.0
TELLS = (2.5, 4.5)  # widths of the blur: below the first a profile does not tell D, above it does
PEN_VARIES = 0.02  # of a pen's darkness, where the profile tells it; two grey levels of a dark one
UNTOLD = 0.25  # of the darkness, where no profile tells it
LIGHTEST, DARKEST = 0.94, 0.97  # of what shows, for its noise; of all inks
CHOICES = 81  # of the darkness
SPARSE = 4  # every so many places are enough: along a stroke little changes
PEN_MM, PEN_SPREAD = 0.45, 0.4  # a thin line's width and its spread, a share (usual; no source)
PEN_DARK, PEN_DARK_SPREAD = 0.7, 0.3  # pencil and red 0.4, black ball pens 0.9 (the same)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokeLight:
    """What profiles along a closed stroke say; every field is (N,).

    Parameters
    ----------
    level : ndarray
        Darkness where the true edge is.
    width_px : ndarray
        True width of the stroke.
    slope : ndarray
        Darkness per pixel across the edge.
    doubt_px : ndarray
        One standard deviation of the edge's place, because the stroke's darkness is not known.
    """

    level: Values
    width_px: Values
    slope: Values
    doubt_px: Values


def stroke_light(profile: Values, *, mm_per_px: float | None = None) -> StrokeLight:
    """Return what profiles, (N, T), round a closed stroke say.

    They start on bare paper, `BEFORE_PX` before the edge, in steps of `STEP_PX`.  Where the scale
    is known, what pens are like is weighed in.
    """
    count, profile = len(profile), profile[::SPARSE]
    paper = np.median(profile[:, : round(2.0 / STEP_PX)], axis=1)
    above = profile - paper[:, None]
    height, area, slope = (median_along(each, stride=1, step=1) for each in _shape(above))
    height, slope = np.maximum(height, 1e-6), np.maximum(slope, 1e-3)
    beside = above[:, round(1.0 / STEP_PX) : round(3.5 / STEP_PX)].min(axis=1)
    sharpened = float(np.median(beside / height)) < HALO
    dark, spans = _own_darkness(height, area, slope, SHARPENED_ROUNDS if sharpened else ROUNDS)
    low, high = TELLS
    told = np.clip((spans - low) / (high - low), 0.0, 1.0)
    weight = spans**4
    pen = float((weight * dark).sum() / weight.sum())
    dark = np.clip(np.where(dark < pen, told * dark + (1.0 - told) * pen, dark), height, None)
    dark = np.minimum(dark, MAX_GAIN * height)
    share = told * PEN_VARIES + (1.0 - told) * UNTOLD
    width, doubt = _likely_width(height, area, dark, share, mm_per_px)
    least = area / np.maximum(DARKEST, height)  # of a line as black as any: no pen's is thinner
    doubt = np.maximum(doubt, 0.5 * (1.0 - told) * (width - least))  # that is two deviations off
    dark = area / width
    spans = np.interp(height / dark, _SHOWN, _SPANS)
    paper = median_along(paper, stride=1, step=1)
    level = paper + dark * np.interp(spans, _SPANS, _AT_EDGE)
    places, sparse = np.arange(count), np.arange(0, count, SPARSE)
    level, width, slope, doubt = (
        np.interp(places, sparse, each, period=count) for each in (level, width, slope, 0.5 * doubt)
    )
    return StrokeLight(level=level, width_px=width, slope=slope, doubt_px=doubt)


def _likely_width(
    height: Values, area: Values, dark: Values, share: Values, mm_per_px: float | None
) -> tuple[Values, Values]:
    """Return the mean and the standard deviation of the width, weighed over every darkness.

    The darkness is between what shows and that of the blackest ink.  For it speak what the profile
    tells, `dark` to a share of itself, and how wide and how dark pens' lines are.
    """
    top = np.maximum(DARKEST, 1.02 * height)
    low = LIGHTEST * height
    choice = low[:, None] + np.linspace(0.0, 1.0, CHOICES) * (top - low)[:, None]
    width = area[:, None] / choice
    off = (np.log(choice / dark[:, None]) / share[:, None]) ** 2
    if mm_per_px is not None:
        wide = (np.log(width * (mm_per_px / PEN_MM)) / PEN_SPREAD) ** 2
        off += 2.0 * np.log1p(wide)  # a Cauchy curve: markers are far wider
        off += ((choice - PEN_DARK) / PEN_DARK_SPREAD) ** 2
    weight = np.exp(-0.5 * (off - off.min(axis=1)[:, None]))
    weight /= weight.sum(axis=1)[:, None]
    mean = (weight * width).sum(axis=1)
    spread = np.sqrt((weight * (width - mean[:, None]) ** 2).sum(axis=1))
    return mean, spread


def _shape(profile: Values) -> tuple[Values, Values, Values]:
    """Return height, area (px) and steepest rise (per px) of the first stroke in each profile."""
    start = round(BEFORE_PX / STEP_PX)
    peak = start + np.argmax(
        profile[:, start:] >= 0.98 * profile[:, start:].max(axis=1)[:, None], axis=1
    )
    height = np.take_along_axis(profile, peak[:, None], axis=1)[:, 0]
    index = np.arange(profile.shape[1])[None, :]
    ended = (index > peak[:, None]) & (profile < 0.12 * height[:, None])
    stop = np.where(ended.any(axis=1), ended.argmax(axis=1), profile.shape[1])
    counted = np.where(index < stop[:, None], np.maximum(profile, 0.0), 0.0)
    rise = np.where(index[:, 1:] <= peak[:, None], np.diff(profile, axis=1), 0.0).max(axis=1)
    return height, counted.sum(axis=1) * STEP_PX, rise / STEP_PX


def _own_darkness(
    height: Values, area: Values, slope: Values, rounds: int
) -> tuple[Values, Values]:
    """Return the darkness that each profile tells by itself, and its width in blurs.

    D comes from height and area, given s, and s from the steepest rise, given D; each round brings
    both nearer.  Sharpening takes light from the foot of a profile and steepens its rise: area and
    blur come out too small, each round feeds that back, and the last one would do more harm than
    good (by trial on rendered lines; no source).
    """
    dark, spans = height, np.full_like(height, 9.0)
    for _ in range(rounds):
        blur_px = np.interp(spans, _SPANS, _RISE) * dark / slope
        blur_px = np.clip(blur_px, MIN_BLUR_PX, MAX_BLUR_PX)
        spans = np.interp(area / height / blur_px, _SPANS / _SHOWN, _SPANS)
        dark = np.clip(height / np.interp(spans, _SPANS, _SHOWN), height, MAX_GAIN * height)
    return dark, spans


def _normal(x: Values) -> Values:
    return np.asarray(np.exp(-0.5 * x**2) / np.sqrt(2.0 * np.pi))


def _erf(x: Values) -> Values:
    """Return the error function for x >= 0 to 2e-4.

    After Winitzki, A handy approximation for the error function and its inverse (2008).
    """
    square = x**2
    return np.asarray(
        np.sqrt(1.0 - np.exp(-square * (4 / np.pi + 0.147 * square) / (1 + 0.147 * square)))
    )


def _rise(spans: Values) -> Values:
    """Return the steepest rise of a box of darkness 1 and these widths, all in blurs."""
    places = np.linspace(-3.0, 0.5, 141)[:, None]
    return np.asarray((_normal(places) - _normal(places - spans)).max(axis=0))


_SPANS = np.linspace(0.2, 12.0, 400)  # width of a stroke in standard deviations of the blur
_SHOWN = _erf(_SPANS / np.sqrt(8.0))  # share of the darkness that its middle shows
_AT_EDGE = 0.5 * _erf(_SPANS / np.sqrt(2.0))  # and its edge
_RISE = _rise(_SPANS)

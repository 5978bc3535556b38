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
HALO = -0.008  # of a stroke's darkness: paper beside it brighter than that was sharpened
ROUNDS, SHARPENED_ROUNDS = 3, 2
MIN_BLUR_PX, MAX_BLUR_PX = 0.3, 6.0
TELLS = (2.5, 4.5)  # widths of the blur: below the first a profile does not tell D, above it does
PEN_VARIES = 0.02  # of a pen's darkness, where the profile tells it
UNTOLD = 0.25  # of the darkness, where no profile tells it


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


def stroke_light(profile: Values) -> StrokeLight:
    """Return what profiles, (N, T), round a closed stroke say.

    They start on bare paper, `BEFORE_PX` before the edge, in steps of `STEP_PX`.
    """
    paper = np.median(profile[:, : round(2.0 / STEP_PX)], axis=1)
    above = profile - paper[:, None]
    height, area, slope = (median_along(each) for each in _shape(above))
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
    spans = np.interp(height / dark, _SHOWN, _SPANS)
    width = area / dark
    share = told * PEN_VARIES + (1.0 - told) * UNTOLD
    return StrokeLight(
        level=median_along(paper) + dark * np.interp(spans, _SPANS, _AT_EDGE),
        width_px=width,
        slope=slope,
        doubt_px=0.5 * width * share,
    )


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
    both nearer.  The light of a picture that was sharpened is no box blurred, and the paper beside
    the line is too bright; there fewer rounds serve, and more run away.
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

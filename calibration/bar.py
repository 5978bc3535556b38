"""A pen's stand-off from the trace of a straight bar whose width is known."""

from __future__ import annotations

import math

import numpy as np

from calibration.capture import Capture
from calibration.pens import Pen, measured_pen
from calibration.sizes import CALIPERS_MM
from geometry.calipers import mean_width
from geometry.errors import InputError

UNEVEN_MM = 0.4  # standard deviation of the width along a bar; no hand wobbles so much


def pen_from_bar(found: Capture, *, name: str, width_mm: float, thickness_mm: float | None) -> Pen:
    """Return what a pen stands off.

    Parameters
    ----------
    found : Capture
        Of the trace of the bar, nothing taken off.
    name : str
        What the maker calls the pen.
    width_mm : float
        Of the bar, by calipers, > 0.
    thickness_mm : float, optional
        Of the bar.

    Raises
    ------
    InputError
        If the trace is not that of a bar, or no pen stands off so far.
    """
    try:
        width = mean_width(found.billet.shape)
    except InputError as error:  # no jaw finds an edge where a bar's would be
        raise _no_bar("its sides are not straight") from error
    if width.scatter_mm > UNEVEN_MM:
        raise _no_bar(f"its width varies by {width.scatter_mm:.1f} mm")
    ends_px = found.calibration.map.to_px(width.middle_mm)
    pitch_mm = found.calibration.map.mm_per_px(tuple(ends_px.mean(axis=0).tolist()))
    ink_mm = float(np.median(found.contour.sigma_px)) * pitch_mm
    doubts = (
        width.scatter_mm / math.sqrt(width.count),
        found.calibration.map.length_sigma_mm(ends_px),
        math.sqrt(2.0) * ink_mm,
    )
    return measured_pen(
        name,
        traced_mm=width.value_mm,
        traced_sigma_mm=math.hypot(*doubts),
        true_mm=width_mm,
        true_sigma_mm=CALIPERS_MM,
        thickness_mm=thickness_mm,
        edge=found.edge,
        beyond_mm=found.contour.beyond_px * pitch_mm,
    )


def _no_bar(why: str) -> InputError:
    return InputError(
        f"the trace is not that of a bar: {why}.",
        where="Pen",
        remedy="Trace a straight bar of even width, all round.",
    )

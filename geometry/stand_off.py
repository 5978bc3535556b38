"""How far a pen's line lies outside the steel that it is led along.

A pen has a body: led along a thick plate it touches at the plate's upper corner, and its tip
meets the paper some way out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.errors import InputError

TIP_RADIUS_MM, HALF_ANGLE_DEG = 0.35, 10.0  # a ball pen, where it meets the paper; practice
MAX_THICKNESS_MM = 200.0

# What pens do, one standard deviation round it.  Practice: the inner edge of a ball pen's ink
# is 0.2 to 0.3 outside of thin steel; cones of 10 to 12 degrees are led upright or leaning out.
THIN_MM, THIN_SIGMA_MM = 0.2, 0.15
SLOPE, SLOPE_SIGMA = 0.10, 0.07  # per mm of thickness: tan of 0 to 12 degrees
LEAN_RAD = math.radians(1.5)  # a hand leads the same pen again at the same lean to about this
UNTOLD_MM = 3.0  # how far apart two thicknesses are, if one of them is not told


@dataclass(frozen=True, slots=True, kw_only=True)
class Offset:
    """How much too large a trace is, all round.

    Parameters
    ----------
    value_mm : float
        From the steel's edge to the measured one; positive outward.
    sigma_mm : float
        One standard deviation, >= 0.
    """

    value_mm: float
    sigma_mm: float


ANY_OFFSET = Offset(value_mm=0.5, sigma_mm=0.5)  # steel of up to 6 mm or so


def stand_off_mm(
    thickness_mm: float,
    *,
    tilt_deg: float = 0.0,
    tip_radius_mm: float = TIP_RADIUS_MM,
    half_angle_deg: float = HALF_ANGLE_DEG,
) -> float:
    """Return how far outside the steel's edge a pen's line runs.

    Parameters
    ----------
    thickness_mm : float
        Of the steel, 0 to 200.
    tilt_deg : float
        How far the pen's top leans away from the steel; negative: over it.
    tip_radius_mm : float
        Of the tip where it meets the paper, >= 0.
    half_angle_deg : float
        Of the pen's cone, 0 to 60; `half_angle_deg - tilt_deg` below 80.

    Raises
    ------
    InputError
        If a value is outside its range.

    Notes
    -----
    ``r + t tan(alpha - tilt)`` while the cone is steeper than the lean, else ``r``: then the
    tip itself touches.

    Examples
    --------
    >>> [round(stand_off_mm(6.35, tilt_deg=tilt), 3) for tilt in (0, 5, 10, 20, -5)]
    [1.47, 0.906, 0.35, 0.35, 2.051]
    """
    usable = (
        0.0 <= thickness_mm <= MAX_THICKNESS_MM
        and tip_radius_mm >= 0.0
        and 0.0 <= half_angle_deg <= 60.0
        and half_angle_deg - tilt_deg < 80.0
    )
    if not usable:
        raise InputError(
            f"a pen of {tip_radius_mm:g} mm and {half_angle_deg:g} degrees that leans by "
            f"{tilt_deg:g} degrees along {thickness_mm:g} mm of steel cannot be reckoned.",
            where="Pen",
            remedy="Check the thickness and the angles.",
        )
    lean_rad = math.radians(half_angle_deg - tilt_deg)
    return tip_radius_mm + thickness_mm * math.tan(max(lean_rad, 0.0))


def expected_offset(thickness_mm: float | None) -> Offset:
    """Return the offset of a trace whose pen was never measured; any steel, if not told."""
    if thickness_mm is None:
        return ANY_OFFSET
    return Offset(
        value_mm=THIN_MM + SLOPE * thickness_mm,
        sigma_mm=math.hypot(THIN_SIGMA_MM, SLOPE_SIGMA * thickness_mm),
    )


def offset_at(
    measured: Offset, *, measured_at_mm: float | None, used_at_mm: float | None
) -> Offset:
    """Return what an offset measured along one thickness of steel is along another.

    Parameters
    ----------
    measured : Offset
        Of the same pen in the same hand.
    measured_at_mm, used_at_mm : float, optional
        The two thicknesses; None: not told, and taken to be the other.

    Notes
    -----
    The formula's ``tan(alpha - tilt)`` is what of the measured offset is left beyond that of
    thin steel, over the thickness; it is averaged, by their doubts, with what is usual.  What
    the thickness adds or takes is that slope times the difference.  The hand leans a little
    differently each time, which counts the more the thicker the steel.

    Examples
    --------
    >>> pen = Offset(value_mm=1.3, sigma_mm=0.1)
    >>> same = offset_at(pen, measured_at_mm=6.35, used_at_mm=6.35)
    >>> round(same.value_mm, 3), round(same.sigma_mm, 2)
    (1.3, 0.2)
    """
    if measured_at_mm is None or used_at_mm is None:
        told_mm = measured_at_mm or used_at_mm or 0.0
        slope, sigma = _slope(measured, told_mm)
        change_mm, change_sigma_mm = 0.0, UNTOLD_MM * math.hypot(slope, sigma)
        along_mm = told_mm or UNTOLD_MM
    else:
        slope, sigma = _slope(measured, measured_at_mm)
        change_mm = slope * (used_at_mm - measured_at_mm)
        change_sigma_mm = sigma * abs(used_at_mm - measured_at_mm)
        along_mm = used_at_mm
    lean_mm = along_mm * LEAN_RAD * (1.0 + slope**2)  # d tan(a) = (1 + tan(a)^2) da
    return Offset(
        value_mm=measured.value_mm + change_mm,
        sigma_mm=math.hypot(measured.sigma_mm, change_sigma_mm, lean_mm),
    )


def _slope(measured: Offset, thickness_mm: float) -> tuple[float, float]:
    """Return the offset's growth per mm of thickness, and its deviation."""
    if thickness_mm <= 0.0:
        return SLOPE, SLOPE_SIGMA
    seen = (measured.value_mm - THIN_MM) / thickness_mm
    seen_weight = (thickness_mm / math.hypot(THIN_SIGMA_MM, measured.sigma_mm)) ** 2
    usual_weight = SLOPE_SIGMA**-2
    weight = seen_weight + usual_weight
    slope = (seen * seen_weight + SLOPE * usual_weight) / weight
    return max(slope, 0.0), weight**-0.5

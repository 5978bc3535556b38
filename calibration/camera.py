"""A camera over a sheet: from pixels to millimetres on the sheet and back.

All functions take the camera's numbers as (..., P): a stack of cameras is looked through in one
call.  Those of the sheet's bend may follow; places are then those of
the sheet as laid flat.  The picture's y points down, the sheet's y up: it turns here and nowhere
else.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.bend import BEND, height_mm, laid_flat, standing

Points = NDArray[np.float64]

#: The numbers of a camera over a sheet, in the order of `SheetMap.parameters`.
#: tilt_x, tilt_y  rotation vector of the tilt, rad
#: roll            turn of the sheet in the picture, rad, counter-clockwise as seen
#: log_distance    of the lens from the sheet along the optical axis, mm, natural logarithm
#: x, y            where the optical axis meets the sheet, mm
#: log_focal       focal length, px, natural logarithm
#: centre_x, _y    offset of the optical axis from the picture's centre, px
#: k1, k2          radial distortion: a point at radius r (in focal lengths) is seen at
#:                 r (1 + k1 r^2 + k2 r^4)
CAMERA = (
    "tilt_x",
    "tilt_y",
    "roll",
    "log_distance",
    "x",
    "y",
    "log_focal",
    "centre_x",
    "centre_y",
    "k1",
    "k2",
)
STEPS = np.array([1e-6, 1e-6, 1e-6, 1e-6, 1e-3, 1e-3, 1e-6, 1e-2, 1e-2, 1e-6, 1e-6])
BENT_STEPS = np.array([*STEPS, *[1e-5] * len(BEND)])

_UNROLL_ROUNDS = 12  # of Newton's method at most; each doubles the digits
_BENT_ROUNDS = 12  # of a ray to a bent sheet; each leaves a fifth or less
_TURN_Y = np.diag([1.0, -1.0, -1.0])  # sheet axes (y up, z to the lens) to camera axes


def back_project(
    numbers: Points, middle_px: tuple[float, float], points_px: ArrayLike, plane_mm: float = 0.0
) -> Points:
    """Return (..., N, 2) places, mm, where the rays of (N, 2) pixels meet the plane."""
    seen = np.asarray(points_px, float).reshape(-1, 2) - middle_px - numbers[..., None, 7:9]
    seen = seen / np.exp(numbers[..., 6])[..., None, None]
    straight = _undistorted(seen, numbers[..., 9, None], numbers[..., 10, None])
    turn = _to_camera(numbers)
    rays = straight @ turn[..., :2, :] + turn[..., 2:, :]
    lens = _lens(numbers, turn)
    per_mm = rays[..., :2] / rays[..., 2:]  # how a ray moves aside as it rises
    level = lens[..., None, :2] + (plane_mm - lens[..., 2])[..., None, None] * per_mm
    bend = numbers[..., len(CAMERA) :]
    if not bend.shape[-1]:
        return level
    middle = numbers[..., None, 4:6]
    places = level
    for _ in range(_BENT_ROUNDS):
        places = level + height_mm(bend, places - middle)[..., None] * per_mm
    return middle + laid_flat(bend, places - middle)


def project(
    numbers: Points, middle_px: tuple[float, float], points_mm: ArrayLike, plane_mm: float = 0.0
) -> Points:
    """Return (..., N, 2) pixels in which (N, 2) places, mm, on the plane are seen."""
    flat = np.asarray(points_mm, float).reshape(-1, 2)
    turn = _to_camera(numbers)
    heights = np.full(len(flat), plane_mm)
    bend, middle = numbers[..., len(CAMERA) :], numbers[..., None, 4:6]
    if bend.shape[-1]:
        off = standing(bend, flat - middle)
        flat, heights = middle + off, heights + height_mm(bend, off)
    places = np.concatenate([flat, heights[..., None]], axis=-1)
    camera = (places - _lens(numbers, turn)[..., None, :]) @ np.swapaxes(turn, -1, -2)
    straight = camera[..., :2] / camera[..., 2:]
    r2 = (straight**2).sum(axis=-1)
    stretch = 1.0 + numbers[..., 9, None] * r2 + numbers[..., 10, None] * r2**2
    seen: Points = (stretch * np.exp(numbers[..., 6])[..., None])[..., None] * straight
    return seen + middle_px + numbers[..., None, 7:9]


def lens_place(numbers: Points) -> Points:
    """Return the lens in the sheet's frame, mm, (..., 3)."""
    return _lens(numbers, _to_camera(numbers))


def numbers_from_pose(rotation: Points, shift: Points, focal_px: float) -> Points:
    """Return camera numbers from a rotation (3, 3) and shift (3,) of sheet to camera axes."""
    turned = rotation @ _TURN_Y.T
    axis = turned[:, 2]
    tilt = np.array([-axis[1], axis[0]])
    sine = math.hypot(*tilt)
    if sine > 0.0:
        tilt *= math.atan2(sine, axis[2]) / sine
    flat = _tilt(tilt[0], tilt[1]).T @ turned
    distance = max(float(axis @ shift / axis[2]), 1.0)  # a plane through the lens has none
    place = rotation.T @ (np.array([0.0, 0.0, distance]) - shift)
    roll = math.atan2(flat[1, 0], flat[0, 0])
    return np.array(
        [*tilt, roll, math.log(distance), place[0], place[1], math.log(focal_px), 0, 0, 0, 0]
    )


def _lens(numbers: Points, turn: Points) -> Points:
    place: Points = -turn[..., 2, :] * np.exp(numbers[..., 3])[..., None]
    place[..., :2] += numbers[..., 4:6]
    return place


def _to_camera(numbers: Points) -> Points:
    """Return the rotation from the sheet's axes to the camera's, (..., 3, 3)."""
    cos, sin = np.cos(numbers[..., 2]), np.sin(numbers[..., 2])
    roll = np.zeros((*cos.shape, 3, 3))
    roll[..., 0, 0], roll[..., 0, 1] = cos, -sin
    roll[..., 1, 0], roll[..., 1, 1] = sin, cos
    roll[..., 2, 2] = 1.0
    turned: Points = _tilt(numbers[..., 0], numbers[..., 1]) @ roll @ _TURN_Y
    return turned


def _tilt(x: ArrayLike, y: ArrayLike) -> Points:
    """Return the rotation about an axis in the picture's plane (Rodrigues), (..., 3, 3)."""
    x, y = np.asarray(x, float), np.asarray(y, float)
    angle = np.hypot(x, y)
    cross = np.zeros((*angle.shape, 3, 3))
    cross[..., 0, 2], cross[..., 1, 2] = y, -x
    cross[..., 2, 0], cross[..., 2, 1] = -y, x
    once = np.sinc(angle / np.pi)[..., None, None]
    twice = 0.5 * np.sinc(0.5 * angle / np.pi)[..., None, None] ** 2
    turned: Points = np.eye(3) + once * cross + twice * (cross @ cross)
    return turned


def _undistorted(seen: Points, k1: Points, k2: Points) -> Points:
    """Return where a lens without distortion would show points, in focal lengths."""
    r2 = (seen**2).sum(axis=-1)
    a, b = k1 * r2, k2 * r2**2
    ratio = np.ones_like(a)
    for _ in range(_UNROLL_ROUNDS):
        q2 = ratio**2
        error = ratio * (1.0 + a * q2 + b * q2**2) - 1.0
        if np.abs(error).max(initial=0.0) < 1e-14:
            break
        slope = 1.0 + 3.0 * a * q2 + 5.0 * b * q2**2
        ratio = np.clip(ratio - error / np.maximum(slope, 0.2), 0.0, 3.0)
    freed: Points = seen * ratio[..., None]
    return freed

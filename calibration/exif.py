"""What a picture's metadata says of the camera (Exif 2.32): how it was held, and its lens."""

from __future__ import annotations

import math
import struct

from PIL import Image

FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)  # "35 mm equivalent" refers to this frame
FOCAL_RANGE = (0.25, 15.0)  # focal length in picture diagonals; outside it the entry is wrong

_EXIF_IFD, _ORIENTATION = 0x8769, 0x0112
_FOCAL_LENGTH, _FOCAL_35_MM = 0x920A, 0xA405
_PLANE_X_RESOLUTION, _PLANE_UNIT, _PIXEL_WIDTH = 0xA20E, 0xA210, 0xA002
_MM_PER_PLANE_UNIT = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}
BROKEN = (OSError, SyntaxError, ValueError, EOFError, RuntimeError, TypeError, struct.error)


def orientation(picture: Image.Image) -> int:
    """Return how a picture is stored (Exif 2.32, tag 0112), 1 if it is upright or does not say."""
    try:
        return int(picture.getexif().get(_ORIENTATION, 1))
    except (*BROKEN, KeyError):
        return 1


def focal_px(picture: Image.Image, diagonal_px: float) -> float | None:
    """Return the focal length in pixels that the file's EXIF states, None if it does not.

    The 35 mm equivalent compares diagonals (CIPA DCG-001); else the focal length and the
    sensor's pixels per unit are used (Exif 2.32, tags A20E and A210).
    """
    try:
        exif = picture.getexif().get_ifd(_EXIF_IFD)
    except (*BROKEN, KeyError):
        return None
    equivalent = _positive(exif.get(_FOCAL_35_MM))
    if equivalent:
        focal = equivalent / FULL_FRAME_DIAGONAL_MM * diagonal_px
    else:
        unit = _MM_PER_PLANE_UNIT.get(int(_positive(exif.get(_PLANE_UNIT)) or 2), 25.4)
        per_mm = _positive(exif.get(_PLANE_X_RESOLUTION)) / unit
        taken = _positive(exif.get(_PIXEL_WIDTH)) or picture.width
        focal = _positive(exif.get(_FOCAL_LENGTH)) * per_mm * picture.width / taken
    low, high = FOCAL_RANGE
    return focal if low * diagonal_px < focal < high * diagonal_px else None


def _positive(value: object) -> float:
    """Return a number from the metadata, 0.0 if it is missing, odd or not above zero."""
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return 0.0
    return number if math.isfinite(number) and number > 0 else 0.0

"""Usual JPEG files read fast: straight into their place, and at small size at once."""

from __future__ import annotations

import tempfile
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from calibration.resized import at_most

Picture = NDArray[np.uint8]

_PLAIN_JPEG = ("RGB", "L")  # what the fast reader takes as it is; CMYK has to be converted
_JPEG_END = b"\xff\xd9"
_FLIPPED = cv2.COLOR_BGR2RGB
_AS_STORED = cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION
_SHRUNK = {  # how many times smaller a JPEG can be read
    2: cv2.IMREAD_REDUCED_COLOR_2,
    4: cv2.IMREAD_REDUCED_COLOR_4,
    8: cv2.IMREAD_REDUCED_COLOR_8,
}


def is_plain(picture: Image.Image, data: bytes) -> bool:
    """Return whether a file is a JPEG of a usual kind, with its end: Pillow tells of a cut one."""
    kind = picture.format in ("JPEG", "MPO") and picture.mode in _PLAIN_JPEG
    return kind and data.endswith(_JPEG_END)


def read(data: bytes) -> Picture | None:
    """Return a plain JPEG as stored; None if it cannot be read."""
    try:
        rgb = _by_file(data)
        if rgb is None:
            rgb = cv2.imdecode(np.frombuffer(data, np.uint8), _AS_STORED)
    except cv2.error:
        return None
    return None if rgb is None else np.asarray(rgb, np.uint8)


def read_small(data: bytes, size: tuple[int, int], long_px: int) -> Picture | None:
    """Return a plain JPEG as stored with a long side, in a quarter of the time that all takes.

    None if it is not larger than twice that, or cannot be read.
    """
    shrunk = [factor for factor in _SHRUNK if factor * long_px <= max(size)]
    if not shrunk:
        return None
    flags = _SHRUNK[max(shrunk)] | cv2.IMREAD_IGNORE_ORIENTATION
    try:
        bgr = cv2.imdecode(np.frombuffer(data, np.uint8), flags)
    except cv2.error:
        return None
    if bgr is None:
        return None
    return np.asarray(cv2.cvtColor(at_most(np.asarray(bgr, np.uint8), long_px), _FLIPPED), np.uint8)


def _by_file(data: bytes) -> cv2.typing.MatLike | None:
    """Return a picture as stored, read by way of a file; None if there can be none.

    Only the reader of files puts its pixels where they stay: the one of bytes makes two copies,
    which takes nearly as long as decoding.  It is given no place: one that it could not fill it
    would hand back as it was.
    """
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "picture.jpg"
            path.write_bytes(data)
            return cv2.imread(str(path), None, _AS_STORED)
    except OSError:
        return None

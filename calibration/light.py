"""Light: what a camera's encoded values stand for, and how bare paper shows it.

The camera's encoded values are turned back into light before anything is measured.  Blur mixes
light, so only there does the half level of a blurred edge lie on the edge; taken on encoded
values it moves by half a pixel into the ink.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
Field = NDArray[np.float32]


def _light_table() -> Field:
    """Return the light, 0..1, of each encoded value (IEC 61966-2-1, sRGB)."""
    value = np.arange(256) / 255.0
    light = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


LIGHT = _light_table()


def lights(picture: Picture) -> Field:
    """Return the light of a picture of any number of channels."""
    return np.asarray(cv2.LUT(np.ascontiguousarray(picture), LIGHT), np.float32)


def dimmest(rgb: Picture) -> Picture:
    """Return the dimmest channel of each pixel, encoded: paper is light in all three."""
    red, green, blue = cv2.split(np.ascontiguousarray(rgb))
    return np.asarray(cv2.min(cv2.min(red, green), blue), np.uint8)


def mean_light(rgb: Picture) -> Field:
    """Return the light of each pixel, the mean of its channels."""
    return mean_of(lights(rgb))


def mean_of(light: Field) -> Field:
    """Return the mean of the channels, (h, w), of (h, w, 3)."""
    return np.asarray(cv2.transform(light, np.full((1, 3), 1 / 3, np.float32)), np.float32)

"""A good picture and its parts, from which bad ones are made."""

import dataclasses
import functools
import re

import numpy as np
import pytest

from calibration.capture import capture
from calibration.errors import PhotoError
from calibration.photo import Photo
from calibration.references import LineReference, SheetReference
from tests.calibration.render import Camera, Scene, ruled_line, wavy_ring

BAR = wavy_ring((140.0, 140.0), 85.0, 25.0, width_mm=0.9)
LINE = ruled_line((60.0, 45.0), (160.0, 45.0), width_mm=0.9)
KNOWN = LineReference(length_mm=100.0)
LETTER = SheetReference(width_mm=279.4, height_mm=215.9)
CAMERA = Camera(size_px=(1200, 900), focal_px=900.0)
TOLD = {"line": [KNOWN], "sheet": [LETTER], "both": [KNOWN, LETTER]}


def refused(photo, references, words, remedy, **options):
    """Assert that a picture is refused for the right reason, with the right advice."""
    with pytest.raises(PhotoError) as caught:
        capture(photo, references, **options)
    assert re.search(words, caught.value.message), str(caught.value)
    assert re.search(remedy, caught.value.remedy), str(caught.value)


def shown(photo, rgb):
    return dataclasses.replace(photo, rgb=np.ascontiguousarray(rgb, np.uint8))


def drawn(marks, camera=CAMERA):
    return Scene(marks=marks, camera=camera).photo()


def plain(tone):
    return Photo(rgb=np.full((750, 1000, 3), tone, np.uint8), focal_px=None, name="x.jpg")


@functools.cache
def good_photo():
    return drawn([BAR, *LINE])


def length_and_width(found):
    return found.billet.size_mm()


def true_size(mark):
    """Return the steel's length and width: the pen line's middle less half its width all round."""
    points = np.array(mark.points_mm)
    return tuple(points.max(axis=0) - points.min(axis=0) - mark.width_mm)

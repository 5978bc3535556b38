"""Bad pictures: the right measures, or one clear sentence that names what is wrong and helps."""

import dataclasses
import re

import cv2
import numpy as np
import pytest

from calibration.capture import capture
from calibration.errors import PhotoError
from calibration.photo import Photo
from calibration.references import (
    CrossReference,
    LineReference,
    MatReference,
    RectangleReference,
    SheetReference,
)
from tests.calibration.render import Scene, ruled_line, wavy_ring

BAR = wavy_ring((140.0, 140.0), 85.0, 25.0)
LINE = ruled_line((60.0, 45.0), (160.0, 45.0))
KNOWN = LineReference(length_mm=100.0)
LETTER = SheetReference(width_mm=279.4, height_mm=215.9)
TOLD = {"line": [KNOWN], "sheet": [LETTER], "both": [KNOWN, LETTER]}


def refused(photo, references, words, remedy, **options):
    """Assert that a picture is refused for the right reason, with the right advice."""
    with pytest.raises(PhotoError) as caught:
        capture(photo, references, **options)
    assert re.search(words, caught.value.message), str(caught.value)
    assert re.search(remedy, caught.value.remedy), str(caught.value)


def shown(photo, rgb):
    return dataclasses.replace(photo, rgb=np.ascontiguousarray(rgb, np.uint8))


def plain(tone):
    return Photo(rgb=np.full((750, 1000, 3), tone, np.uint8), focal_px=None, name="x.jpg")


@pytest.fixture(scope="module")
def good():
    return Scene(marks=[BAR, *LINE]).photo()


def moved(rgb, length_px, angle_deg):
    """Return a picture smeared along a straight way, as by a hand that moved."""
    kernel = np.zeros((length_px, length_px), np.float32)
    middle = (length_px - 1) / 2
    way = 0.5 * length_px * np.exp(1j * np.radians(angle_deg))
    for end in (way, -way):
        tip = (round(middle + end.real), round(middle - end.imag))
        cv2.line(kernel, (round(middle), round(middle)), tip, 1.0)
    return cv2.filter2D(rgb, -1, kernel / kernel.sum())


@pytest.mark.parametrize("told", TOLD)
@pytest.mark.parametrize("sigma_px", [15, 40])
def test_a_picture_out_of_focus_is_called_blurred(good, sigma_px, told):
    photo = shown(good, cv2.GaussianBlur(good.rgb, (0, 0), sigma_px))
    refused(photo, TOLD[told], "blurred", "hold still")


@pytest.mark.parametrize("angle_deg", [0, 45, 90])
def test_a_smeared_picture_is_called_blurred(good, angle_deg):
    photo = shown(good, moved(good.rgb, 31, angle_deg))
    refused(photo, [KNOWN], "blurred", "hold still")


@pytest.mark.parametrize("told", TOLD)
def test_a_blank_page_is_said_to_have_no_ink(told):
    refused(Scene().photo(), TOLD[told], "no ink is seen", "Draw the reference and trace")


ANY = {
    "line": KNOWN,
    "sheet": LETTER,
    "rectangle": RectangleReference(width_mm=100.0, height_mm=50.0),
    "cross": CrossReference(first_mm=100.0, second_mm=50.0),
    "mat": MatReference(),
}


@pytest.mark.parametrize("kind", ANY)
@pytest.mark.parametrize(
    ("tone", "words"), [(0, "all black"), (255, "all white"), (128, "of one tone")]
)
def test_a_picture_of_nothing_is_called_so(tone, words, kind):
    refused(plain(tone), [ANY[kind]], words, "even light")


def test_a_page_without_steel_is_not_asked_for_ink():
    refused(Scene().photo(), [LETTER], "no steel is seen", "--inside", subject="steel")

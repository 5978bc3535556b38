"""What ails a picture as a whole: blur, no light, one tone, no ink; and what does not."""

import re

import cv2
import numpy as np
import pytest
import shapely

from calibration.capture import capture
from calibration.photo import Photo
from calibration.references import CrossReference, MatReference, RectangleReference
from tests.calibration.bad_scenes import (
    KNOWN,
    LETTER,
    TOLD,
    drawn,
    good_photo,
    plain,
    refused,
    shown,
)
from tests.calibration.render import Camera, Scene, ruled_line, wavy_ring


@pytest.fixture(scope="module")
def good():
    return good_photo()


def moved(rgb, length_px, angle_deg):
    """Return a picture smeared along a straight way, as by a hand that moved."""
    kernel = np.zeros((length_px, length_px), np.float32)
    middle = (length_px - 1) / 2
    way = 0.5 * length_px * np.exp(1j * np.radians(angle_deg))
    for end in (way, -way):
        tip = (round(middle + end.real), round(middle - end.imag))
        cv2.line(kernel, (round(middle), round(middle)), tip, 1.0)
    return cv2.filter2D(rgb, -1, kernel / kernel.sum())


@pytest.mark.parametrize(("sigma_px", "told"), [(15, "line"), (15, "both"), (40, "sheet")])
def test_a_picture_out_of_focus_is_called_blurred(good, sigma_px, told):
    photo = shown(good, cv2.GaussianBlur(good.rgb, (0, 0), sigma_px))
    refused(photo, TOLD[told], "blurred", "hold still")


@pytest.mark.parametrize("angle_deg", [0, 45])
def test_a_smeared_picture_is_called_blurred(good, angle_deg):
    photo = shown(good, moved(good.rgb, 31, angle_deg))
    refused(photo, [KNOWN], "blurred", "hold still")


def test_a_picture_that_is_blurred_a_little_is_measured_with_a_warning(good):
    photo = shown(good, cv2.GaussianBlur(good.rgb, (0, 0), 2.5))
    found = capture(photo, [KNOWN, LETTER])
    (told,) = (note for note in found.notes if "blurred" in note)
    # a normal curve of 2.5 px and the picture's own 0.8: 2 x 2.62 px of about 0.37 mm are
    # 1.94 mm, of which a thin line tells two thirds
    assert 1.2 < float(re.search(r"at least (\d\.\d) mm", told).group(1)) < 2.0
    assert not any("blurred" in note for note in capture(good, [KNOWN, LETTER]).notes)


def evenly_lit(*, gap_mm=0.0, dims_to=1.0, dark=0.85, blur_px=0.8):
    """Return a sheet that fills the picture, 0.1 mm a pixel, its light falling to the right."""
    height, width = 2250, 3000
    trace = np.array([[1400, 530], [2300, 560], [2350, 900], [620, 980], [600, 500]])
    ink = np.zeros((height, width), np.uint8)
    start = [trace[0] - (round(10 * gap_mm), 0)]
    cv2.polylines(ink, [np.vstack([trace, start]).astype(np.int32)], False, 255, 5, cv2.LINE_AA)
    for a, b in (((700, 1500), (1700, 1500)), ((700, 1470), (700, 1530))):
        cv2.line(ink, a, b, 255, 5, cv2.LINE_AA)
    cv2.line(ink, (1700, 1470), (1700, 1530), 255, 5, cv2.LINE_AA)
    light = np.linspace(0.8, 0.8 * dims_to, width) * (1.0 - dark * ink / 255.0)
    light = cv2.GaussianBlur(light, (0, 0), blur_px)
    light = np.clip(light + np.random.default_rng(1).normal(0.0, 0.006, light.shape), 0.0, 1.0)
    grey = np.rint(255.0 * (1.055 * np.maximum(light, 0.0031308) ** (1 / 2.4) - 0.055))
    rgb = np.repeat(grey.astype(np.uint8)[..., None], 3, axis=2)
    return Photo(rgb=rgb, focal_px=None, name="even.jpg")


def test_a_sharp_open_trace_on_a_sheet_that_fills_the_picture_is_not_called_empty():
    refused(evenly_lit(gap_mm=30.0), [KNOWN], "no closed trace", "Close its gaps")


def test_pencil_in_light_that_falls_to_a_quarter_is_not_called_blurred():
    found = capture(evenly_lit(dims_to=0.25, dark=0.35), [KNOWN])
    assert not any("blurred" in note for note in found.notes)


def test_blur_is_told_and_its_shift_counted_though_no_bench_is_seen():
    found = capture(evenly_lit(blur_px=5.0), [KNOWN])
    assert any("blurred" in note for note in found.notes)
    (part,) = (part for part in found.budget.parts if "blur" in part.name)
    assert part.bias_mm < -0.05  # the piece comes out too small
    assert part.sigma_mm > 0.0


@pytest.mark.parametrize("width_mm", [0.6, 1.0])
@pytest.mark.parametrize("blur_px", [2.0, 3.0])
def test_the_doubt_of_a_blurred_trace_holds_the_truth(width_mm, blur_px):
    mark = wavy_ring((140.0, 140.0), 85.0, 25.0, width_mm=width_mm)
    line = ruled_line((60.0, 45.0), (160.0, 45.0), width_mm=width_mm)
    camera = Camera(size_px=(1400, 1050), focal_px=1050.0)
    photo = Scene(marks=[mark, *line], camera=camera, blur_px=blur_px).photo()
    billet = capture(photo, [KNOWN, LETTER]).billet
    true = shapely.Polygon(mark.points_mm).buffer(-width_mm / 2)
    away = np.subtract(true.centroid.coords[0], billet.shape.centroid.coords[0])
    places = shapely.get_coordinates(billet.shape.exterior)[:-1] + away
    off_mm = shapely.distance(shapely.points(places), true.exterior)
    assert np.mean(off_mm <= 2 * np.array(billet.vertex_sigma_mm[: len(places)])) > 0.95


@pytest.mark.parametrize("told", ["line", "sheet"])
def test_a_blank_page_is_said_to_have_no_ink(told):
    refused(drawn([]), TOLD[told], "no ink is seen", "Draw the reference and trace")


ANY = {
    "line": KNOWN,
    "sheet": LETTER,
    "rectangle": RectangleReference(width_mm=100.0, height_mm=50.0),
    "cross": CrossReference(first_mm=100.0, second_mm=50.0),
    "mat": MatReference(),
}


@pytest.mark.parametrize("kind", ANY)
def test_a_black_picture_is_called_so_whatever_was_told(kind):
    refused(plain(0), [ANY[kind]], "all black", "even light")


@pytest.mark.parametrize(("tone", "words"), [(255, "all white"), (128, "of one tone")])
def test_a_picture_of_nothing_is_called_so(tone, words):
    refused(plain(tone), [KNOWN], words, "even light")


def test_a_page_without_steel_is_not_asked_for_ink():
    refused(drawn([]), [LETTER], "no steel is seen", "--inside", subject="steel")


def test_a_bench_without_a_sheet_is_asked_for_reference_or_sheet(good):
    rng = np.random.default_rng(3)
    grain = cv2.GaussianBlur(rng.normal(size=good.rgb.shape[:2]), (0, 0), sigmaX=30, sigmaY=1)
    wood = np.clip(110 + 60 * grain, 0, 255)[..., None] * (1.0, 0.8, 0.6)
    refused(shown(good, wood), [KNOWN], "no reference line", "Point at")
    refused(shown(good, wood), [LETTER], "sheet's edges were not found", "darker")

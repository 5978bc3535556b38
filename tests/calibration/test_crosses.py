import numpy as np
import pytest

from calibration.calibrate import calibrate
from calibration.errors import PhotoError
from calibration.ink import find_ink
from calibration.references import CrossReference, LineReference, SheetReference
from geometry.errors import InputError
from tests.calibration.render import Camera, Scene, rigid_error, ruled_line, wavy_ring

LETTER = SheetReference(width_mm=215.9, height_mm=279.4)
CAMERA = Camera(tilt_deg=9.0, azimuth_deg=35.0, roll_deg=8.0, distance_mm=430.0)
BAR = wavy_ring((140.0, 150.0), 85.0, 22.0)
PIECE = np.stack(np.meshgrid(np.linspace(60, 220, 9), np.linspace(130, 170, 5)), -1).reshape(-1, 2)
CORNER = [((40.0, 30.0), (140.0, 30.0)), ((40.0, 30.0), (40.0, 90.0))]
CROSSING = [((40.0, 50.0), (140.0, 50.0)), ((70.0, 30.0), (70.0, 90.0))]
REFERENCE = CrossReference(first_mm=100.0, second_mm=60.0)


def photo_of(lines, camera=CAMERA):
    marks = [BAR, *(mark for ends in lines for mark in ruled_line(*ends))]
    photo = Scene(marks=marks, camera=camera).photo()
    return photo, find_ink(photo)


def ends_error_px(found, lines):
    seen = np.array(found.points_px).reshape(2, 2, 2)
    true = [CAMERA.to_px(ends) for ends in lines]
    return max(
        min(np.abs(s - t).max(), np.abs(s[::-1] - t).max()) for s, t in zip(seen, true, strict=True)
    )


@pytest.mark.parametrize("lines", [CORNER, CROSSING], ids=["one corner", "crossing"])
def test_two_lines_at_right_angles_are_found_and_measured(lines):
    calibration = calibrate(*photo_of(lines), [REFERENCE], recognise_sheet=False)
    (found,) = calibration.found
    assert found.reference is REFERENCE
    assert ends_error_px(found, lines) < 0.3
    assert found.measured_mm == pytest.approx((100.0, 60.0), abs=0.5)
    assert not calibration.tilt_known
    assert "Tell the sheet's size" in calibration.notes[-1]
    px = CAMERA.to_px(PIECE)
    errors = rigid_error(calibration.map.to_mm(px), PIECE)
    assert np.mean(errors < 2.0 * calibration.map.sigma_mm(px)) > 0.9


def test_the_order_of_the_lengths_does_not_matter():
    turned = CrossReference(first_mm=60.0, second_mm=100.0)
    calibration = calibrate(*photo_of(CORNER), [turned], recognise_sheet=False)
    assert ends_error_px(calibration.found[0], CORNER[::-1]) < 0.3


def test_a_cross_says_more_than_one_of_its_lines():
    photo, ink = photo_of(CORNER)
    px = CAMERA.to_px(PIECE)
    both = calibrate(photo, ink, [REFERENCE], recognise_sheet=False).map
    ends = tuple(map(tuple, CAMERA.to_px(CORNER[0])))
    line = LineReference(length_mm=100.0, ends_px=ends)
    one = calibrate(photo, ink, [line], recognise_sheet=False).map
    assert both.sigma_mm(px).max() < 0.8 * one.sigma_mm(px).max()
    error_of = [rigid_error(one_map.to_mm(px), PIECE).max() for one_map in (both, one)]
    assert error_of[0] < error_of[1]


def test_a_cross_and_the_sheet_give_the_piece_to_hundredths():
    calibration = calibrate(*photo_of(CROSSING), [REFERENCE, LETTER])
    px = CAMERA.to_px(PIECE)
    assert rigid_error(calibration.map.to_mm(px), PIECE).max() < 0.05
    assert max(found.residual_mm for found in calibration.found) < 0.15


def test_pointed_crossing_lines_are_drawn_onto_the_ink():
    near = np.array([(3, 2), (-2, 3), (2, -3), (-3, -2)])
    ends = CAMERA.to_px(np.array(CORNER).reshape(-1, 2)) + near
    pointed = CrossReference(first_mm=100.0, second_mm=60.0, ends_px=tuple(map(tuple, ends)))
    calibration = calibrate(*photo_of(CORNER), [pointed], recognise_sheet=False)
    assert ends_error_px(calibration.found[0], CORNER) < 0.3


def test_lines_apart_or_of_other_lengths_are_no_cross():
    apart = [CORNER[0], ((190.0, 40.0), (190.0, 100.0))]
    with pytest.raises(PhotoError, match="no two lines of 100 and 60 mm at right angles"):
        calibrate(*photo_of(apart), [REFERENCE], recognise_sheet=False)
    wrong = CrossReference(first_mm=100.0, second_mm=250.0)
    with pytest.raises(PhotoError, match="no two lines of 100 and 250 mm"):
        calibrate(*photo_of(CORNER), [wrong], recognise_sheet=False)


def test_a_length_of_nothing_is_refused():
    with pytest.raises(InputError, match="second of the crossing lines"):
        CrossReference(first_mm=10.0, second_mm=0.0)


def test_a_line_that_is_one_of_the_crossing_ones_is_named_so():
    photo, ink = photo_of([((40.0, 30.0), (140.0, 30.0)), ((40.0, 30.0), (40.0, 80.0))])
    told = [LineReference(length_mm=100.0), CrossReference(first_mm=100.0, second_mm=50.0)]
    with pytest.raises(PhotoError, match="beside the crossing lines"):
        calibrate(photo, ink, told)

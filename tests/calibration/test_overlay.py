from types import SimpleNamespace

import numpy as np
import pytest

from calibration.calibrate import calibrate
from calibration.ink import find_ink
from calibration.overlay import DOUBT, GIVEN, LONG_SIDE_PX, STEEL, overlay_picture
from calibration.photo import Photo
from calibration.references import CrossReference, LineReference, SheetReference
from tests.calibration.render import Camera, Scene, ruled_line

ENDS = ((60.0, 40.0), (160.0, 40.0))
PIECE = np.array([[60.0, 100.0], [220.0, 100.0], [220.0, 170.0], [60.0, 170.0]])
HOLE = np.array([[130.0, 130.0], [145.0, 130.0], [145.0, 145.0], [130.0, 145.0]])
BRIDGE = np.array([[220.0, 130.0], [220.0, 136.0]])


@pytest.fixture(scope="module")
def understood():
    camera = Camera()
    photo = Scene(marks=ruled_line(*ENDS), camera=camera).photo()
    references = [LineReference(length_mm=100.0), SheetReference(width_mm=215.9, height_mm=279.4)]
    calibration = calibrate(photo, find_ink(photo), references)
    contour = SimpleNamespace(
        outer_px=camera.to_px(PIECE),
        holes_px=(camera.to_px(HOLE),),
        bridges_px=(camera.to_px(BRIDGE),),
    )
    return camera, photo, SimpleNamespace(calibration=calibration, contour=contour)


def shows(picture, place_px, colour, reach=3) -> bool:
    x, y = (round(v) for v in place_px)
    part = picture[y - reach : y + reach + 1, x - reach : x + reach + 1].astype(int)
    return bool((np.abs(part - np.array(colour)).max(axis=2) < 40).any())


def test_each_thing_is_drawn_where_it_is(understood):
    camera, photo, capture = understood
    picture = overlay_picture(photo, capture)
    assert picture.shape == photo.rgb.shape
    for place, colour in [
        ((140.0, 100.0), STEEL),  # the piece's rim
        ((137.0, 130.0), STEEL),  # the hole's rim
        ((220.0, 133.0), DOUBT),  # a bridge over a gap
        ((110.0, 40.0), GIVEN),  # the line
    ]:
        assert shows(picture, camera.to_px([place])[0], colour), place
        assert not shows(photo.rgb, camera.to_px([place])[0], colour), place


def test_the_steel_is_tinted_and_its_hole_is_not(understood):
    camera, photo, capture = understood
    picture = overlay_picture(photo, capture).astype(int)
    steel, hole = (np.rint(camera.to_px([p])[0]).astype(int) for p in ((90, 120), (137, 137)))
    before = photo.rgb.astype(int)
    assert before[steel[1], steel[0], 0] - picture[steel[1], steel[0], 0] > 20
    assert np.abs(before[hole[1], hole[0]] - picture[hole[1], hole[0]]).max() < 4


def test_the_photo_itself_is_left_alone(understood):
    _, photo, capture = understood
    before = photo.rgb.copy()
    overlay_picture(photo, capture)
    assert np.array_equal(photo.rgb, before)


def test_a_large_photo_is_made_smaller(understood):
    _, photo, capture = understood
    large = Photo(
        rgb=np.repeat(np.repeat(photo.rgb, 2, axis=0), 2, axis=1), focal_px=None, name="x"
    )
    assert max(overlay_picture(large, capture).shape[:2]) == LONG_SIDE_PX


def test_crossing_lines_are_drawn_apart_and_not_as_a_box():
    camera = Camera()
    lines = [((60.0, 40.0), (160.0, 40.0)), ((80.0, 20.0), (80.0, 70.0))]
    marks = [mark for ends in lines for mark in ruled_line(*ends)]
    photo = Scene(marks=marks, camera=camera).photo()
    cross = CrossReference(first_mm=100.0, second_mm=50.0)
    calibration = calibrate(photo, find_ink(photo), [cross], recognise_sheet=False)
    contour = SimpleNamespace(outer_px=camera.to_px(PIECE), holes_px=(), bridges_px=())
    picture = overlay_picture(photo, SimpleNamespace(calibration=calibration, contour=contour))
    for place in ((120.0, 40.0), (80.0, 60.0)):  # on the two lines
        assert shows(picture, camera.to_px([place])[0], GIVEN)
    for place in ((136.0, 34.0), (136.0, 49.0)):  # on the ways from the right end to the others
        assert not shows(picture, camera.to_px([place])[0], GIVEN)

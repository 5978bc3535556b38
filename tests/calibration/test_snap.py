import math

import pytest

from calibration.ink import find_ink
from calibration.snap import snap_to_ink
from tests.calibration.render import RULE, Camera, Mark, Scene, ruled_line

CAMERA = Camera(tilt_deg=6.0, azimuth_deg=20.0, roll_deg=25.0)


@pytest.fixture(scope="module")
def page():
    marks = [
        *ruled_line((60.0, 40.0), (160.0, 40.0), width_mm=0.8),
        *ruled_line((60.0, 80.0), (160.0, 80.0), width_mm=0.8, tick_mm=0),
        Mark(points_mm=((0.0, 110.0), (279.4, 110.0)), width_mm=0.25, takes=RULE),
    ]
    photo = Scene(marks=marks, camera=CAMERA).photo()
    return photo, find_ink(photo)


def px(x_mm, y_mm):
    x, y = CAMERA.to_px([(x_mm, y_mm)])[0]
    return float(x), float(y)


@pytest.mark.parametrize("off", [(0.0, 0.0), (4.0, -3.0), (-5.0, 2.0), (1.0, 6.0)])
def test_a_line_meets_its_tick(page, off):
    target = px(60.0, 40.0)
    found = snap_to_ink(*page, (target[0] + off[0], target[1] + off[1]))
    assert math.dist(found, target) < 0.3


def test_a_bare_line_ends_at_its_tip(page):
    tip = px(160.4, 80.0)  # its round tip reaches half the pen's width beyond the mark
    found = snap_to_ink(*page, (tip[0] + 3.0, tip[1] - 2.0))
    assert math.dist(found, tip) < 1.0


def test_between_its_ends_a_line_draws_across_only(page):
    foot = px(110.0, 40.0)
    beside = px(110.0, 41.0)
    assert math.dist(snap_to_ink(*page, beside), foot) < 0.4


def test_bare_paper_and_faint_rules_draw_nothing(page):
    for place in (px(200.0, 150.0), px(200.0, 110.3)):
        assert snap_to_ink(*page, place) == place


def test_a_place_at_the_rim_or_outside_is_given_back(page):
    for place in ((0.0, 0.0), (-50.0, 20.0), (5000.0, 5000.0)):
        assert snap_to_ink(*page, place) == place

import numpy as np
import pytest

from calibration.ink import find_ink
from calibration.strokes import GOOD, find_strokes
from tests.calibration.render import Camera, Mark, Scene, ruled_line, wavy_ring

CAMERA = Camera(tilt_deg=6.0, azimuth_deg=20.0, distance_mm=400.0)
BAR = wavy_ring((140.0, 140.0), 85.0, 25.0)
BOX = Mark(points_mm=((60.0, 110.0), (230.0, 105.0), (220.0, 170.0), (70.0, 165.0), (60.0, 110.0)))


def candidates(scene: Scene):
    photo = scene.photo()
    return find_strokes(photo, find_ink(photo))


def far_px(stroke, ends_mm) -> float:
    true, seen = CAMERA.to_px(ends_mm), np.array(stroke.ends_px)
    return min(np.abs(seen - true).max(), np.abs(seen[::-1] - true).max())


@pytest.mark.parametrize("trace", [BAR, BOX], ids=["hammered bar", "sawn plate"])
@pytest.mark.parametrize("angle_deg", [0.0, 31.0, 90.0, 164.0])
def test_the_ticked_line_comes_first_at_any_angle(trace, angle_deg):
    turn = np.radians(angle_deg)
    middle, half = np.array([140.0, 50.0]), 38.1 * np.array([np.cos(turn), np.sin(turn)])
    ends = middle - half, middle + half
    first, *others = candidates(Scene(marks=[trace, *ruled_line(*ends)], camera=CAMERA))
    assert far_px(first.stroke, ends) < 0.2
    assert first.stroke.ticks == (True, True)
    assert first.joined == (False, False)
    assert all(other.score < GOOD for other in others)


def test_the_sides_of_a_plate_are_no_reference():
    found = candidates(Scene(marks=[BOX], camera=CAMERA))
    assert found
    assert all(stroke.score < GOOD for stroke in found)


def test_a_label_on_the_line_does_not_hide_it():
    ends = (80.0, 40.0), (180.0, 40.0)
    letters = [
        Mark(points_mm=((x, 38.0), (x + 2.0, 46.0), (x + 4.0, 38.0))) for x in (115.0, 121.0, 127.0)
    ]
    first, *_ = candidates(Scene(marks=[BAR, *letters, *ruled_line(*ends)], camera=CAMERA))
    assert far_px(first.stroke, ends) < 0.25


def test_the_edge_of_a_thing_on_the_sheet_is_no_reference():
    scale = ((60.0, 20.0), (200.0, 26.0), (199.0, 50.0), (59.0, 44.0))
    found = candidates(Scene(marks=[BAR], covers=[scale], camera=CAMERA))
    assert all(stroke.score < GOOD for stroke in found)


def test_a_bare_sheet_has_no_strokes():
    assert candidates(Scene(camera=CAMERA)) == ()


def test_only_lines_that_meet_at_corners_may_close_a_rectangle():
    corners = ((60.0, 30.0), (120.0, 30.0), (120.0, 60.0), (60.0, 60.0), (60.0, 30.0))
    bent = [(70.0, 110.0), (140.0, 110.0), (200.0, 140.0), (200.0, 150.0), (140.0, 180.0)]
    bent += [(70.0, 180.0), (25.0, 160.0), (25.0, 130.0), (70.0, 110.0)]
    marks = [Mark(points_mm=corners), Mark(points_mm=tuple(bent))]
    photo = Scene(marks=marks, camera=CAMERA).photo()
    ink = find_ink(photo)
    sides = [(corners[k], corners[k + 1]) for k in range(4)]

    def of_the_rectangle(found):
        return [any(far_px(one.stroke, side) < 8.0 for side in sides) for one in found]

    assert sorted(of_the_rectangle(find_strokes(photo, ink)))[:3] == [False] * 3
    assert of_the_rectangle(find_strokes(photo, ink, closed=True)) == [True] * 4

import cv2
import numpy as np
import pytest

from calibration.gaps import bridges, drawn, stroke_ends


def lines(*strokes):
    picture = np.zeros((200, 300), np.uint8)
    for stroke in strokes:
        cv2.polylines(picture, [np.array(stroke, np.int32)], False, 1, 1)
    return picture > 0


def test_a_gap_in_a_straight_stroke_is_bridged_end_to_end():
    found = bridges(lines([(20, 100), (120, 100)], [(132, 101), (250, 105)]), gap_px=12, width_px=3)
    best = found[0].path_px
    assert sorted(best[:, 0].tolist()) == [120, 132]


def test_a_gap_at_a_corner_is_bridged_by_the_corner():
    found = bridges(lines([(20, 100), (140, 100)], [(150, 110), (150, 190)]), gap_px=14, width_px=3)
    assert any(np.hypot(*(way.path_px - [150, 100]).T).min() < 2.0 for way in found)


def test_a_stroke_that_stops_short_of_another_goes_on_to_it():
    found = bridges(lines([(20, 100), (140, 100)], [(150, 30), (150, 180)]), gap_px=14, width_px=3)
    assert any(np.hypot(*(way.path_px[-1] - [150, 100])) < 1.5 for way in found)


@pytest.mark.parametrize(
    "other",
    [
        [(150, 100), (260, 100)],  # too far on
        [(124, 112), (124, 180)],  # close, but to the side of where the stroke was going
    ],
)
def test_no_bridge_leads_where_the_stroke_was_not_going(other):
    found = bridges(lines([(20, 100), (120, 100)], other), gap_px=10, width_px=3)
    assert not [way for way in found if np.ptp(way.path_px, axis=0).max() > 14]


def test_a_line_with_steps_is_followed_past_them():
    # a thinned line may step by a side and then by a corner; both pixels belong to it
    picture = np.zeros((40, 60), bool)
    picture[20, 5:20] = picture[19, 19:22] = picture[18, 21:24] = picture[17, 23:50] = True
    ends = stroke_ends(picture, np.ones(picture.shape, np.float32), trail_px=60, least_px=20)
    assert sorted(end.point[0] for end in ends) == [5, 49]


def test_a_short_stretch_between_two_gaps_is_bridged_at_both_its_ends():
    dashes = lines([(20, 100), (120, 100)], [(130, 100), (140, 101)], [(150, 101), (250, 103)])
    found = bridges(dashes, gap_px=12, width_px=3)
    ends = {tuple(sorted(way.path_px[[0, -1], 0].tolist())) for way in found}
    assert {(120.0, 130.0), (140.0, 150.0)} <= ends


def test_a_short_stroke_beside_the_way_is_left_alone():
    letter = lines([(20, 100), (120, 100)], [(128, 106), (128, 116)])
    assert bridges(letter, gap_px=12, width_px=3) == []


def test_writing_is_not_bridged():
    letters = [[(20 + k, 100), (28 + k, 100)] for k in range(0, 100, 14)]
    assert bridges(lines(*letters), gap_px=10, width_px=3) == []


def test_a_broad_stroke_is_allowed_the_half_width_that_thinning_took_from_each_end():
    broken = lines([(20, 100), (120, 100)], [(146, 100), (250, 100)])
    broad = cv2.dilate(broken.astype(np.uint8), np.ones((17, 17), np.uint8)) > 0
    assert bridges(broken, gap_px=12, width_px=3) == []
    assert bridges(broken, gap_px=12, width_px=3, ink=broad)  # 26 px apart, 9 of bare paper


def test_bridges_close_what_they_are_drawn_into():
    open_box = lines([(60, 60), (200, 60), (200, 150), (60, 150), (60, 70)])
    found = bridges(open_box, gap_px=12, width_px=3)
    closed = drawn(open_box, found)
    assert cv2.connectedComponents((~open_box).astype(np.uint8), connectivity=4)[0] == 2
    assert cv2.connectedComponents((~closed).astype(np.uint8), connectivity=4)[0] == 3

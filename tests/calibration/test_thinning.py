import cv2
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.thinning import loose_ends, thinned, without_loose_ends

places = st.lists(st.tuples(st.integers(4, 55), st.integers(4, 55)), min_size=2, max_size=7)


def drawn(strokes, width):
    picture = np.zeros((60, 60), np.uint8)
    for stroke in strokes:
        cv2.polylines(picture, [np.array(stroke, np.int32)], False, 1, width)
    return picture > 0


def enclosed(lines):
    """Regions of paper, by another way than the code's: 4-connected labels of the complement."""
    return cv2.connectedComponents((~lines).astype(np.uint8), connectivity=4)[0] - 1


@settings(max_examples=60, deadline=None)
@given(st.lists(places, min_size=1, max_size=3))
def test_eating_dead_ends_away_opens_no_loop(strokes):
    lines = drawn(strokes, 1)
    assert enclosed(without_loose_ends(lines)) == enclosed(lines)


@settings(max_examples=60, deadline=None)
@given(st.lists(places, min_size=1, max_size=3))
def test_thinning_takes_from_the_stroke_and_parts_no_regions(strokes):
    thick = drawn(strokes, 3)
    lines = thinned(thick)
    assert not (lines & ~thick).any()
    assert enclosed(lines) == enclosed(thick)


def test_a_straight_stroke_thins_to_its_middle():
    thick = np.zeros((21, 60), bool)
    thick[8:13, 5:55] = True
    rows = np.nonzero(thinned(thick))[0]
    assert abs(rows.mean() - 10) < 0.5
    assert np.count_nonzero(thinned(thick)) <= 50


def test_a_tail_is_eaten_and_its_loop_stays():
    lines = drawn([[(20, 20), (40, 20), (40, 40), (20, 40), (20, 20)], [(40, 40), (55, 55)]], 1)
    left = without_loose_ends(lines)
    assert not left[45:, 45:].any()
    assert left[20, 20:41].all()


def test_both_ends_of_a_line_are_loose():
    ends = loose_ends(drawn([[(10, 10), (40, 25)]], 1))
    assert sorted(map(tuple, ends.tolist())) == [(10, 10), (40, 25)]

"""Bad pictures: the right measures, or one clear sentence that names what is wrong and helps."""

import dataclasses
import math
import re

import cv2
import numpy as np
import pytest
import shapely

from calibration.capture import capture
from calibration.photo import Photo
from calibration.references import (
    PAPERS,
    CrossReference,
    LineReference,
    RectangleReference,
    SheetReference,
)
from geometry.errors import InputError
from tests.calibration.bad_scenes import (
    BAR,
    CAMERA,
    KNOWN,
    LETTER,
    LINE,
    TOLD,
    drawn,
    good_photo,
    length_and_width,
    refused,
    true_size,
)
from tests.calibration.render import Mark, ruled_line, wavy_ring


@pytest.fixture(scope="module")
def good():
    return good_photo()


# what was typed, and what of it a message must name
WRONG_LENGTHS = [
    (10.0, "by the length that was typed the sheet measures 27.9. x 21.[56]. mm", "unit"),
    (4.0, "by the length that was typed the sheet measures 11.1. x 8.6.. mm", "unit"),
]


@pytest.mark.parametrize(("typed_mm", "words", "remedy"), WRONG_LENGTHS)
def test_a_length_that_makes_the_paper_a_stamp_is_refused(good, typed_mm, words, remedy):
    """100 mm typed as 10, and 4 in as 4: Letter would be a tenth, or 4 / 100, of its size."""
    refused(good, [LineReference(length_mm=typed_mm)], words, remedy)


@pytest.mark.parametrize("typed_mm", [4.0, 1000.0])
def test_a_length_that_the_sheet_contradicts_is_refused(good, typed_mm):
    told = [LineReference(length_mm=typed_mm), LETTER]
    refused(
        good, told, rf"typed as {typed_mm:g} mm measures (100\.\d|99\.9) mm by the sheet", "Check"
    )


@pytest.mark.parametrize("typed_mm", [1000.0, 2540.0])
def test_a_length_that_makes_the_sheet_longer_than_any_is_refused(good, typed_mm):
    """100 mm typed as 1000 or as 100 in: Letter would be 2.8 or 7.1 m long."""
    refused(good, [LineReference(length_mm=typed_mm)], "the sheet measures", "its unit")


@pytest.mark.parametrize(
    ("typed_mm", "size"), [(254.0, "2.54 times its size"), (50.0, "half its size")]
)
def test_a_length_that_is_wrong_is_told_by_the_papers_shape(good, typed_mm, size):
    found = capture(good, [LineReference(length_mm=typed_mm)])
    told = " ".join(found.notes)
    assert f"the shape of Letter at {size}" in told
    assert "check the length that was typed and its unit" in told


def test_a_size_of_the_sheet_in_another_unit_is_told(good):
    found = capture(good, [SheetReference(width_mm=2159.0, height_mm=2794.0)])
    assert any("10 times that of Letter: check its numbers" in note for note in found.notes)


@pytest.mark.parametrize(("short", "long"), PAPERS.values(), ids=PAPERS)
def test_no_named_paper_is_taken_for_another_in_a_wrong_unit(short, long):
    from calibration.sheets import _slip_of_unit

    assert _slip_of_unit(SheetReference(width_mm=short, height_mm=long)) == []


NO_LENGTH = [0.0, -5.0, math.nan, math.inf, -math.inf, 1e-320, 1e-6, 0.5, 1e5, 1e300]


@pytest.mark.parametrize("length_mm", NO_LENGTH)
def test_a_length_that_nothing_has_is_refused(length_mm):
    for make in (
        lambda: LineReference(length_mm=length_mm),
        lambda: SheetReference(width_mm=210.0, height_mm=length_mm),
        lambda: RectangleReference(width_mm=length_mm, height_mm=100.0),
        lambda: CrossReference(first_mm=100.0, second_mm=length_mm),
    ):
        with pytest.raises(InputError, match=r"must be longer than zero|to 10000 mm is possible"):
            make()


@pytest.mark.parametrize("sides", [(8.5, 11.0), (21.0, 29.7), (21.59, 27.94)])
def test_a_sheet_in_inches_or_centimetres_without_unit_is_refused(sides):
    with pytest.raises(InputError, match=r"from 50 to 10000 mm.*give its unit.*8\.5x11in"):
        SheetReference(width_mm=sides[0], height_mm=sides[1])


@pytest.mark.parametrize("odd", [math.nan, math.inf])
def test_a_place_that_is_no_number_is_refused(odd):
    with pytest.raises(InputError, match="not two numbers"):
        LineReference(length_mm=100.0, ends_px=((odd, 10.0), (300.0, 10.0)))
    corners = ((0.0, 0.0), (9.0, 0.0), (9.0, odd), (0.0, 9.0))
    with pytest.raises(InputError, match="not two numbers"):
        RectangleReference(width_mm=100.0, height_mm=50.0, corners_px=corners)


@pytest.mark.parametrize("place", [(math.nan, 3.0), (math.inf, 3.0), (-5.0, 3.0), (5.0, 900.0)])
def test_a_place_outside_the_picture_is_refused(good, place):
    with pytest.raises(InputError, match="lies outside the picture, which has 1200 x 900"):
        capture(good, [KNOWN], inside_px=place)


@pytest.mark.parametrize("place", [(5.0, 5.0), (600.0, 670.0)])  # the bench; the bare sheet
def test_a_place_that_nothing_surrounds_is_named(good, place):
    refused(good, [KNOWN], "no closed trace surrounds the pixel", "inside", inside_px=place)


UPPER = wavy_ring((140.0, 165.0), 85.0, 22.0, width_mm=0.9)
LOWER = wavy_ring((140.0, 100.0), 80.0, 20.0)
SMALL = wavy_ring((140.0, 100.0), 30.0, 12.0)


def test_of_two_pieces_the_larger_is_taken_and_the_others_place_is_told():
    photo = drawn([UPPER, LOWER, *LINE])
    found = capture(photo, [KNOWN])
    assert length_and_width(found) == pytest.approx(true_size(UPPER), abs=0.3)
    (told,) = (note for note in found.notes if "Another closed trace" in note)
    x, y = map(int, re.search(r"--inside (\d+),(\d+)", told).groups())
    other = capture(photo, [KNOWN], inside_px=(x, y))
    assert length_and_width(other) == pytest.approx(true_size(LOWER), abs=0.3)
    assert not any("Another closed trace" in note for note in other.notes)


@pytest.mark.parametrize("mark", [UPPER, LOWER])
def test_the_piece_that_was_pointed_at_is_measured(mark):
    photo = drawn([UPPER, LOWER, *LINE])
    place = CAMERA.to_px([np.mean(mark.points_mm, axis=0)])[0]
    found = capture(photo, [KNOWN], inside_px=(place[0], place[1]))
    assert length_and_width(found) == pytest.approx(true_size(mark), abs=0.3)


def test_a_second_piece_of_a_fifth_of_the_size_is_told():
    found = capture(drawn([UPPER, SMALL, *LINE]), [KNOWN])
    assert any("Another closed trace" in note for note in found.notes)


# from where to where a line is ruled through the bar, and how long it is
THROUGH = {
    "across": ((140.0, 60.0), (140.0, 190.0), 130.0),
    "along": ((45.0, 141.0), (240.0, 141.0), 195.0),
    "one side only": ((140.0, 60.0), (140.0, 160.0), 100.0),
    "inside": ((90.0, 140.0), (190.0, 140.0), 100.0),
}


@pytest.mark.parametrize("way", THROUGH)
def test_a_reference_line_in_or_through_the_piece_divides_nothing(way):
    a, b, length_mm = THROUGH[way]
    found = capture(drawn([BAR, *ruled_line(a, b)]), [LineReference(length_mm=length_mm)])
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=0.3)
    assert not found.billet.shape.interiors
    assert not any("closed trace" in note for note in found.notes)


def test_crossing_lines_through_the_piece_divide_nothing():
    marks = [BAR, *ruled_line((140.0, 40.0), (140.0, 200.0)), *ruled_line((40, 140), (240, 140))]
    found = capture(drawn(marks), [CrossReference(first_mm=160.0, second_mm=200.0)])
    assert length_and_width(found) == pytest.approx(true_size(BAR), abs=0.3)


def test_a_reference_hidden_in_the_trace_is_asked_for():
    """Drawn on the bar's straight lower side, 115 mm up, between its rounded corners."""
    straight = wavy_ring((140.0, 140.0), 85.0, 25.0, wave_mm=0.0)
    photo = drawn([straight, *ruled_line((90.0, 115.0), (190.0, 115.0))])
    refused(photo, [KNOWN], "no reference line found", r"--line X1,Y1,X2,Y2, or draw it apart")


def test_a_page_without_reference_asks_for_it():
    refused(drawn([BAR]), [KNOWN], "no reference line found", "a tick across each end")


def test_a_page_without_trace_is_said_to_have_none():
    refused(drawn(LINE), [KNOWN], "no closed trace", "--inside.*--subject steel")


@pytest.mark.parametrize("told", ["line", "both"])
def test_a_trace_that_runs_off_the_sheet_is_told(told):
    marks = [wavy_ring((230.0, 140.0), 85.0, 25.0), *LINE]
    refused(drawn(marks), TOLD[told], "runs off the sheet or the picture", "whole trace.*larger")


def test_a_trace_that_runs_off_the_picture_is_told():
    camera = dataclasses.replace(CAMERA, aim_mm=(230.0, 108.0), distance_mm=250.0)
    line = ruled_line((160.0, 45.0), (260.0, 45.0))
    photo = drawn([wavy_ring((120.0, 140.0), 85.0, 25.0), *line], camera)
    refused(photo, [KNOWN, LETTER], "runs off the sheet or the picture", "whole trace")


def labelled(marks):
    rgb = drawn(marks).rgb.copy()
    for k, text in enumerate(("Forged bar 1084", "no 7, 12.5 mm", "left side up")):
        place = (270, 240 + 140 * k)
        cv2.putText(rgb, text, place, cv2.FONT_HERSHEY_SIMPLEX, 1.6, (40, 40, 40), 3, cv2.LINE_AA)
    return Photo(rgb=rgb, focal_px=900.0, name="labels.jpg")


def test_writing_is_no_trace_and_no_reference():
    refused(labelled([]), [KNOWN], "no reference line", "a tick across each end")
    refused(labelled([]), [LETTER], "no closed trace", "Close its gaps")
    refused(labelled(LINE), [KNOWN, LETTER], "no closed trace", "Close its gaps")


@pytest.mark.parametrize("inside", [False, True])
def test_a_trace_open_by_thirty_millimetres_is_not_closed_by_guessing(inside):
    points = shapely.get_coordinates(shapely.segmentize(shapely.LinearRing(BAR.points_mm), 0.5))
    gone = (np.abs(points[:, 0] - 140.0) < 15.0) & (points[:, 1] > 140.0)
    first = int(np.flatnonzero(gone)[-1]) + 1
    ring = np.roll(points[:-1], -first, axis=0)[: -int(gone.sum())]
    assert 29.0 < math.dist(ring[0], ring[-1]) < 33.0
    photo = drawn([Mark(points_mm=tuple(map(tuple, ring)), width_mm=0.9), *LINE])
    where = tuple(CAMERA.to_px([(140.0, 140.0)])[0]) if inside else None
    words = "no closed trace surrounds" if inside else "no closed trace is seen"
    refused(photo, [KNOWN], words, "[Cc]lose (its|the) gaps? with a pen", inside_px=where)

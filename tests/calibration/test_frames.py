"""Frames and references round and within a trace are not the piece."""

import dataclasses

import numpy as np
import pytest
import shapely

from calibration.contour import find_contour
from calibration.errors import PhotoError
from calibration.ink import find_ink
from tests.calibration.strokes_render import Sheet, box, circle
from tests.calibration.traces import (
    CORNER_PX,
    PEN,
    area,
    contour,
    inner,
    piece,
    traced,
    two_pieces,
    worst,
)


def test_a_drawn_reference_rectangle_is_not_the_piece():
    found = contour(two_pieces(), avoid_px=[box(60, 60, 740, 240)])
    assert area(found.outer_px) == pytest.approx(354 * 134, rel=0.002)


def test_a_frame_round_the_trace_is_not_the_piece():
    sheet = traced().stroke(box(20, 20, 780, 480), width=PEN, closed=True)
    assert worst(contour(sheet).outer_px, inner(piece())) < CORNER_PX


def test_a_frame_round_a_small_trace_and_its_reference_is_not_the_piece():
    small = box(150, 120, 330, 200)  # 5 % of the frame
    line = np.array([[150.0, 300.0], [450.0, 300.0]])
    sheet = Sheet(800, 500).stroke(small, width=PEN, closed=True).stroke(line, width=PEN)
    sheet.stroke(box(20, 20, 780, 480), width=3.0, closed=True)
    found = contour(sheet, avoid_px=[line])
    assert area(found.outer_px) == pytest.approx(174 * 74, rel=0.005)


def test_a_frame_does_not_hide_a_trace_with_a_gap():
    line = np.array([[150.0, 300.0], [450.0, 300.0]])
    sheet = (
        Sheet(800, 500)
        .stroke(line, width=PEN)
        .stroke([[230, 120], [330, 120], [330, 200], [150, 200], [150, 120], [205, 120]], width=PEN)
    )
    sheet.stroke(box(20, 20, 780, 480), width=3.0, closed=True)
    found = contour(sheet, avoid_px=[line], mm_per_px=0.2)
    assert len(found.bridges_px) == 1
    assert area(found.outer_px) == pytest.approx(174 * 74, rel=0.01)


def test_a_piece_with_a_drilled_hole_and_the_reference_within_stays_the_piece():
    line = np.array([[350.0, 300.0], [550.0, 300.0]])
    sheet = traced().stroke(line, width=PEN).stroke(circle(220, 240, 32), width=PEN, closed=True)
    found = contour(sheet, avoid_px=[line])
    assert worst(found.outer_px, inner(piece())) < CORNER_PX
    assert len(found.holes_px) == 1


def with_line_within(opening, *, at=(350.0, 330.0)):
    """Return a plate traced with an opening and a reference line drawn in it, and the line."""
    line = np.array([at, (at[0] + 200.0, at[1])])
    sheet = traced().stroke(line, width=PEN).stroke(opening, width=PEN, closed=True)
    return sheet, line


# The plate encloses 148 400 px; the shares are of that.
@pytest.mark.parametrize("radius", [32, 42, 62, 90])  # 2, 4, 8, 17 %
def test_a_round_hole_beside_the_reference_within_the_piece_makes_no_frame(radius):
    sheet, line = with_line_within(circle(250, 220, radius))
    found = contour(sheet, avoid_px=[line])
    assert worst(found.outer_px, inner(piece())) < CORNER_PX
    assert len(found.holes_px) == 1
    assert bool(found.notes) == (radius == 90)  # a tenth of the piece or more may be meant


@pytest.mark.parametrize("side", [130, 180, 200])  # 11, 22, 27 %
def test_a_large_window_beside_the_reference_is_told_and_can_be_pointed_at(side):
    window = box(200 - side / 4, 110, 200 + side * 3 / 4, 110 + side)
    sheet, line = with_line_within(window, at=(410.0, 350.0))
    found = contour(sheet, avoid_px=[line])
    assert worst(found.outer_px, inner(piece())) < CORNER_PX
    (note,) = found.notes
    place = tuple(map(float, note.split("--inside ")[1].rstrip(".").split(",")))
    pointed = contour(sheet, avoid_px=[line], inside_px=place)
    assert area(pointed.outer_px) == pytest.approx((side - PEN) ** 2, rel=0.01)


def test_a_frame_passed_over_is_told_and_can_be_pointed_at():
    sheet = traced().stroke(box(20, 20, 780, 480), width=PEN, closed=True)
    (note,) = contour(sheet).notes
    assert "taken for a frame" in note
    place = tuple(map(float, note.split("--inside ")[1].rstrip(".").split(",")))
    pointed = contour(sheet, inside_px=place)
    assert area(pointed.outer_px) == pytest.approx(754 * 454, rel=0.002)
    assert "runs along the sheet's edges" in pointed.notes[0]


def test_a_straight_box_drawn_round_a_blade_is_no_piece():
    along = np.linspace(0.0, np.pi, 60)
    blade = np.column_stack([400 - 180 * np.cos(along), 320 - 130 * np.sin(along)])
    sheet = Sheet(800, 500).stroke(blade, width=PEN, closed=True)
    sheet.stroke(box(180, 150, 620, 350), width=PEN, closed=True)
    found = contour(sheet)
    assert worst(found.outer_px, shapely.Polygon(blade).buffer(-PEN / 2)) < 2 * CORNER_PX
    assert "taken for a frame" in found.notes[0]


def test_a_gap_on_the_near_side_of_a_leaning_sheet_is_tried_before_a_frame_is_measured():
    sheet = Sheet(800, 500).stroke(
        [[240, 120], [400, 120], [400, 220], [150, 220], [150, 120], [211, 120]], width=PEN
    )
    sheet.stroke(box(20, 20, 780, 480), width=3.0, closed=True)
    # 23 px of bare paper: 5 mm there are 4.1 mm by the scale in the picture's middle
    found = contour(sheet, mm_per_px=0.25)
    assert area(found.outer_px) == pytest.approx(244 * 94, rel=0.01)


def on_a_bench(sheet, *, edge=30):
    """Return a drawn sheet on a dark bench that is seen all round it."""
    photo = sheet.photo()
    rgb = np.full_like(photo.rgb, 60)
    rgb[edge:-edge, edge:-edge] = photo.rgb[edge:-edge, edge:-edge]
    return dataclasses.replace(photo, rgb=rgb)


def test_a_frame_round_a_trace_that_stays_open_is_refused_unless_pointed_at():
    sheet = Sheet(800, 500).stroke([[300, 200], [500, 200], [500, 300]], width=PEN)
    sheet.stroke(box(60, 60, 740, 440), width=3.0, closed=True)
    photo = on_a_bench(sheet)
    with pytest.raises(PhotoError, match="frame along the sheet's edges") as told:
        find_contour(photo, find_ink(photo), mm_per_px=0.2)
    place = tuple(map(float, told.value.remedy.split("--inside ")[1].rstrip(".").split(",")))
    found = find_contour(photo, find_ink(photo), mm_per_px=0.2, inside_px=place)
    assert area(found.outer_px) == pytest.approx(677 * 377, rel=0.002)


def test_a_reference_of_a_few_pixels_divides_nothing():
    sheet = traced().stroke([[300, 240], [303, 240]], width=PEN)
    found = contour(sheet, avoid_px=[np.array([[300.0, 240.0], [303.0, 240.0]])])
    assert worst(found.outer_px, inner(piece())) < CORNER_PX

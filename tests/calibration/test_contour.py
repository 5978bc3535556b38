import numpy as np
import pytest
import shapely

from calibration.errors import PhotoError
from tests.calibration.strokes_render import Sheet, circle
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


def test_the_inner_edge_of_the_trace_is_the_steel():
    found = contour(traced())
    assert worst(found.outer_px, inner(piece())) < CORNER_PX
    there = shapely.distance(shapely.points(found.outer_px), inner(piece()).exterior)
    assert np.quantile(there, 0.95) < 0.15
    assert found.bridges_px == ()
    assert len(found.sigma_px) == len(found.outer_px)


@pytest.mark.parametrize(
    ("edge", "out"), [("inner", -PEN / 2), ("middle", 0.0), ("outer", PEN / 2)]
)
def test_the_asked_side_of_the_stroke_is_followed(edge, out):
    ring = Sheet(800, 500).stroke(circle(400, 250, 180), width=PEN, closed=True)
    found = contour(ring, edge=edge)
    radius = np.hypot(*(found.outer_px - [400, 250]).T)
    assert radius.mean() == pytest.approx(180 + out, abs=0.2)


def test_gaps_are_bridged_and_reported_where_they_are():
    sheet = Sheet(800, 500).stroke(
        [[300, 100], [680, 100], [620, 380], [120, 380], [120, 200]], width=PEN
    )
    sheet.stroke([[120, 170], [120, 100], [270, 100]], width=PEN)
    found = contour(sheet, mm_per_px=0.15)  # 5 mm are 33 px
    assert len(found.bridges_px) == 2
    middles = sorted(way.mean(axis=0).round().tolist() for way in found.bridges_px)
    assert np.allclose(middles, [[120, 185], [285, 100]], atol=4)
    assert worst(found.outer_px, inner(piece())) < CORNER_PX
    over = np.hypot(*(found.outer_px - [285, 103]).T) < 8
    assert found.sigma_px[over].min() > 2 * np.median(found.sigma_px)


def test_a_gap_beside_a_hump_is_bridged_to_the_next_end_not_through_the_hump():
    along = np.linspace(0.0, 0.85, 30)
    hump = np.column_stack([300 + 40 * along, 200 - 5 * (1 - np.cos(2 * np.pi * along))])
    rest = [[346, 200], [680, 200], [680, 400], [120, 400], [120, 200]]
    found = contour(Sheet(800, 500).stroke(np.vstack([rest, hump]), width=PEN), mm_per_px=0.1)
    assert len(found.bridges_px) == 1
    assert found.bridges_px[0][:, 0].min() > 333
    top = found.outer_px[np.abs(found.outer_px - [320, 193]).max(axis=1) < 2]
    assert top[:, 1].mean() == pytest.approx(193, abs=0.5)  # 10 px up, half a pen in


def test_a_gap_at_a_corner_is_bridged_round_it():
    sheet = Sheet(800, 500).stroke(
        [[120, 120], [120, 380], [620, 380], [680, 100], [140, 100]], width=PEN
    )
    found = contour(sheet, mm_per_px=0.15)
    assert len(found.bridges_px) == 1
    assert worst(found.outer_px, inner(piece())) < CORNER_PX


def test_a_notch_in_the_piece_is_no_branch_of_the_stroke():
    # a felt pen led into a notch of 70 degrees: its inner edge strays from the stroke's middle,
    # which cuts the corner; cut short, it would claim steel in the notch
    depth = 30 / np.tan(np.radians(35))
    corners = np.array(
        [[120, 100], [390, 100], [420, 100 + depth], [450, 100], [680, 100], [680, 380], [120, 380]]
    )
    found = contour(Sheet(800, 500).stroke(corners, width=20.0, closed=True))
    steel = shapely.Polygon(corners).buffer(-10.0, quad_segs=32)
    notch = np.hypot(*(found.outer_px - [420, 105 + depth]).T) < 30
    assert notch.sum() > 30
    assert shapely.distance(shapely.points(found.outer_px[notch]), steel.exterior).max() < CORNER_PX


def test_a_gap_wider_than_five_millimetres_is_left_to_the_maker():
    sheet = Sheet(800, 500).stroke(
        [[350, 100], [680, 100], [620, 380], [120, 380], [120, 100], [270, 100]], width=PEN
    )
    with pytest.raises(PhotoError, match="no closed trace"):
        contour(sheet, mm_per_px=0.15)  # 80 px are 12 mm


def test_an_overrun_into_the_piece_leaves_no_notch():
    sheet = traced().stroke([[120, 380], [120, 100], [160, 150]], width=PEN)
    sheet.stroke([[680, 100], [650, 240], [600, 220]], width=PEN)
    assert worst(contour(sheet).outer_px, inner(piece())) < CORNER_PX


def test_a_stretch_drawn_twice_goes_to_the_inner_stroke():
    sheet = (
        traced()
        .stroke([[200, 380], [230, 390], [470, 390], [500, 380]], width=PEN)
        .stroke([[300, 100], [330, 110], [450, 110], [480, 100]], width=PEN)
    )
    found = contour(sheet)
    doubled = found.outer_px[(found.outer_px[:, 0] > 340) & (found.outer_px[:, 0] < 440)]
    upper = doubled[doubled[:, 1] < 240][:, 1]
    lower = doubled[doubled[:, 1] > 240][:, 1]
    assert upper.mean() == pytest.approx(113, abs=0.3)
    assert lower.mean() == pytest.approx(377, abs=0.3)


def write_label(sheet, x, y, size=40):
    """Write the letters D and 0."""
    sheet.stroke([[x, y], [x, y + size], [x + size / 2, y + size / 2]], width=4, closed=True)
    turn = circle(0, 0, 1)
    return sheet.stroke(
        turn * [size / 3, size / 2] + [x + size * 1.3, y + size / 2], width=4, closed=True
    )


def test_writing_inside_is_no_hole():
    found = contour(write_label(traced(), 300, 200))
    assert found.holes_px == ()
    assert worst(found.outer_px, inner(piece())) < CORNER_PX


def test_traced_drill_holes_are_holes_to_their_outer_ink_edge():
    sheet = write_label(traced(), 450, 200)
    sheet.stroke(circle(220, 240, 25), width=PEN, closed=True)
    sheet.stroke(circle(330, 300, 18), width=PEN, closed=True)
    holes = sorted(contour(sheet).holes_px, key=lambda hole: hole[:, 0].mean())
    assert len(holes) == 2
    for hole, (x, y, radius) in zip(holes, [(220, 240, 28), (330, 300, 21)], strict=True):
        assert np.hypot(*(hole - [x, y]).T).mean() == pytest.approx(radius, abs=0.15)


def test_of_two_traces_the_larger_is_taken_unless_the_maker_points():
    found = contour(two_pieces())
    assert area(found.outer_px) == pytest.approx(674 * 174, rel=0.002)
    assert "Another closed trace" in found.notes[0]
    pointed = contour(two_pieces(), inside_px=(200.0, 370.0))
    assert pointed.notes == ()
    assert area(pointed.outer_px) == pytest.approx(354 * 134, rel=0.002)


def test_the_width_of_thin_writing_is_not_that_of_a_broad_trace():
    broad = 12.0
    sheet = Sheet(800, 500).stroke(
        [[300, 100], [680, 100], [620, 380], [120, 380], [120, 100], [273, 100]], width=broad
    )
    for x in range(180, 600, 60):
        sheet = write_label(sheet, x, 180).stroke([[x, 250], [x + 40, 250]], width=3)
    found = contour(sheet, mm_per_px=0.31)  # 15 px of bare paper, 4.7 mm
    steel = shapely.Polygon(piece()).buffer(-broad / 2, join_style="mitre")
    assert len(found.bridges_px) == 1
    there = shapely.distance(shapely.points(found.outer_px), steel.exterior)
    assert np.quantile(there, 0.95) < 0.3


def test_pointing_outside_says_so():
    with pytest.raises(PhotoError, match=r"surrounds the pixel 20,20.*Point inside"):
        contour(traced(), inside_px=(20.0, 20.0))


def test_a_blank_sheet_says_that_no_ink_is_seen():
    with pytest.raises(PhotoError, match=r"no ink .* dark pen"):
        contour(Sheet(400, 300))


def test_a_trace_that_runs_off_the_picture_says_so():
    with pytest.raises(PhotoError, match=r"runs off .* whole trace"):
        contour(traced(piece(left=-50)))

import dataclasses

import numpy as np
import pytest
import shapely

from calibration.contour import find_contour
from calibration.errors import PhotoError
from calibration.ink import find_ink
from tests.calibration.strokes_render import Sheet, box, circle

PEN = 6.0
# Blur of 0.8 px, and 0.7 px more against noise, round a sharp corner of bare paper: at a right
# angle the half level lies where Phi(x)^2 = 1/2, x = 0.55 sigma from both sides, 0.82 px from the
# corner; at the piece's corner of 78 degrees farther.
CORNER_PX = 1.4


def piece(left=120, top=100, right=680, bottom=380):
    """Return the corners of a rectangle with a slanting end."""
    return np.array([[left, top], [right, top], [right - 60, bottom], [left, bottom]], float)


def inner(corners):
    return shapely.Polygon(corners).buffer(-PEN / 2, join_style="mitre")


def contour(sheet, **options):
    photo = sheet.photo()
    return find_contour(photo, find_ink(photo), **options)


def worst(points, truth):
    """Return the largest distance of the edge from the true one, both ways, px."""
    there = shapely.distance(shapely.points(points), truth.exterior)
    back = shapely.distance(
        shapely.points(shapely.get_coordinates(shapely.segmentize(truth.exterior, 2.0))),
        shapely.LinearRing(points),
    )
    return max(there.max(), back.max())


def traced(corners=None):
    return Sheet(800, 500).stroke(piece() if corners is None else corners, width=PEN, closed=True)


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


def two_pieces():
    sheet = Sheet(800, 500).stroke(box(60, 60, 740, 240), width=PEN, closed=True)
    return sheet.stroke(box(60, 300, 420, 440), width=PEN, closed=True)


def area(points):
    return shapely.Polygon(points).area


def test_of_two_traces_the_larger_is_taken_unless_the_maker_points():
    found = contour(two_pieces())
    assert area(found.outer_px) == pytest.approx(674 * 174, rel=0.002)
    assert "Another closed trace" in found.notes[0]
    pointed = contour(two_pieces(), inside_px=(200.0, 370.0))
    assert pointed.notes == ()
    assert area(pointed.outer_px) == pytest.approx(354 * 134, rel=0.002)


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

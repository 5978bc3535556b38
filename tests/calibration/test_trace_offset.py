"""Sizes of the steel check a trace, and correct it on request."""

import dataclasses

import numpy as np
import pytest
import shapely

from calibration.calipers import lengths_covariance_mm2
from calibration.capture import capture
from calibration.pens import Pen, stand_off_note
from calibration.references import LineReference, RectangleReference
from calibration.simplify import MAX_VERTICES
from calibration.sizes import SteelSize
from calibration.trace_offset import OffsetTold
from geometry.errors import InputError
from tests.calibration.strokes_render import Sheet, box, circle

MM = 0.2  # a pixel
FRAME = RectangleReference(  # between the middles of its lines: 160 x 112 mm, tilt known
    width_mm=160.0, height_mm=112.0, corners_px=((50, 20), (850, 20), (850, 580), (50, 580))
)
OFFSET_MM = 0.6
STEEL = (100.0, 40.0)  # the piece; its pen stood off by 0.6 mm, so its trace is 101.2 x 41.2


def drawing(*, hole: bool = False, frame: bool = True) -> Sheet:
    """A bar of 100 x 40 mm traced 0.6 mm too large, 6 px of ink outside that."""
    out = OFFSET_MM / MM + 3  # to the middle of the pen line, px
    sheet = Sheet(900, 600).stroke(
        box(150 - out, 100 - out, 650 + out, 300 + out), width=6, closed=True
    )
    if hole:  # of 16 mm in the steel: traced from within, 0.6 mm too small
        sheet.stroke(circle(400, 200, 40 - out), width=6, closed=True)
    return sheet.stroke(box(50, 20, 850, 580), width=3, closed=True) if frame else sheet


def told(*sizes: SteelSize, correct: bool = False, pen: Pen | None = None) -> OffsetTold:
    return OffsetTold(sizes=sizes, correct=correct, pen=pen)


LENGTH = SteelSize(kind="length", true_mm=STEEL[0])
WIDTH = SteelSize(kind="width", true_mm=STEEL[1])
BETWEEN = SteelSize(kind="between", true_mm=STEEL[1], ends_px=((300.0, 96.0), (302.0, 304.0)))


def photographed(sheet: Sheet):
    """The sheet by a camera whose focal length is known: its lens is a phone's main one."""
    return dataclasses.replace(sheet.photo(), focal_px=1000.0)


@pytest.fixture(scope="module")
def photo():
    return photographed(drawing())


@pytest.fixture(scope="module")
def plain(photo):
    return capture(photo, [FRAME])


def sides(found):
    left, low, right, high = found.billet.shape.bounds
    return right - left, high - low


def test_sizes_check_and_leave_the_piece_as_it_is(photo, plain):
    found = capture(photo, [FRAME], told=told(LENGTH, WIDTH, BETWEEN))
    assert found.billet.shape.equals(plain.billet.shape)
    assert found.billet.vertex_sigma_mm == plain.billet.vertex_sigma_mm
    for check in found.checks:
        assert check.too_large_mm == pytest.approx(2 * OFFSET_MM, abs=0.15)
    assert not found.checks[1].agrees
    assert any("too large, more than its doubt" in note for note in found.notes)
    assert any("have it corrected" in note for note in found.notes)
    assert found.budget.bias_mm == pytest.approx(OFFSET_MM, abs=0.1)


def test_one_size_alone_asks_for_a_second(photo):
    found = capture(photo, [FRAME], told=told(WIDTH))
    assert any("measure a second size" in note for note in found.notes)
    assert not any("All sizes" in note for note in found.notes)


@pytest.mark.parametrize("slip_mm", [-4.5, 2.5])
def test_a_size_that_no_pen_explains_is_not_offered_as_a_correction(photo, slip_mm):
    """A pen's line lies 2.05 mm outside at most: 1/4 in steel, leaned over it by 5 degrees."""
    slipped = dataclasses.replace(WIDTH, true_mm=WIDTH.true_mm + slip_mm)
    found = capture(photo, [FRAME], told=told(slipped))
    assert any("more than a pen does: check the sizes" in note for note in found.notes)
    assert not any("have it corrected" in note for note in found.notes)
    taken = capture(photo, [FRAME], told=told(slipped, correct=True))
    assert any("more than a pen does: check the sizes" in note for note in taken.notes)


@pytest.mark.parametrize("sizes", [(WIDTH,), (BETWEEN,), (LENGTH, WIDTH, BETWEEN)])
def test_the_offset_is_taken_off_on_request(photo, plain, sizes):
    found = capture(photo, [FRAME], told=told(*sizes, correct=True))
    assert found.offset.value_mm == pytest.approx(OFFSET_MM, abs=0.1)
    assert abs(found.offset.value_mm - OFFSET_MM) < 2 * found.offset.sigma_mm
    assert sides(found) == pytest.approx(STEEL, abs=0.15)
    assert all(check.agrees for check in found.checks)
    assert any("they agree" in note for note in found.notes) == (len(sizes) > 1)
    assert any("checks nothing" in note for note in found.notes) == (len(sizes) == 1)
    assert len(found.billet.vertex_sigma_mm) == len(found.billet.vertices_mm()) < MAX_VERTICES
    usual = (float(np.median(each.billet.vertex_sigma_mm)) for each in (found, plain))
    with_it, without = usual
    assert with_it == pytest.approx(np.hypot(without, found.offset.sigma_mm), rel=0.15)
    assert found.budget.bias_mm == 0.0


def test_a_photo_whose_tilt_is_not_known_is_hardly_corrected():
    """One line alone: a width can be off by millimetres for other reasons than the pen."""
    line = LineReference(length_mm=81.2, ends_px=((200.0, 450.0), (600.0, 450.0)))
    photo = photographed(drawing(frame=False).stroke([[200, 450], [600, 450]], width=6))
    found = capture(photo, [line], recognise_sheet=False, told=told(WIDTH, correct=True))
    assert 0.0 < found.offset.value_mm < 1.5
    assert found.offset.sigma_mm > 0.2
    assert found.checks[0].sigma_mm > 0.5


def test_the_contour_shown_is_the_corrected_one(photo, plain):
    found = capture(photo, [FRAME], told=told(WIDTH, correct=True))
    before = shapely.Polygon(plain.contour.outer_px)
    after = shapely.Polygon(found.contour.outer_px)
    assert before.contains(after)
    assert shapely.distance(after.exterior, before.exterior) == pytest.approx(
        found.offset.value_mm / MM, abs=0.3
    )


def test_a_hole_traced_from_within_grows():
    photo = photographed(drawing(hole=True))
    found = capture(photo, [FRAME], told=told(WIDTH, correct=True))
    (hole,) = found.billet.shape.interiors
    left, low, right, high = hole.bounds
    assert ((right - left) + (high - low)) / 2 == pytest.approx(16.0, abs=0.2)
    before = capture(photo, [FRAME]).billet.shape.interiors[0]
    assert shapely.Polygon(hole).contains(shapely.Polygon(before))


def test_a_measured_pen_is_taken_off(photo):
    pen = Pen(name="biro", offset_mm=OFFSET_MM, sigma_mm=0.05, thickness_mm=4.0)
    found = capture(photo, [FRAME], thickness_mm=4.0, told=told(pen=pen))
    assert sides(found) == pytest.approx(STEEL, abs=0.15)
    assert found.offset.value_mm == OFFSET_MM
    assert any("biro" in note for note in found.notes)


def test_pen_and_sizes_agree_on_one_offset(photo):
    pen = Pen(name="biro", offset_mm=0.9, sigma_mm=0.2, thickness_mm=4.0)
    by_sizes = capture(photo, [FRAME], told=told(WIDTH, correct=True)).offset
    both = capture(photo, [FRAME], thickness_mm=4.0, told=told(WIDTH, correct=True, pen=pen)).offset
    assert by_sizes.value_mm < both.value_mm < 0.9
    assert both.value_mm - by_sizes.value_mm < 0.9 - both.value_mm  # calipers know it better


def test_nothing_told_about_thick_steel_says_what_to_expect(photo):
    """6.35 mm: 0.35 + 6.35 tan 10 deg = 1.47 at most."""
    found = capture(photo, [FRAME], thickness_mm=6.35)
    (note,) = (note for note in found.notes if "stands off" in note)
    assert note.startswith(
        "Along 6.35 mm steel a pen usually stands off 0.8 mm, an upright one 1.5"
    )
    assert 0.35 < found.budget.bias_mm < 1.47
    assert found.budget.worst_mm > 1.4
    assert stand_off_note(3.175).startswith(
        "Along 3.175 mm steel a pen usually stands off 0.5 mm, an upright one 0.9 mm"
    )


@pytest.mark.parametrize(("edge", "off_mm"), [("inner", 0.6), ("middle", 1.2), ("outer", 1.8)])
def test_the_width_of_the_ink_counts_where_its_inner_side_is_not_taken(photo, edge, off_mm):
    """1.2 mm of ink; on 4 mm steel pens are 0.2 + 0.4 mm off within it, as practice has it."""
    thick = capture(photo, [FRAME], edge=edge, thickness_mm=4.0)
    assert thick.budget.bias_mm == pytest.approx(off_mm, abs=0.1)
    assert thick.billet.too_large_mm == pytest.approx(off_mm, abs=0.1)
    untold = capture(photo, [FRAME], edge=edge)
    assert untold.budget.bias_mm == pytest.approx(off_mm - 0.6 + 0.5, abs=0.1)
    by_width = capture(photo, [FRAME], edge=edge, told=told(WIDTH, correct=True))
    assert sides(by_width) == pytest.approx(STEEL, abs=0.2)
    assert not any("more than a pen does" in note for note in by_width.notes)


def test_thicker_steel_changes_what_a_pen_stands_off_and_not_its_ink():
    """The same pen by its inner and its outer side: 0.7 mm of ink apart, on any steel."""
    bar = {"sigma_mm": 0.05, "thickness_mm": 6.35}
    inner = Pen(name="marker", offset_mm=1.2, **bar)
    outer = Pen(name="marker", offset_mm=1.9, edge="outer", beyond_mm=0.7, **bar)
    for thickness_mm in (1.6, 3.0, 6.35, 10.0):
        there = inner.offset_on(thickness_mm, "inner").value_mm
        assert outer.offset_on(thickness_mm, "outer").value_mm == pytest.approx(there + 0.7)
    assert inner.offset_on(1.6, "inner").value_mm < 0.6


def test_without_a_thickness_or_a_size_it_is_asked_for(photo, plain):
    """0.5 mm, give or take 1.0: what pens do along steel of up to 6 mm; practice."""
    assert any("tell the thickness, or a width" in note for note in plain.notes)
    assert plain.billet.too_large_mm == 0.5
    assert plain.billet.budget.bias_sigma_mm == 0.5
    for more in ({"thickness_mm": 4.0}, {"told": told(WIDTH)}):
        notes = capture(photo, [FRAME], **more).notes
        assert not any("stood off is not known" in note for note in notes)


def test_lengths_share_the_doubt_of_the_map(plain):
    """Their own variances are the map's; one twice as long along the same line is off twice."""
    plane = plain.calibration.map
    pairs = np.array([[[150, 200], [350, 200]], [[150, 200], [550, 200]], [[400, 120], [400, 280]]])
    spread = lengths_covariance_mm2(plane, pairs)
    sigmas = [plane.length_sigma_mm(pair) for pair in pairs]
    assert np.sqrt(np.diag(spread)) == pytest.approx(sigmas, rel=1e-3)
    assert np.linalg.eigvalsh(spread).min() > -1e-9
    assert spread[0, 1] / (sigmas[0] * sigmas[1]) > 0.8


def test_a_size_mistyped_is_refused(photo):
    wrong = SteelSize(kind="width", true_mm=15.0)
    for correct in (True, False):
        with pytest.raises(InputError, match=r"told as 15.00 mm, and the photo has 41.\d\d mm"):
            capture(photo, [FRAME], told=told(wrong, correct=correct))


def test_a_width_that_is_the_length_is_named(photo):
    with pytest.raises(InputError, match="near the piece's length: tell it as that"):
        capture(photo, [FRAME], told=told(dataclasses.replace(WIDTH, true_mm=LENGTH.true_mm)))


def test_a_trace_that_grows_by_its_sizes_is_doubted(photo):
    grown = dataclasses.replace(WIDTH, true_mm=WIDTH.true_mm + 1.8)  # 0.4 outside the trace
    notes = capture(photo, [FRAME], told=told(grown, LENGTH, correct=False)).notes
    assert not any("larger than its trace" in note for note in notes)
    taken = capture(photo, [FRAME], told=told(grown, correct=True))
    assert taken.offset.value_mm < -0.2
    assert any("let out by 0." in note for note in taken.notes)
    assert any("larger than its trace" in note for note in taken.notes)


def test_an_offset_that_no_size_agrees_with_is_not_taken_off(photo):
    """A width 8 mm too small and the length as it is: half way would be wrong for both."""
    wrong = SteelSize(kind="width", true_mm=33.2)
    with pytest.raises(InputError, match="agree with no trace offset"):
        capture(photo, [FRAME], told=told(wrong, LENGTH, correct=True))


def test_sizes_that_contradict_each_other_are_told(photo):
    short = SteelSize(kind="width", true_mm=37.0)
    found = capture(photo, [FRAME], told=told(short, LENGTH, BETWEEN))
    assert any("No single trace offset makes the sizes agree" in note for note in found.notes)


def test_the_steel_itself_has_no_trace_to_correct():
    sheet = Sheet(900, 600).fill(box(150, 100, 650, 300), (0.75, 0.75, 0.75))
    photo = photographed(sheet.stroke(box(50, 20, 850, 580), width=3, closed=True))
    found = capture(photo, [FRAME], subject="steel", told=told(LENGTH, WIDTH))
    assert len(found.checks) == 2
    for asked in (told(WIDTH, correct=True), told(pen=Pen(name="", offset_mm=0.5))):
        with pytest.raises(InputError, match="no pen's trace to correct"):
            capture(photo, [FRAME], subject="steel", told=asked)


def test_a_correction_without_a_size_is_refused(photo):
    with pytest.raises(InputError, match="no size to correct"):
        capture(photo, [FRAME], told=told(correct=True))


def test_jaws_on_bare_paper_are_refused(photo):
    off = SteelSize(kind="between", true_mm=20.0, ends_px=((700.0, 100.0), (700.0, 300.0)))
    with pytest.raises(InputError, match="no steel between"):
        capture(photo, [FRAME], told=told(off))


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"kind": "width", "true_mm": 0.0}, "cannot be"),
        ({"kind": "between", "true_mm": 30.0}, "needs both places"),
        ({"kind": "length", "true_mm": 30.0, "ends_px": ((0, 0), (1, 1))}, "has no places"),
    ],
)
def test_a_size_that_makes_no_sense_is_refused(wrong, words):
    with pytest.raises(InputError, match=words):
        SteelSize(**wrong)

"""From the measured piece and what was changed by hand to what follows."""

import datetime
from dataclasses import replace

import pytest
import shapely

from app.document.flow import (
    billet_of,
    claim_of,
    largest_for,
    layout_of,
    placed,
    roomiest_for,
    settled,
)
from app.document.job import Job, OutlineChoice, PhotoFacts
from app.document.job_drawing import drawing_of
from app.document.thickness import with_thickness
from app.document.wording import verdict_sentence
from calibration.pens import Pen
from geometry.billet import Billet
from geometry.editing import AddFlaw, Cut, straightened, vertex_moved
from geometry.error_budget import Budget, Part
from geometry.errors import InputError
from geometry.family import family_named
from geometry.outline import outline_from_rings
from geometry.pose import Pose
from geometry.verdict import Verdict

BAR = Billet(shape=shapely.box(0, 0, 200, 40), vertex_sigma_mm=(0.1,) * 4)
BLANK = outline_from_rings("strip", [(0, 0), (60, 0), (60, 10), (0, 10)])
JOB = Job(billet=BAR, outline=OutlineChoice(drawing=BLANK), pose=Pose(x_mm=70.0, y_mm=15.0))
FLAW = AddFlaw(points_mm=((90.0, 30.0), (110.0, 30.0), (110.0, 35.0), (90.0, 35.0)))


def test_the_layout_keeps_clear_of_flaws_and_cuts() -> None:
    room = layout_of(JOB)
    flawed = layout_of(replace(JOB, edits=(FLAW,)))
    cut = layout_of(replace(JOB, edits=(FLAW, Cut(start_mm=(131.0, 0.0), end_mm=(131.0, 40.0)))))
    assert room is not None
    assert flawed is not None
    assert cut is not None
    assert room.clearance.value_mm == pytest.approx(15.0)
    assert flawed.clearance.value_mm == pytest.approx(5.0)
    assert cut.clearance.value_mm == pytest.approx(1.0)
    assert cut.sigma_mm == 0.25  # the saw's


def test_the_search_stays_out_of_flaws() -> None:
    """A flaw right across the middle: the strip fits in either half and never over it."""
    across = AddFlaw(points_mm=((100.0, -1.0), (100.0, 41.0)), reach_mm=10.0)
    job = replace(JOB, edits=(across,))
    found = roomiest_for(job)
    layout = layout_of(placed(job, found))
    assert layout is not None
    assert layout.clearance.value_mm == pytest.approx(15.0, abs=0.02)  # (40 - 10) / 2, as unflawed
    assert layout.blank.distance(across.region()) >= 14.9
    assert settled(placed(job, found)).clearance.value_mm >= layout.clearance.value_mm - 1e-6


def test_without_changes_the_piece_is_the_very_one_and_with_them_the_same_each_time() -> None:
    assert billet_of(JOB) is BAR
    job = replace(JOB, edits=(FLAW,))
    assert billet_of(job) is billet_of(replace(job, name="other"))
    assert billet_of(replace(job, edits=())) is BAR


def test_a_job_without_steel_says_so() -> None:
    with pytest.raises(InputError, match="no piece of steel"):
        billet_of(Job())


def test_a_blank_on_steel_drawn_in_by_hand_is_doubtful_though_another_place_is_tighter() -> None:
    """A bay of 6 mm under the strip, made straight: 4 mm to spare there, 3 mm on the other side."""
    ring = [(0, 0), (60, 0), (65, 6), (135, 6), (140, 0), (200, 0), (200, 17), (0, 17)]
    piece = Billet(shape=shapely.Polygon(ring), vertex_sigma_mm=(0.1,) * 8)
    bay = straightened(piece, (60.0, 0.0), (140.0, 0.0))
    job = replace(JOB, billet=piece, edits=(bay,), pose=Pose(x_mm=70.0, y_mm=4.0))
    layout = layout_of(job)
    assert layout is not None
    assert layout.clearance.value_mm == pytest.approx(3.0)
    assert layout.verdict is Verdict.DOUBTFUL
    above = layout_of(replace(job, pose=Pose(x_mm=70.0, y_mm=6.5), margin_mm=0.2))
    assert above is not None
    assert above.verdict is Verdict.FITS  # clear of the bay as it was measured


def test_steel_drawn_in_by_hand_is_said_on_the_pattern() -> None:
    edits = (vertex_moved(BAR, (200.0, 40.0), (203.0, 40.0)),)
    claimed = claim_of(replace(JOB, edits=edits))
    assert claimed is not None
    assert claimed.beyond_mm == pytest.approx(3.0, abs=2e-3)
    notes = drawing_of(replace(JOB, edits=edits), datetime.date(2026, 1, 2)).title.notes
    assert any("up to 3.00 mm outside the steel" in note for note in notes)
    inward = (vertex_moved(BAR, (200.0, 40.0), (197.0, 40.0)),)
    assert claim_of(replace(JOB, edits=inward)) is None
    notes = drawing_of(replace(JOB, edits=inward), datetime.date(2026, 1, 2)).title.notes
    assert not any("by hand" in note for note in notes)


def test_what_a_trace_is_too_large_comes_off_the_room_and_is_said() -> None:
    """15 mm of room less 0.7; 0.1 and 0.3 of doubt make 0.316, twice that is 0.63."""
    pen = Part(name="pen's stand-off, not measured", bias_mm=0.7, sigma_mm=0.3)
    job = replace(JOB, billet=replace(BAR, budget=Budget(parts=(pen,))), margin_mm=14.0)
    layout = layout_of(job)
    assert layout is not None
    assert layout.clearance.value_mm == pytest.approx(14.3)
    assert layout.sigma_mm == pytest.approx(0.3162, abs=1e-4)
    assert layout.verdict is Verdict.DOUBTFUL  # 14.3 - 0.63 is less than 14; 15 - 0.2 was more
    assert layout_of(replace(job, billet=BAR)).verdict is Verdict.FITS
    words = verdict_sentence(layout, job.margin_mm, "mm")
    assert words.startswith("Doubtful: 14.3 mm spare, give or take 0.6 mm; you ask for 14.0 mm.")
    assert "likely 0.7 mm too large as measured, all round: that is taken off" in words
    found = roomiest_for(job)
    assert found.clearance.value_mm == pytest.approx(14.3, abs=0.01)
    roomy = replace(job, margin_mm=1.0)
    notes = drawing_of(roomy, datetime.date(2020, 1, 1)).title.notes
    assert any("0.7 mm too large" in note for note in notes)


def test_the_largest_size_keeps_clear_of_steel_that_may_not_be_there() -> None:
    """40 wide, 0.7 off both sides, margin 1 and twice 0.3162 at both: 35.3351 for 10 of blank."""
    pen = Part(name="pen", bias_mm=0.7, sigma_mm=0.3)
    job = replace(JOB, billet=replace(BAR, budget=Budget(parts=(pen,))), size_locked=False)
    short = outline_from_rings("stub", [(0, 0), (12, 0), (12, 10), (0, 10)])
    job = replace(job, outline=OutlineChoice(drawing=short))
    assert largest_for(job).pose.scale == pytest.approx(3.5335, abs=2e-3)


def test_the_thickness_tells_what_an_unmeasured_pen_stands_off() -> None:
    photo = PhotoFacts(name="a.jpg", data=b"x")
    traced = replace(JOB, photo=photo, measured_from="somehow")
    # practice: 0.2 and a tenth of the thickness
    thick = with_thickness(traced, 5.0)
    assert thick.billet.too_large_mm == pytest.approx(0.7)
    assert with_thickness(thick, 3.0).billet.too_large_mm == pytest.approx(0.5)
    assert with_thickness(thick, None).billet.too_large_mm == 0.5  # of any steel; practice
    steel = replace(traced, photo=replace(photo, subject="steel"))
    pen = replace(traced, photo=replace(photo, pen=Pen(name="biro", offset_mm=0.4)))
    drawn = replace(JOB, measured_from="")
    for other in (steel, pen, drawn):
        assert with_thickness(other, 5.0).billet.too_large_mm == 0.0
        assert with_thickness(other, 5.0).thickness_mm == 5.0


def test_a_crack_in_the_blank_does_not_fit_and_is_named_where_it_lies() -> None:
    """0.05 mm wide and 0.1 mm of doubt of the edge: by its half width it would be doubtful."""
    choice = OutlineChoice(family="full_tang_drop_point")
    shape = family_named(choice.family).outline({})
    station = next(iter(shape.stations))
    inner = shape.polygon(0.1).buffer(-5.0)  # stations lie on the edge or off it
    x, y = shapely.get_coordinates(
        shapely.shortest_line(inner, shapely.Point(station.x_mm, station.y_mm))
    )[0]
    steel = shapely.box(-250, -60, 350, 90)
    crack = shapely.box(x - 3.0, y - 0.025, x + 3.0, y + 0.025)
    billet = Billet(shape=steel, vertex_sigma_mm=(0.1,) * 4, flaws=(crack,))
    job = Job(billet=billet, outline=choice, pose=Pose())
    layout = layout_of(job)
    assert layout is not None
    assert layout.clearance.value_mm == pytest.approx(-0.025, abs=0.002)  # published: unchanged
    assert layout.verdict is Verdict.DOES_NOT_FIT
    words = f"a flaw lies in the blank near the {station.name}."
    assert verdict_sentence(layout, 1.0, "mm") == f"Does not fit: {words}"
    hole = Billet(shape=steel.difference(crack))
    drilled = layout_of(replace(job, billet=hole))
    assert drilled is not None
    assert drilled.verdict is Verdict.DOES_NOT_FIT
    assert "a hole of the steel lies in the blank near" in verdict_sentence(drilled, 1.0, "mm")
    away = layout_of(replace(job, pose=Pose(y_mm=-60.0 - y), billet=billet))
    assert away is not None
    assert away.covered is None

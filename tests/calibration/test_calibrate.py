import dataclasses
import math

import numpy as np
import pytest

from calibration.calibrate import calibrate
from calibration.errors import PhotoError
from calibration.ink import find_ink
from calibration.references import LineReference, RectangleReference, SheetReference
from geometry.errors import Cancelled, InputError
from tests.calibration.render import (
    BLUE,
    PENCIL,
    Camera,
    Mark,
    Scene,
    rigid_error,
    ruled_line,
    wavy_ring,
)
from tests.calibration.ruled_sheets import (
    BAR,
    ENDS,
    GRID,
    LEANING,
    LETTER,
    LINE,
    PIECE,
    RULES,
    SHORT,
    line_error_px,
    outcome,
    piece_error_mm,
    plain,
)


def test_line_and_sheet_give_the_piece_to_hundredths():
    photo, ink = plain()
    calibration = calibrate(photo, ink, [LINE, LETTER])
    assert piece_error_mm(LEANING, calibration) < 0.03
    assert line_error_px(LEANING, calibration.found[0]) < 0.15
    assert calibration.tilt_deg == pytest.approx(13.0, abs=0.3)
    assert calibration.height_mm == pytest.approx(LEANING.lens_mm()[2], rel=0.01)
    assert calibration.found[0].measured_mm[0] == pytest.approx(100.0, abs=0.05)
    assert calibration.notes == ()


def test_a_line_alone_doubts_what_it_cannot_see():
    camera = Camera(tilt_deg=6.0, azimuth_deg=50.0)
    photo, ink = plain(camera)
    calibration = calibrate(photo, ink, [LINE], recognise_sheet=False)
    assert not calibration.tilt_known
    assert "Tell the sheet's size" in calibration.notes[0]
    px = camera.to_px(PIECE)
    errors = rigid_error(calibration.map.to_mm(px), PIECE)
    assert errors.max() > 1.0  # what a tilt of 6 degrees costs
    assert np.quantile(errors / calibration.map.sigma_mm(px), 0.95) < 2.0


@pytest.mark.parametrize(
    "marks",
    [
        [*RULES, wavy_ring((140, 140), 85, 25, takes=BLUE),
         *ruled_line(*ENDS, takes=BLUE, width_mm=0.5)],
        [*GRID, BAR, *ruled_line(*ENDS, width_mm=0.5)],
        [wavy_ring((140, 140), 85, 25, takes=PENCIL),
         *ruled_line(*ENDS, takes=PENCIL, width_mm=0.5)],
    ],
    ids=["ballpoint on rules", "felt on a grid's line", "pencil"],
)  # fmt: skip
def test_lines_are_found_in_any_ink_on_any_paper(marks):
    scene = Scene(marks=marks)
    calibration = outcome(scene, LINE)
    assert line_error_px(scene.camera, calibration.found[0]) < 0.2


def test_a_line_without_ticks_is_doubted_more():
    scene = Scene(marks=[BAR, *ruled_line(*ENDS, tick_mm=0)])
    bare = outcome(scene, LINE, recognise_sheet=False)
    # round tips reach half a pen's width beyond the marks
    assert line_error_px(scene.camera, bare.found[0]) < 0.5 * 0.6 / 0.31 + 0.3
    ticked = calibrate(*plain(Camera()), [LINE], recognise_sheet=False)
    at = scene.camera.to_px(ENDS)
    assert ticked.map.length_sigma_mm(at) == pytest.approx(0.35, abs=0.02)  # two ends, 0.25 each
    assert bare.map.length_sigma_mm(at) > 1.2 * ticked.map.length_sigma_mm(at)


def test_two_lines_are_told_apart_by_their_lengths():
    short = ((40.0, 50.0), (40.0, 100.0))
    scene = Scene(marks=[BAR, *ruled_line(*ENDS), *ruled_line(*short)], camera=LEANING)
    calibration = outcome(scene, LineReference(length_mm=50.0), LINE)
    assert line_error_px(LEANING, calibration.found[0], short) < 0.2
    assert line_error_px(LEANING, calibration.found[1]) < 0.2


def test_the_sheet_tells_which_of_two_lines_is_meant():
    other = ((60.0, 60.0), (150.0, 60.0))
    scene = Scene(marks=[BAR, *ruled_line(*ENDS), *ruled_line(*other)])
    sure = outcome(scene, LineReference(length_mm=90.0), LETTER)
    assert line_error_px(scene.camera, sure.found[0], other) < 0.2


@pytest.mark.parametrize(("typed_mm", "ends_mm"), [(50.0, SHORT), (100.0, ENDS)])
def test_of_two_lines_the_one_that_makes_the_sheet_a_paper_is_meant(typed_mm, ends_mm):
    """Lines of 100 and 50 mm from one corner; by the wrong one the sheet is half or double."""
    scene = Scene(marks=[BAR, *ruled_line(*ENDS), *ruled_line(*SHORT)], camera=LEANING)
    found = outcome(scene, LineReference(length_mm=typed_mm))
    assert line_error_px(LEANING, found.found[0], ends_mm) < 0.2
    assert piece_error_mm(LEANING, found) < 0.15


@pytest.mark.parametrize(
    ("sheet_mm", "sheet_seen"), [((268.0, 201.0), True), ((279.4, 215.9), False)]
)
def test_of_two_lines_none_is_taken_where_no_paper_tells(sheet_mm, sheet_seen):
    scene = Scene(sheet_mm=sheet_mm, marks=[BAR, *ruled_line(*ENDS), *ruled_line(*SHORT)])
    with pytest.raises(PhotoError, match=r"could be the one from .* or the one from") as told:
        outcome(scene, LineReference(length_mm=50.0), recognise_sheet=sheet_seen)
    assert "--line" in told.value.remedy


def test_two_lines_of_one_length_give_one_scale():
    other = ((60.0, 60.0), (160.0, 60.0))
    scene = Scene(marks=[BAR, *ruled_line(*ENDS), *ruled_line(*other)])
    assert piece_error_mm(scene.camera, outcome(scene, LINE)) < 0.15


def test_a_line_that_leaves_the_picture_is_not_taken_before_a_whole_one():
    whole = ((20.0, 90.0), (70.0, 90.0))
    camera = Camera(aim_mm=(40.0, 60.0), distance_mm=150.0, size_px=(900, 675), focal_px=675.0)
    marks = [*ruled_line(*ENDS, width_mm=0.8), Mark(points_mm=whole, width_mm=0.8)]
    found = outcome(Scene(marks=marks, camera=camera), LineReference(length_mm=50.0))
    assert line_error_px(camera, found.found[0], whole) < 3.0


def test_a_drawn_rectangle_shows_scale_and_tilt():
    corners = ((40.0, 20.0), (190.0, 20.0), (190.0, 90.0), (40.0, 90.0), (40.0, 20.0))
    scene = Scene(marks=[BAR, Mark(points_mm=corners, width_mm=0.7)], camera=LEANING)
    rectangle = RectangleReference(width_mm=70.0, height_mm=150.0)
    calibration = outcome(scene, rectangle, recognise_sheet=False)
    assert calibration.tilt_deg == pytest.approx(13.0, abs=0.5)
    assert piece_error_mm(LEANING, calibration) < 0.3
    seen = np.array(calibration.found[0].points_px)
    far = np.hypot(*(seen[:, None] - LEANING.to_px(corners[:4])).transpose(2, 0, 1)).min(axis=1)
    assert far.max() < 0.3


@pytest.mark.parametrize("turned", [False, True])
def test_a_rectangle_is_taken_the_way_round_that_it_is_drawn(turned):
    """Its sides are alike, and a tilt shows the longer one up the sheet as the shorter."""
    camera = Camera(tilt_deg=24.0, azimuth_deg=90.0, distance_mm=400.0)
    corners = ((80.0, 60.0), (180.0, 60.0), (180.0, 166.0), (80.0, 166.0), (80.0, 60.0))
    photo = Scene(marks=[Mark(points_mm=corners, width_mm=0.7)], camera=camera).photo()
    px = camera.to_px(corners[:4])
    assert math.dist(px[0], px[1]) + math.dist(px[2], px[3]) > 2.0 * math.dist(px[1], px[2])
    sides = (106.0, 100.0) if turned else (100.0, 106.0)
    rectangle = RectangleReference(
        width_mm=sides[0], height_mm=sides[1], corners_px=tuple(map(tuple, px))
    )
    calibration = calibrate(photo, find_ink(photo), [rectangle], recognise_sheet=False)
    assert calibration.tilt_deg == pytest.approx(24.0, abs=1.0)
    assert calibration.found[0].measured_mm == pytest.approx((100.0, 106.0), abs=0.3)


def test_pointed_ends_are_drawn_onto_the_ink():
    photo, ink = plain()
    a, b = LEANING.to_px(ENDS) + np.array([[4.0, -3.0], [-3.0, 4.0]])
    line = LineReference(length_mm=100.0, ends_px=(tuple(a), tuple(b)))
    calibration = calibrate(photo, ink, [line])
    assert line_error_px(LEANING, calibration.found[0]) < 0.15


def test_ends_pointed_at_bare_paper_are_taken_as_pointed():
    photo, ink = plain()
    ends = LEANING.to_px([(60.0, 70.0), (160.0, 70.0)])
    line = LineReference(length_mm=100.0, ends_px=tuple(map(tuple, ends)))
    calibration = calibrate(photo, ink, [line])
    assert np.array(calibration.found[0].points_px) == pytest.approx(ends)
    assert "taken as pointed" in calibration.notes[0]


@pytest.mark.parametrize(
    ("references", "words"),
    [
        (
            [LineReference(length_mm=76.2), LETTER],
            "the line typed as 76.2 mm measures 100.0 mm by the sheet",
        ),
        ([LINE, SheetReference(width_mm=210.0, height_mm=297.0)], "has not the shape of 210 x 297"),
        ([LINE, LineReference(length_mm=50.0)], "2 reference lines were asked for, 1 found"),
        ([RectangleReference(width_mm=120.0, height_mm=50.0)], "no drawn rectangle"),
        ([LineReference(length_mm=9.0, ends_px=((-4.0, 9.0), (90.0, 9.0)))], "outside the picture"),
        ([LineReference(length_mm=9.0, ends_px=((60.0, 60.0), (90.0, 60.0)))], "30 px long"),
    ],
)
def test_what_cannot_be_is_said_with_a_remedy(references, words):
    photo, ink = plain()
    with pytest.raises(PhotoError, match=words) as caught:
        calibrate(photo, ink, references)
    assert caught.value.remedy


def test_a_sheet_without_a_line_says_how_to_point():
    scene = Scene(marks=[BAR])
    with pytest.raises(PhotoError, match="no reference line found") as caught:
        outcome(scene, LINE)
    assert "--line X1,Y1,X2,Y2" in caught.value.remedy


def test_a_line_that_leaves_the_picture_is_not_measured():
    camera = Camera(aim_mm=(40.0, 60.0), distance_mm=150.0, size_px=(900, 675), focal_px=675.0)
    assert camera.to_px(ENDS)[1, 0] > 900
    scene = Scene(marks=ruled_line(*ENDS, width_mm=0.8), camera=camera)
    with pytest.raises(PhotoError, match="runs off the picture"):
        outcome(scene, LINE)


def test_no_reference_and_two_sheets_are_refused():
    photo, ink = plain()
    with pytest.raises(InputError, match="no reference"):
        calibrate(photo, ink, [])
    with pytest.raises(InputError, match="only one"):
        calibrate(photo, ink, [LETTER, LETTER])


def test_progress_runs_to_one_and_stop_is_heard():
    photo, ink = plain()
    shares: list[float] = []
    calibrate(photo, ink, [LINE], progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    with pytest.raises(Cancelled):
        calibrate(photo, ink, [LINE], stop=lambda: True)


def test_errors_stay_within_what_is_stated():
    """Sheets cut and lines drawn as badly as is assumed: 95 of 100 errors within two deviations."""
    rng = np.random.default_rng(6)
    ratios = []
    for _ in range(10):
        azimuth, tilt = rng.uniform(-180, 180), rng.uniform(0, 15)
        camera = Camera(size_px=(900, 675), focal_px=700.0, tilt_deg=tilt, azimuth_deg=azimuth,
                        distance_mm=430.0)  # fmt: skip
        cut = np.array([279.4, 215.9]) + rng.normal(0.0, 0.5, 2)
        ends = np.array(ENDS) + rng.normal(0.0, 0.25, (2, 2))
        scene = Scene(sheet_mm=tuple(cut), marks=ruled_line(*ends, width_mm=1.0), camera=camera)
        photo = scene.photo()
        photo = dataclasses.replace(photo, focal_px=700.0 * np.exp(rng.normal(0.0, 0.03)))
        calibration = calibrate(photo, find_ink(photo), [LINE, LETTER])
        px = camera.to_px(PIECE)
        errors = rigid_error(calibration.map.to_mm(px), PIECE)
        ratios.append(np.sqrt(np.mean(errors**2) / np.mean(calibration.map.sigma_mm(px) ** 2)))
    assert np.sqrt(np.mean(np.square(ratios))) < 1.3
    assert np.max(ratios) < 3.0

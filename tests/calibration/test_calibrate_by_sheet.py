"""What the sheet alone, cut off, unseen or untold, gives a calibration."""

import dataclasses

import numpy as np
import pytest

from calibration.calibrate import calibrate
from calibration.errors import PhotoError
from calibration.ink import find_ink
from calibration.references import LineReference, SheetReference
from tests.calibration.render import (
    Camera,
    Scene,
    rigid_error,
    ruled_line,
)
from tests.calibration.ruled_sheets import (
    BAR,
    ENDS,
    LEANING,
    LETTER,
    LINE,
    PIECE,
    line_error_px,
    outcome,
    piece_error_mm,
    plain,
)


def test_the_frame_starts_at_the_sheets_lower_left_corner_as_seen():
    photo, ink = plain(Camera(tilt_deg=5.0))
    sheet_map = calibrate(photo, ink, [LINE, LETTER]).map
    corners = Camera(tilt_deg=5.0).to_px([[0.0, 0.0], [279.4, 0.0], [0.0, 215.9]])
    expected = [[0.0, 0.0], [279.4, 0.0], [0.0, 215.9]]
    assert sheet_map.to_mm(corners) == pytest.approx(np.array(expected), abs=0.1)


def test_a_named_paper_is_recognised_and_said():
    photo, ink = plain()
    calibration = calibrate(photo, ink, [LINE])
    assert piece_error_mm(LEANING, calibration) < 0.03
    assert calibration.found[-1].name == "sheet Letter"
    assert "looks like Letter" in calibration.notes[0]


def test_without_any_focal_length_the_sheet_still_serves():
    photo, ink = plain(focal=False)
    assert piece_error_mm(LEANING, calibrate(photo, ink, [LINE, LETTER])) < 0.05


def test_an_unknown_sheet_is_taken_as_square_and_asked_for():
    camera = Camera(tilt_deg=9.0, azimuth_deg=20.0, distance_mm=400.0, aim_mm=(125.0, 100.0))
    scene = Scene(sheet_mm=(250.0, 200.0), marks=[BAR, *ruled_line(*ENDS)], camera=camera)
    calibration = outcome(scene, LINE)
    assert piece_error_mm(camera, calibration) < 0.1
    assert "250 x 200 mm" in calibration.notes[0]


def test_a_sheet_that_fills_the_picture_leaves_the_line():
    camera = Camera(distance_mm=200.0, aim_mm=(120.0, 90.0))
    scene = Scene(marks=[BAR, *ruled_line(*ENDS)], camera=camera)
    calibration = outcome(scene, LINE, LETTER)
    assert any("edges were not found" in note for note in calibration.notes)
    assert line_error_px(camera, calibration.found[0]) < 0.2


def test_three_edges_of_a_known_sheet_are_enough():
    camera = Camera(tilt_deg=8.0, azimuth_deg=40.0, aim_mm=(-10.0, 108.0), distance_mm=380.0)
    assert camera.to_px([(279.4, 100.0)])[0, 0] > camera.size_px[0]
    scene = Scene(marks=[BAR, *ruled_line(*ENDS)], camera=camera)
    calibration = outcome(scene, LINE, LETTER)
    px = camera.to_px(PIECE)
    errors = rigid_error(calibration.map.to_mm(px), PIECE)
    assert errors.max() < 0.3
    assert np.quantile(errors / calibration.map.sigma_mm(px), 0.95) < 2.0
    assert calibration.tilt_deg == pytest.approx(8.0, abs=0.5)
    assert calibration.notes == ("The sheet's right edge is not seen; the other three are used.",)


def cut_out(scene: Scene, from_mm: tuple[float, float]):
    """The photo from the column of a place on the sheet on, and that column."""
    photo = scene.photo()
    left = int(scene.camera.to_px([from_mm])[0, 0])
    return dataclasses.replace(photo, rgb=np.ascontiguousarray(photo.rgb[:, left:])), left


@pytest.mark.parametrize(
    ("sheet_mm", "azimuth_deg"), [((279.4, 215.9), 200.0), ((215.9, 279.4), 110.0)]
)
def test_a_picture_cut_through_the_sheet_doubts_as_much_as_it_is_off(sheet_mm, azimuth_deg):
    middle = (0.5 * sheet_mm[0], 0.5 * sheet_mm[1])
    camera = Camera(tilt_deg=12.0, azimuth_deg=azimuth_deg, aim_mm=middle, distance_mm=470.0)
    ends = np.array([(70.0, 40.0), (170.0, 40.0)])
    scene = Scene(sheet_mm=sheet_mm, marks=ruled_line(*ends), camera=camera)
    photo, left = cut_out(scene, (25.0, 100.0))
    calibration = calibrate(photo, find_ink(photo), [LINE, LETTER])
    piece = np.stack(np.meshgrid(np.linspace(60, 190, 9), np.linspace(70, 150, 5)), -1)
    px = camera.to_px(piece) - (left, 0.0)
    errors = rigid_error(calibration.map.to_mm(px), piece.reshape(-1, 2))
    assert np.quantile(errors / calibration.map.sigma_mm(px), 0.95) < 2.0


def test_a_cut_sheet_alone_does_not_show_which_way_round_it_lies():
    camera = Camera(size_px=(1000, 750), focal_px=750.0, distance_mm=470.0)
    photo, _ = cut_out(Scene(camera=camera), (60.0, 100.0))
    with pytest.raises(PhotoError, match="which way round"):
        calibrate(photo, find_ink(photo), [LETTER])


def test_a_light_card_beside_the_line_is_not_the_sheet():
    card = ((60.0, 90.0), (210.0, 90.0), (200.0, 170.0), (60.0, 180.0))
    camera = Camera(size_px=(800, 600), focal_px=600.0, distance_mm=200.0, aim_mm=(120.0, 100.0))
    scene = Scene(marks=ruled_line(*ENDS, width_mm=0.9), covers=[card], cover=(0.9, 0.9, 0.9),
                  paper=(0.5, 0.5, 0.48), camera=camera)  # fmt: skip
    ends = tuple(map(tuple, camera.to_px(ENDS)))
    line = LineReference(length_mm=100.0, ends_px=ends)
    assert not outcome(scene, line).tilt_known
    given = outcome(scene, line, SheetReference(width_mm=145.0, height_mm=85.0))
    assert any("does not hold the reference" in note for note in given.notes)
    assert [found.reference for found in given.found] == [line]

"""Lines alone: what the unknown tilt costs must be in the stated doubt."""

import dataclasses
import math

import numpy as np
import pytest

from calibration.seen import Seen, SquareSeen
from calibration.tilts import adjust_lines, least_lean
from tests.calibration.tilted_lines import (
    camera_of,
    errors_of,
    random_errors,
    random_line,
    rounded_bar,
    seen_by,
)

LINE = np.array([(60.0, 40.0), (160.0, 40.0)])
SCENES = 60


def covered(rng, tilt_deg):
    """Share of the places of random pieces within two deviations."""
    errors, sigmas = np.hstack([random_errors(rng, tilt_deg) for _ in range(SCENES)])
    return float(np.mean(errors < 2.0 * sigmas))


@pytest.mark.parametrize(("tilt_deg", "least"), [(0, 0.99), (5, 0.99), (10, 0.98), (15, 0.95)])
def test_two_deviations_hold_at_every_tilt_of_a_hand(tilt_deg, least):
    assert covered(np.random.default_rng(8), float(tilt_deg)) >= least


def test_two_deviations_hold_for_four_places_in_five_at_20_degrees():
    """That is two deviations of the tilt itself, and what shortens with its square is beyond."""
    assert 0.8 < covered(np.random.default_rng(8), 20.0) < 0.97


def test_the_doubt_of_a_straight_photo_is_not_more_than_a_lean_of_15_degrees_costs():
    rng = np.random.default_rng(3)
    _, stated = np.hstack([random_errors(rng, 0.0) for _ in range(SCENES)])
    rng = np.random.default_rng(3)
    errors, _ = np.hstack([random_errors(rng, 15.0) for _ in range(SCENES)])
    assert np.sqrt(np.mean(stated**2)) < np.sqrt(np.mean(errors**2))


def test_lines_that_only_a_lean_reconciles_tell_how_much():
    """Seen from above, 60 mm typed for 57.5 across the first: acos(57.5 / 60) = 17 degrees.

    Two deviations of both lengths (0.35 mm) leave acos(1 / (60 / 57.5 - 2 x 0.0067)) = 14."""
    camera = camera_of(0.0, 0.0, distance_mm=4200.0, focal_px=30200.0)  # far: shortening alone
    across, up = LINE, np.array([(110.0, 60.0), (110.0, 117.5)])
    seen = seen_by(camera, across, up)
    lines = (seen.lines[0], dataclasses.replace(seen.lines[1], length_mm=60.0))
    told = dataclasses.replace(seen, lines=lines, focal_px=30200.0)
    lean_rad, off_mm = least_lean(told)
    assert math.degrees(lean_rad) == pytest.approx(14.0, abs=1.0)
    assert off_mm[1] == pytest.approx(2.5, abs=0.8)  # some of it given to the first
    true = dataclasses.replace(seen, focal_px=30200.0)
    assert least_lean(true)[0] == 0.0


def test_the_doubt_grows_away_from_the_line():
    camera = camera_of(0.0, 0.0)
    sheet_map = adjust_lines(seen_by(camera, LINE)).map
    reach = [
        sheet_map.sigma_mm(camera.to_px(rounded_bar((110.0, y), 120.0, 30.0))).max()
        for y in (45.0, 90.0, 140.0, 190.0)
    ]
    assert reach == sorted(reach)
    assert reach[-1] > 2.0 * reach[0]


@pytest.mark.parametrize(("azimuth_deg", "far_mm"), [(90.0, 100.0), (0.0, 100.0)])
def test_foreshortening_is_in_the_doubt_of_a_length(azimuth_deg, far_mm):
    """Cut with the same line by hand: a sheet that leans by 8 degrees away shows lengths up the
    sheet shorter by 1 - cos 8 = 1 %, and by distance, far / H sin 8 = 3.3 % at 100 of 420 mm."""
    camera = camera_of(8.0, azimuth_deg)
    sheet_map = adjust_lines(seen_by(camera, LINE)).map
    up = np.array([(110.0, 40.0 + far_mm - 25.0), (110.0, 40.0 + far_mm + 25.0)])
    measured = math.dist(*sheet_map.to_mm(camera.to_px(up)))
    assert abs(measured - 50.0) < 2.0 * sheet_map.length_sigma_mm(camera.to_px(up))
    assert sheet_map.length_sigma_mm(camera.to_px(up)) > 0.03 * 50.0


def test_the_line_itself_is_as_long_as_it_was_told():
    camera = camera_of(6.0, 30.0)
    sheet_map = adjust_lines(seen_by(camera, LINE)).map
    ends = camera.to_px(LINE)
    assert math.dist(*sheet_map.to_mm(ends)) == pytest.approx(100.0, abs=1e-6)
    assert sheet_map.length_sigma_mm(ends) == pytest.approx(0.35, abs=0.01)


def test_long_crossing_lines_narrow_the_tilts_to_those_that_show_them_so():
    camera = camera_of(15.0, 0.0)
    across, up = np.array([(40.0, 60.0), (240.0, 60.0)]), np.array([(60.0, 40.0), (60.0, 190.0)])
    square = SquareSeen(ends_px=np.stack([camera.to_px(across), camera.to_px(up)]), sigma_rad=0.003)
    sheet_map = adjust_lines(seen_by(camera, across, up, squares=(square,))).map
    likely = np.array([numbers[:2] for _, numbers in sheet_map.others])
    assert np.degrees(np.hypot(*likely.T)).mean() > 10.0  # foreshortened by 3 %: not from above
    errors, sigmas = errors_of(
        camera, rounded_bar((150, 130), 160, 40), seen_by(camera, across, up, squares=(square,))
    )
    assert np.mean(errors < 2.0 * sigmas) > 0.9


def test_without_a_line_there_is_nothing():
    with pytest.raises(ValueError, match="nothing to adjust"):
        adjust_lines(Seen(middle_px=(10.0, 10.0), focal_px=None))


@pytest.mark.parametrize("count", [3, 4, 5])
def test_true_lines_need_no_lean_however_many(count):
    """Drawn from straight above, each off by its own deviation: 1 in 20 may need one, no more.

    By so many, of 60 sheets, chance alone brings 3, and not more than 7 in 99 of 100 tries."""
    rng = np.random.default_rng(count)
    leaning = 0
    for _ in range(60):
        seen = seen_by(camera_of(0.0, 0.0), *[random_line(rng) for _ in range(count)])
        lines = tuple(
            dataclasses.replace(line, length_mm=line.length_mm + rng.normal(0.0, line.sigma_mm))
            for line in seen.lines
        )
        leaning += least_lean(dataclasses.replace(seen, lines=lines))[0] > 0.0
    assert leaning <= 7

"""Lines alone: what the unknown tilt costs must be in the stated doubt."""

import math

import numpy as np
import pytest

from calibration.seen import LineSeen, Seen, SquareSeen
from calibration.tilts import adjust_lines
from tests.calibration.render import Camera, rigid_error

FOCAL_PX = 3020.0  # 26 mm equivalent
TURN = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)
LINE = np.array([(60.0, 40.0), (160.0, 40.0)])


def camera_of(tilt_deg, azimuth_deg, **options):
    options = {"focal_px": FOCAL_PX, "distance_mm": 420.0, **options}
    return Camera(size_px=(4032, 3024), tilt_deg=tilt_deg, azimuth_deg=azimuth_deg, **options)


def seen_by(camera, *lines, length_off_mm=0.0, **options):
    return Seen(
        middle_px=(2015.5, 1511.5),
        focal_px=FOCAL_PX,
        lines=tuple(
            LineSeen(
                ends_px=camera.to_px(ends),
                length_mm=math.dist(*ends) + length_off_mm,
                sigma_mm=0.35,
            )
            for ends in lines
        ),
        **options,
    )


def rounded_bar(centre, width, height):
    x, y = (np.sign(f(TURN)) * np.abs(f(TURN)) ** 0.3 for f in (np.cos, np.sin))
    return centre + np.column_stack([0.5 * width * x, 0.5 * height * y])


def ratios(camera, piece, seen):
    """True error over stated deviation at each place of a piece."""
    sheet_map = adjust_lines(seen).map
    px = camera.to_px(piece)
    return rigid_error(sheet_map.to_mm(px), piece) / sheet_map.sigma_mm(px)


def random_case(rng, tilt_deg):
    camera = camera_of(
        tilt_deg,
        rng.uniform(-180.0, 180.0),
        roll_deg=rng.uniform(-20.0, 20.0),
        distance_mm=rng.uniform(330.0, 500.0),
        k1=rng.normal(0.0, 0.02),
        focal_px=FOCAL_PX * math.exp(rng.normal(0.0, 0.03)),
    )
    angle = rng.choice([0.0, 0.5 * math.pi]) + rng.normal(0.0, 0.05)
    along = 0.5 * rng.choice([76.2, 100.0, 152.4]) * np.array([math.cos(angle), math.sin(angle)])
    low, high = ((60, 25), (200, 60)) if angle < 0.8 else ((20, 80), (50, 130))
    middle = rng.uniform(low, high)
    piece = rounded_bar(
        rng.uniform((120.0, 110.0), (160.0, 150.0)), rng.uniform(150, 220), rng.uniform(25, 60)
    )
    line = np.array([middle - along, middle + along])
    return ratios(camera, piece, seen_by(camera, line, length_off_mm=rng.normal(0.0, 0.35)))


@pytest.mark.parametrize(
    "tilt_of",
    [lambda rng: rng.uniform(0.0, 20.0), lambda rng: float(np.hypot(*rng.normal(0.0, 7.0, 2)))],
    ids=["0 to 20 degrees alike", "7 degrees each way"],
)
def test_nine_in_ten_places_lie_within_two_deviations(tilt_of):
    rng = np.random.default_rng(8)
    within = [random_case(rng, tilt_of(rng)) < 2.0 for _ in range(150)]
    assert 0.90 < np.mean(within) < 0.995


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
    assert np.mean(ratios(camera, rounded_bar((150, 130), 160, 40),
                          seen_by(camera, across, up, squares=(square,))) < 2.0) > 0.9  # fmt: skip


def test_without_a_line_there_is_nothing():
    with pytest.raises(ValueError, match="nothing to adjust"):
        adjust_lines(Seen(middle_px=(10.0, 10.0), focal_px=None))

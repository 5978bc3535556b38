import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.camera import CAMERA, numbers_from_pose
from calibration.sheet_map import SheetMap
from tests.calibration.render import Camera

CORNERS = np.array([[0.0, 0.0], [279.4, 0.0], [279.4, 215.9], [0.0, 215.9]])


def map_of(camera: Camera, covariance: np.ndarray | None = None) -> SheetMap:
    """The map that has the camera's own numbers."""
    axes = camera.axes()
    numbers = numbers_from_pose(axes, -axes @ camera.lens_mm(), camera.focal_px)
    numbers[7:10] = *camera.offset_px, camera.k1
    spread = np.zeros((len(CAMERA), len(CAMERA))) if covariance is None else covariance
    return SheetMap(
        parameters=tuple(numbers),
        covariance=tuple(map(tuple, spread)),
        middle_px=tuple((np.array(camera.size_px) - 1) / 2),
        span_px=tuple(map(tuple, camera.to_px(CORNERS))),
    )


cameras = st.builds(
    Camera,
    tilt_deg=st.floats(0.0, 35.0),
    azimuth_deg=st.floats(-180.0, 180.0),
    roll_deg=st.floats(-180.0, 180.0),
    k1=st.floats(-0.08, 0.08),
    distance_mm=st.floats(300.0, 800.0),
    offset_px=st.tuples(st.floats(-20, 20), st.floats(-20, 20)),
)


@settings(max_examples=60, deadline=None)
@given(cameras)
def test_the_map_agrees_with_a_camera_written_otherwise(camera):
    sheet_map = map_of(camera)
    assert sheet_map.to_px(CORNERS) == pytest.approx(camera.to_px(CORNERS), abs=1e-6)
    assert sheet_map.to_mm(camera.to_px(CORNERS)) == pytest.approx(CORNERS, abs=1e-6)
    assert sheet_map.tilt_deg == pytest.approx(camera.tilt_deg, abs=1e-6)
    assert sheet_map.lens_mm == pytest.approx(tuple(camera.lens_mm()), abs=1e-6)


def test_y_turns_once():
    sheet_map = map_of(Camera())
    low, high = sheet_map.to_px([[100.0, 50.0], [100.0, 150.0]])
    assert low[1] > high[1]
    left, right = sheet_map.to_px([[50.0, 100.0], [150.0, 100.0]])
    assert left[0] < right[0]


def test_a_pixel_is_distance_over_focal_length_straight_below():
    camera = Camera(focal_px=1000.0, distance_mm=400.0)
    centre = tuple(camera.centre_px())
    assert map_of(camera).mm_per_px(centre) == pytest.approx(0.4, rel=1e-6)


def test_a_raised_plane_is_nearer_to_the_lens():
    # trade rule: at lens height H a part of thickness t looks larger by t / (H - t)
    camera = Camera(distance_mm=400.0)
    top = map_of(camera).raised(8.0)
    places = np.array([[100.0, 100.0], [200.0, 100.0]])
    on_paper = map_of(camera).to_mm(top.to_px(places))
    assert math.dist(*on_paper) / 100.0 - 1.0 == pytest.approx(8.0 / 392.0, rel=1e-9)


def test_doubt_of_the_scale_grows_from_the_middle():
    # one unknown, the distance, known to 1 %: every place is off by 1 % of its way to the middle
    spread = np.zeros((len(CAMERA), len(CAMERA)))
    spread[CAMERA.index("log_distance"), CAMERA.index("log_distance")] = 0.01**2
    camera = Camera()
    sheet_map = map_of(camera, spread)
    way = np.hypot(*(CORNERS - CORNERS.mean(axis=0)).T)
    sigma = sheet_map.sigma_mm(camera.to_px(CORNERS))
    assert sigma == pytest.approx(0.01 * way, rel=1e-6)
    middle = sheet_map.sigma_mm(camera.to_px([CORNERS.mean(axis=0)]), camera.to_px(CORNERS))
    assert middle == pytest.approx([0.0], abs=1e-6)


def test_a_lengths_doubt_is_its_share_of_the_scales():
    spread = np.zeros((len(CAMERA), len(CAMERA)))
    spread[CAMERA.index("log_distance"), CAMERA.index("log_distance")] = 0.01**2
    ends = Camera().to_px([[50.0, 60.0], [200.0, 60.0]])
    assert map_of(Camera(), spread).length_sigma_mm(ends) == pytest.approx(1.5, rel=1e-6)


@pytest.mark.parametrize("name", ["x", "y", "roll"])
def test_where_the_frame_lies_adds_no_doubt(name):
    spread = np.zeros((len(CAMERA), len(CAMERA)))
    spread[CAMERA.index(name), CAMERA.index(name)] = 1.0
    camera = Camera(tilt_deg=10.0, azimuth_deg=30.0)
    assert map_of(camera, spread).sigma_mm(camera.to_px(CORNERS)) == pytest.approx(0.0, abs=1e-4)


def test_stated_doubt_is_the_spread_of_many_maps():
    rng = np.random.default_rng(4)
    sigmas = np.array([0.004, 0.004, 0.01, 0.002, 1.0, 1.0, 0.02, 3.0, 3.0, 0.005, 0.0])
    camera = Camera(tilt_deg=12.0, azimuth_deg=70.0)
    sheet_map = map_of(camera, np.diag(sigmas**2))
    grid = np.stack(np.meshgrid(np.linspace(20, 260, 6), np.linspace(20, 190, 5)), -1)
    px = camera.to_px(grid.reshape(-1, 2))
    base = sheet_map.to_mm(px)
    shifts = []
    for _ in range(400):
        numbers = np.array(sheet_map.parameters) + rng.normal(0.0, sigmas)
        other = SheetMap(
            parameters=tuple(numbers),
            covariance=sheet_map.covariance,
            middle_px=sheet_map.middle_px,
            span_px=sheet_map.span_px,
        ).to_mm(px)
        a, b = other - other.mean(axis=0), base - base.mean(axis=0)
        u, _, vt = np.linalg.svd(a.T @ b)
        shifts.append(a @ u @ vt - b)
    moves = np.array(shifts)
    spread = np.einsum("kni,knj->nij", moves, moves) / len(moves)
    worst = np.sqrt(np.linalg.eigvalsh(spread)[:, -1])
    assert sheet_map.sigma_mm(px) == pytest.approx(worst, rel=0.15)


def test_across_an_edge_only_what_moves_it_counts():
    # straight above, the scale alone in doubt by 0.1 %: at 100 mm from the middle 0.1 mm outward
    covariance = np.zeros((len(CAMERA), len(CAMERA)))
    covariance[CAMERA.index("log_distance"), CAMERA.index("log_distance")] = 0.001**2
    sheet_map = map_of(Camera(), covariance)
    ring = sheet_map.to_px([[-100.0, 0.0], [0.0, -100.0], [100.0, 0.0], [0.0, 100.0]])
    outward, along = np.array([[1.0, 0.0]]), np.array([[0.0, 1.0]])
    place = ring[2:3]
    assert sheet_map.sigma_mm(place, ring, across=outward) == pytest.approx([0.1], rel=0.02)
    assert sheet_map.sigma_mm(place, ring, across=along) == pytest.approx([0.0], abs=0.002)
    assert sheet_map.sigma_mm(place, ring) == pytest.approx([0.1], rel=0.02)

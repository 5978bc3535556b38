import numpy as np
import pytest

from calibration.sheet_edges import find_sheet_edges, from_lower_left
from tests.calibration.render import Camera, Mark, Scene

CORNERS = np.array([[0.0, 0.0], [279.4, 0.0], [279.4, 215.9], [0.0, 215.9]])
TILTED = Camera(tilt_deg=14.0, azimuth_deg=50.0, roll_deg=4.0, distance_mm=420.0)
# grey things: across the upper right corner; over the middle of the left edge
ON_A_CORNER = ((240.0, 180.0), (300.0, 150.0), (320.0, 230.0), (260.0, 240.0))
ON_AN_EDGE = ((-20.0, 60.0), (40.0, 80.0), (30.0, 110.0), (-30.0, 90.0))


def corner_errors(scene: Scene) -> np.ndarray:
    edges = find_sheet_edges(scene.photo())
    assert edges is not None
    return np.hypot(*(edges.corners_px - scene.camera.to_px(CORNERS)).T)


def test_corners_are_found_to_a_fifth_of_a_pixel():
    assert corner_errors(Scene(camera=TILTED)).max() < 0.2


@pytest.mark.parametrize("cover", [(0.30, 0.30, 0.31), (0.68, 0.68, 0.68), (0.02, 0.02, 0.02)])
@pytest.mark.parametrize("place", [ON_A_CORNER, ON_AN_EDGE])
def test_things_on_the_edge_are_left_out(place, cover):
    assert corner_errors(Scene(camera=TILTED, covers=[place], cover=cover)).max() < 0.3


def test_a_light_bench_will_do():
    assert corner_errors(Scene(camera=TILTED, bench=(0.55, 0.55, 0.55))).max() < 0.2


def test_places_on_bowed_edges_follow_them():
    camera = Camera(distance_mm=360.0, k1=-0.05)
    edges = find_sheet_edges(Scene(camera=camera).photo())
    assert edges is not None
    for k, side in enumerate(edges.sides_px):
        off = camera.to_mm(side)[:, 1 - k % 2] - (0.0, 279.4, 215.9, 0.0)[k]
        assert np.abs(off).max() < 0.08


def test_no_sheet_is_seen_where_none_stands_out():
    assert find_sheet_edges(Scene(bench=(0.80, 0.79, 0.76)).photo()) is None


def test_corners_are_ordered_as_seen():
    turned = np.array([[10.0, 10.0], [12.0, 90.0], [95.0, 92.0], [90.0, 8.0]])  # ul ll lr ur
    expected = turned[[1, 2, 3, 0]]
    for k in range(4):
        assert from_lower_left(np.roll(turned, k, axis=0)).tolist() == expected.tolist()
        assert from_lower_left(np.roll(turned, k, axis=0)[::-1]).tolist() == expected.tolist()


@pytest.mark.parametrize("corners", [
    [(30, 30), (250, 30), (250, 190), (30, 190)],
    [(40, 60), (230, 50), (220, 160), (60, 150)],
], ids=["rectangle", "trapezoid"])  # fmt: skip
@pytest.mark.parametrize("width_mm", [0.6, 2.0])
def test_a_drawn_frame_is_no_sheet(corners, width_mm):
    frame = Mark(points_mm=(*corners, corners[0]), width_mm=width_mm)
    near = Camera(distance_mm=220.0, size_px=(900, 675), focal_px=675.0)
    filling = Scene(marks=[frame], camera=near)
    assert find_sheet_edges(filling.photo()) is None


def test_a_frame_printed_close_to_the_edge_is_not_the_edge():
    corners = ((3.0, 3.0), (276.4, 3.0), (276.4, 212.9), (3.0, 212.9), (3.0, 3.0))
    frame = Mark(points_mm=corners, width_mm=0.8)
    assert corner_errors(Scene(marks=[frame], camera=TILTED)).max() < 0.3

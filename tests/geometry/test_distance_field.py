import numpy as np
import pytest
import shapely

from geometry.clearance import UsableRegion
from geometry.distance_field import DistanceField
from geometry.segments import Floats
from tests.geometry.shapes import moved, regular, wavy

CELL_MM = 0.5
STEEL = wavy(120, 50, 90, 13, 0.05).difference(moved(regular(20, 4), 10, 5, 0))
FIELD = DistanceField(STEEL, cell_mm=CELL_MM, pad_mm=5.0)


def scattered(count: int) -> Floats:
    return np.random.default_rng(4).uniform((-64, -30), (64, 30), (count, 2))


def test_rough_distances_are_within_a_node_of_the_exact_ones() -> None:
    points = scattered(3000)
    exact = UsableRegion(STEEL).signed_distances_mm(points)
    rough = FIELD.rough(points[:, 0], points[:, 1])
    assert np.abs(rough - exact).max() <= CELL_MM * np.sqrt(0.5) + 0.02


def test_far_points_fall_off_by_the_distance() -> None:
    far = FIELD.rough(np.array([500.0]), np.array([0.0]))
    assert far[0] < -400.0


def test_readings_hold_the_exact_distance_and_its_direction() -> None:
    points = scattered(2000)
    exact = UsableRegion(STEEL).signed_distances_mm(points)
    readings = FIELD.readings(points, all_inside=True, corners=True)
    least = np.full(len(points), np.inf)
    np.minimum.at(least, readings.point, readings.values_mm)
    off = np.abs(least - exact)
    assert np.quantile(off, 0.99) < 1e-9  # the nodes around know the nearest piece
    assert off.max() < 0.05
    step_mm = 1e-5
    nearest = readings.values_mm <= least[readings.point]
    point, gradient = readings.point[nearest], readings.gradients[nearest]
    there = UsableRegion(STEEL).signed_distances_mm(points[point] + step_mm * gradient)
    grown = (there - exact[point]) / step_mm
    assert np.quantile(np.abs(grown - 1.0), 0.95) < 1e-3


def test_on_the_edge_the_direction_is_inward() -> None:
    on_edge = shapely.get_coordinates(STEEL.exterior.interpolate(33.3))
    readings = FIELD.readings(on_edge, all_inside=True, corners=True)
    inward = on_edge + 0.01 * readings.gradients[np.abs(readings.values_mm).argmin()]
    assert STEEL.contains(shapely.Point(inward[0]))
    assert abs(readings.values_mm).min() == pytest.approx(0.0, abs=1e-9)

"""What two traces of one piece both have: where they differ, and what is in doubt."""

import math

import numpy as np
import pytest
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.billet import Billet
from geometry.error_budget import Budget, Part
from geometry.two_faces import both_faces

TRAPEZOID = Polygon([(0, 0), (200, 0), (190, 36), (10, 42)])


def traced(*parts: Part, shape: Polygon = TRAPEZOID, sigma_mm: float = 0.1) -> Billet:
    count = len(shapely.get_coordinates(shape.exterior)) - 1
    return Billet(
        shape=shape, vertex_sigma_mm=(sigma_mm,) * count, budget=Budget(parts=tuple(parts))
    )


@pytest.mark.parametrize("spiked_first", [True, False])
@pytest.mark.parametrize("width_mm", [4.0, 0.2])
def test_a_spike_on_either_trace_is_told_in_full(spiked_first: bool, width_mm: float) -> None:
    """The upper side is 42 - 6 * 90 / 180 = 39 mm up at x = 100; the spike goes to 52."""
    spike = shapely.box(100 - width_mm / 2, 30, 100 + width_mm / 2, 52)
    pair = [traced(shape=orient(TRAPEZOID.union(spike))), traced()]
    faces = both_faces(*(pair if spiked_first else pair[::-1]), turned=False)
    # at most: to the corner beside the spike, where the upper side falls by 1 in 30
    assert faces.differ_mm == pytest.approx(13.0 + width_mm / 60, abs=0.1)
    assert faces.differ_at_mm == pytest.approx((100.0, 52.0), abs=width_mm / 2 + 0.2)
    assert faces.shape.area == pytest.approx(TRAPEZOID.area, rel=1e-3)


@pytest.mark.parametrize("turned_about", [True, False])
def test_a_known_bias_is_kept_however_little_is_known_of_the_other_trace(
    turned_about: bool,
) -> None:
    pair = [
        traced(Part(name="pen", bias_mm=0.8, sigma_mm=0.1)),
        traced(Part(name="map", sigma_mm=0.9)),
    ]
    budget = both_faces(*(pair[::-1] if turned_about else pair), turned=False).budget
    assert budget.bias_mm == 0.8
    assert budget.sigma_mm == pytest.approx(0.9)
    assert budget.worst_mm == pytest.approx(0.8 + 2 * 0.9)


def test_of_two_biases_the_larger_is_taken_off_with_the_larger_doubt() -> None:
    """Root of 0.1 squared, of the vertex, and 0.6 squared, of the second's pen."""
    first = traced(Part(name="pen", bias_mm=0.8, sigma_mm=0.1))
    second = traced(Part(name="pen", bias_mm=0.7, sigma_mm=0.6))
    faces = both_faces(first, second, turned=False)
    left = Billet(
        shape=faces.shape,
        vertex_sigma_mm=tuple(faces.sigma_mm(Billet(shape=faces.shape).vertices_mm()).tolist()),
        budget=faces.budget,
    )
    assert left.too_large_mm == 0.8
    assert left.sigma_at_mm((100.0, 0.0)) >= math.hypot(0.1, 0.6)
    assert faces.sigma_mm(np.array([[100.0, 0.0]]))[0] < 1.0


def test_a_trace_that_is_too_small_does_not_make_the_other_larger() -> None:
    small = traced(Part(name="calipers", bias_mm=-0.5, sigma_mm=0.1))
    assert both_faces(small, traced(), turned=False).budget.bias_mm == 0.0

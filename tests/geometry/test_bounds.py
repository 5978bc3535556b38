import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from geometry.bounds import measures, scale_bound, upper_bound_mm
from geometry.clearance import UsableRegion
from tests.geometry.shapes import knife, moved, regular, wavy


def test_measures_of_a_bar() -> None:
    found = measures(moved(box(0, 0, 40, 30), 7, 8, 25))
    assert found.width_mm == pytest.approx(30)
    assert found.diameter_mm == pytest.approx(50)
    assert found.circle_mm == pytest.approx(25)
    assert found.perimeter_mm == pytest.approx(140)
    assert found.disc_mm <= 15 + 1e-9
    assert 15 <= found.disc_limit_mm < 15.02
    assert found.area_mm2 == pytest.approx(1200)


@pytest.mark.parametrize(
    ("outline", "steel", "bound_mm"),
    [
        (box(0, 0, 100, 30), box(0, 0, 200, 44), 7.0),  # least width
        (box(0, 0, 100, 30), box(0, 0, 200, 20), -5.0),
        (box(0, 0, 100, 2), Polygon(regular(720, 60)), 60 - math.hypot(50, 1)),  # circles
        (knife(), moved(knife(), 9, 9, 50).buffer(3, quad_segs=64), 3.0),  # area
    ],
)
def test_bounds_that_are_known(outline: Polygon, steel: Polygon, bound_mm: float) -> None:
    bound = upper_bound_mm(outline, steel)
    assert bound == pytest.approx(bound_mm, abs=2e-3)


def test_several_parts_count_by_the_roomiest() -> None:
    parts = MultiPolygon([box(0, 0, 200, 40), box(0, 50, 200, 100)])
    assert upper_bound_mm(box(0, 0, 100, 30), parts) == pytest.approx(10.0, abs=1e-6)


@given(
    x_mm=st.floats(-30, 30),
    y_mm=st.floats(-20, 20),
    angle_deg=st.floats(-180, 180),
    size=st.floats(0.3, 1.5),
    drilled=st.booleans(),
)
@settings(max_examples=30, deadline=None)
def test_no_pose_beats_the_bound(
    x_mm: float, y_mm: float, angle_deg: float, size: float, drilled: bool
) -> None:
    steel = wavy(230, 60, 90, 13, 0.04)
    if drilled:
        steel = steel.difference(moved(regular(20, 5), 30, 5, 0))
    sized = Polygon(np.array(knife().exterior.coords) * size)
    value_mm = UsableRegion(steel).clearance(moved(sized, x_mm, y_mm, angle_deg)).value_mm
    assert value_mm <= upper_bound_mm(knife(), steel, scale=size) + 1e-3


def test_the_scale_bound_of_a_disc_in_a_triangle_is_reached() -> None:
    # The incircle of an equilateral triangle of side s: s / (2 sqrt 3), less the margin.
    triangle, disc = regular(3, 60 / math.sqrt(3)), regular(720, 10)
    expected = (60 / (2 * math.sqrt(3)) - 2.0) / 10
    bound = scale_bound(disc, triangle, margin_mm=2.0)
    assert expected <= bound < expected * 1.001
    assert scale_bound(disc, triangle, margin_mm=20.0) == 0.0

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from geometry.clearance import UsableRegion
from geometry.errors import InputError
from tests.geometry.shapes import knife, moved, regular, wavy

BAR = box(0, 0, 200, 40)


def sampled_clearance_mm(blank: Polygon, region: Polygon, step_mm: float) -> float:
    """Return the clearance by plain sampling, which is never less than the true one."""
    x1, y1, x2, y2 = blank.bounds
    grid = np.meshgrid(np.arange(x1, x2, step_mm), np.arange(y1, y2, step_mm))
    inner = np.column_stack([axis.ravel() for axis in grid])
    edge = shapely.get_coordinates(blank.exterior.segmentize(step_mm))
    points = shapely.points(np.vstack([inner[shapely.contains_xy(blank, *inner.T)], edge]))
    distance = shapely.distance(region.boundary, points)
    return float(np.where(shapely.contains(region, points), distance, -distance).min())


@pytest.mark.parametrize(
    ("blank", "value_mm"),
    [
        (box(10, 6, 190, 33), 6.0),  # 6 below, 7 above, 10 at the ends
        (box(3, 6, 190, 33), 3.0),
        (box(0, 6, 190, 33), 0.0),  # it lies along the end
        (box(10, 0, 190, 40), 0.0),
        (box(-4, 6, 190, 33), -4.0),
        (box(10, 6, 190, 45), -5.0),
        (box(-3, -4, 190, 33), -5.0),  # out at the corner: 3, 4, 5
        (box(210, 10, 220, 20), -20.0),  # wholly outside
        (box(-10, -10, 210, 50), -math.hypot(10, 10)),
    ],
)
def test_a_bar_in_a_bar(blank: Polygon, value_mm: float) -> None:
    found = UsableRegion(BAR).clearance(blank)
    assert found.value_mm == pytest.approx(value_mm, abs=1e-9)
    gap_mm = math.dist(found.blank_point_mm, found.edge_point_mm)
    assert gap_mm == pytest.approx(abs(value_mm), abs=1e-9)
    assert blank.distance(shapely.Point(found.blank_point_mm)) < 1e-9
    assert BAR.boundary.distance(shapely.Point(found.edge_point_mm)) < 1e-9


def test_a_square_in_a_square_turned_by_45_degrees() -> None:
    # The corner of a square of side 2 lies sqrt(2) from its middle, the sides of one of 10, 5.
    found = UsableRegion(box(-5, -5, 5, 5)).clearance(regular(4, math.sqrt(2)))
    assert found.value_mm == pytest.approx(5 - math.sqrt(2), abs=1e-12)


def test_a_round_plate_in_a_triangle() -> None:
    # The inscribed circle of an equilateral triangle of side s has the radius s / (2 sqrt 3).
    side_mm = 90.0
    triangle = regular(3, side_mm / math.sqrt(3), 90)
    disc = regular(360, 10.0, 0.5)  # its corners reach 10 mm, but not exactly down
    expected_mm = side_mm / (2 * math.sqrt(3)) - 10.0 * math.cos(math.radians(0.5))
    assert UsableRegion(triangle).clearance(disc).value_mm == pytest.approx(expected_mm, abs=1e-3)


def test_a_covered_hole_is_a_collision_as_deep_as_its_middle() -> None:
    drilled = BAR.difference(regular(48, 3.0).buffer(0)).difference(
        moved(regular(48, 3), 60, 20, 0)
    )
    found = UsableRegion(drilled).clearance(box(20, 8, 150, 32))
    # A regular 48-gon by corner radius 3: its inscribed circle is 3 cos(pi / 48).
    assert found.value_mm == pytest.approx(-3.0 * math.cos(math.pi / 48), abs=1e-3)
    assert math.dist(found.blank_point_mm, (60, 20)) < 0.01


def test_a_covered_slot_is_as_deep_as_half_its_width() -> None:
    slotted = BAR.difference(box(40, 18, 120, 22.5))
    found = UsableRegion(slotted).clearance(box(20, 8, 150, 32))
    assert found.value_mm == pytest.approx(-2.25, abs=1e-3)


def test_the_blanks_own_holes_are_filled() -> None:
    drilled = BAR.difference(moved(regular(48, 3), 60, 20, 0))
    blank = box(20, 8, 150, 32)
    pinned = blank.difference(moved(regular(48, 5), 60, 20, 0))
    region = UsableRegion(drilled)
    assert region.clearance(pinned) == region.clearance(blank)
    assert region.clearance(pinned).value_mm < -2.9


def test_a_tooth_of_the_edge_between_two_corners_of_the_blank() -> None:
    # The blank's corners are all 10 mm or more away; the tooth ends 4 mm below its long edge.
    toothed = BAR.difference(Polygon([(99, 0), (100, 6), (101, 0)]))
    found = UsableRegion(toothed).clearance(box(20, 10, 180, 30))
    assert found.value_mm == pytest.approx(4.0, abs=1e-12)
    assert found.edge_point_mm == pytest.approx((100, 6))


def test_a_blank_lies_in_one_of_several_parts() -> None:
    parts = MultiPolygon([box(0, 0, 100, 40), box(101, 0, 300, 40)])
    region = UsableRegion(parts)
    assert region.clearance(box(120, 5, 200, 30)).value_mm == pytest.approx(5.0)
    # Across the gap: it reaches 20 mm out of the right part, and 150 out of the left one.
    assert region.clearance(box(81, 5, 250, 30)).value_mm == pytest.approx(-20.0)


def test_steel_that_is_no_area_is_refused() -> None:
    with pytest.raises(InputError, match="no clean area"):
        UsableRegion(Polygon([(0, 0), (10, 10), (10, 0), (0, 10)]))
    with pytest.raises(InputError, match="no clean area"):
        UsableRegion(Polygon())


def test_a_repeated_vertex_changes_nothing() -> None:
    doubled = Polygon([(0, 0), (200, 0), (200, 0), (200, 40), (0, 40)])
    blank = box(-3, 5, 190, 45)
    assert UsableRegion(doubled).clearance(blank) == UsableRegion(BAR).clearance(blank)


@given(x_mm=st.floats(-40, 40), y_mm=st.floats(-15, 15), angle_deg=st.floats(-180, 180))
@settings(max_examples=25, deadline=None)
def test_agreement_with_dense_sampling(x_mm: float, y_mm: float, angle_deg: float) -> None:
    region = wavy(260, 90, 120, 17, 0.04).difference(moved(regular(24, 4), 50, 10, 0))
    blank = moved(knife(), x_mm, y_mm, angle_deg)
    step_mm = 0.5
    sampled_mm = sampled_clearance_mm(blank, region, step_mm)
    found_mm = UsableRegion(region).clearance(blank).value_mm
    # A sample lies within half a diagonal of any point of the blank.
    assert sampled_mm - step_mm * math.sqrt(0.5) <= found_mm + 1e-3
    assert found_mm <= sampled_mm + 1e-3  # what the clearance promises


@given(
    x_mm=st.floats(-500, 500),
    y_mm=st.floats(-500, 500),
    angle_deg=st.floats(-180, 180),
    shift_mm=st.sampled_from([0.0, 6.0, 25.0]),
)
@settings(max_examples=25, deadline=None)
def test_moving_both_changes_nothing(
    x_mm: float, y_mm: float, angle_deg: float, shift_mm: float
) -> None:
    steel = wavy(260, 70, 150, 23, 0.02)
    blank = moved(knife(), 0, shift_mm, 3)
    still_mm = UsableRegion(steel).clearance(blank).value_mm
    carried = UsableRegion(moved(steel, x_mm, y_mm, angle_deg))
    moved_mm = carried.clearance(moved(blank, x_mm, y_mm, angle_deg)).value_mm
    assert moved_mm == pytest.approx(still_mm, abs=1e-3)


def test_the_profile_ends_at_the_clearance() -> None:
    region = UsableRegion(wavy(260, 70, 150, 23, 0.02))
    for shift_mm in (0.0, 8.0):
        blank = moved(knife(), 0, shift_mm, 3)
        profile = region.clearance_profile(blank, 2000)
        assert profile.points_mm.shape == (2000, 2)
        assert shapely.distance(blank.exterior, shapely.points(profile.points_mm)).max() < 1e-9
        least_mm = profile.distances_mm.min()
        assert least_mm == pytest.approx(region.clearance(blank).value_mm, abs=0.25)
        assert least_mm >= region.clearance(blank).value_mm - 1e-6

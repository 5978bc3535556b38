import math

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from geometry.placement import roomiest
from tests.geometry.shapes import knife, moved, wavy


def test_in_a_long_bar_the_blank_goes_to_one_end() -> None:
    """150 of 400 mm, 7 mm of room all round: 400 - 150 - 7 = 243 mm are left beyond it."""
    bar = box(0, 0, 400, 40)
    found = roomiest(box(0, 0, 150, 26), bar)
    left, low, right, high = found.pose.shape(box(0, 0, 150, 26)).bounds
    assert found.tucked
    assert max(left, 400.0 - right) == pytest.approx(243.0, abs=0.05)
    assert (low, high) == pytest.approx((7.0, 33.0), abs=0.005)
    assert found.clearance.value_mm == pytest.approx(7.0, abs=0.003)
    assert found.proven


@pytest.mark.parametrize("turn_deg", [0.0, 33.0, 90.0, 171.0])
def test_however_the_bar_lies(turn_deg: float) -> None:
    bar = moved(box(-200, -25, 200, 25), 3, 4, turn_deg)
    place = roomiest(knife(), bar).pose.shape(knife())
    along = np.array([math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))])
    reach = shapely.get_coordinates(place) @ along - np.array([3, 4]) @ along
    room = max(200.0 + reach.min(), 200.0 - reach.max())
    # The blank is 200 x 30 mm, so 10 mm on either side and at the near end.
    assert room == pytest.approx(400.0 - 200.0 - 10.0, abs=0.3)


def test_the_larger_end_is_left_where_the_ends_differ() -> None:
    """A bar with a wide head on the left: what is cut off beyond the right end is smaller."""
    bar = shapely.union_all([box(0, -20, 60, 60), box(60, 0, 400, 40)])
    blank = box(0, 0, 150, 26)
    found = roomiest(blank, bar)
    assert found.pose.shape(blank).bounds[2] == pytest.approx(393.0, abs=0.1)


def test_where_it_was_found_if_that_is_asked_for() -> None:
    bar, blank = box(0, 0, 400, 40), box(0, 0, 150, 26)
    as_found, tucked = roomiest(blank, bar, tuck=False), roomiest(blank, bar)
    assert not as_found.tucked
    assert as_found.pose != tucked.pose
    assert tucked.clearance.value_mm >= as_found.clearance.value_mm - 0.001


def test_a_pose_that_is_alone_stays() -> None:
    steel = wavy(300, 70, 150, 23, 0.03)
    found = roomiest(knife(), steel)
    assert not found.tucked
    assert found.pose == roomiest(knife(), steel, tuck=False).pose


def test_nothing_is_slid_where_nothing_fits() -> None:
    outline: Polygon = box(0, 0, 150, 26)
    assert not roomiest(outline, box(0, 0, 400, 20)).tucked

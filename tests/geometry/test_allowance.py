import math

import pytest
import shapely
from shapely import Polygon, box
from shapely.affinity import rotate

from geometry.allowance import Allowance
from geometry.billet import Billet
from geometry.editing import Cut
from geometry.errors import InputError
from geometry.placement import roomiest

BAR = box(0, 0, 200, 40)


def test_steel_is_left_along_one_side() -> None:
    """5 mm along the lower side: 35 of 40 mm are left, and 26 of blank have 4.5 on either side."""
    billet = Billet(
        shape=BAR, allowances=(Allowance(start_mm=(0, 0), end_mm=(200, 0), depth_mm=5.0),)
    )
    assert billet.usable().bounds == pytest.approx((0, 5, 200, 40), abs=0.01)
    found = roomiest(box(0, 0, 150, 26), billet.usable())
    assert found.clearance.value_mm == pytest.approx(4.5, abs=0.01)


def test_the_stretch_runs_with_the_steel_to_its_left() -> None:
    """From the right end over the top to the left end it is not the lower side."""
    over = Allowance(start_mm=(200, 0), end_mm=(0, 0), depth_mm=2.0)
    left = Billet(shape=BAR, allowances=(over,)).usable()
    assert left.bounds == pytest.approx((2, 0, 198, 38), abs=0.01)
    assert shapely.covers(left, shapely.Point(100, 0.01))


def test_different_depths_along_the_edge() -> None:
    ends = (
        Allowance(start_mm=(200, 0), end_mm=(200, 40), depth_mm=8.0),
        Allowance(start_mm=(0, 40), end_mm=(0, 0), depth_mm=3.0),
    )
    assert Billet(shape=BAR, allowances=ends).usable().bounds == pytest.approx(
        (3, 0, 192, 40), abs=0.02
    )


def test_round_a_hole() -> None:
    hole = shapely.Point(100, 20).buffer(5, quad_segs=64)
    place = (105.0, 20.0)
    round_it = Allowance(start_mm=place, end_mm=place, depth_mm=2.0)
    left = Billet(shape=BAR.difference(hole), allowances=(round_it,)).usable()
    assert isinstance(left, Polygon)
    assert Polygon(left.interiors[0]).area == pytest.approx(math.pi * 49, rel=2e-3)


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 180.0])
def test_no_less_than_the_depth_is_left(turn_deg: float) -> None:
    turned = rotate(BAR, turn_deg, origin=(0, 0))
    corners = shapely.get_coordinates(shapely.geometry.polygon.orient(turned))
    start, end = map(tuple, corners[:2])
    billet = Billet(shape=turned, allowances=(Allowance(start_mm=start, end_mm=end, depth_mm=4.0),))
    side = shapely.LineString(corners[:2])
    assert shapely.distance(billet.usable(), side) == pytest.approx(4.0, abs=0.01)
    assert shapely.distance(billet.usable(), side) >= 4.0 - 1e-6


def test_what_is_no_allowance_is_refused() -> None:
    with pytest.raises(InputError, match="leaves nothing"):
        Allowance(start_mm=(0, 0), end_mm=(1, 0), depth_mm=0.0)
    with pytest.raises(InputError, match="none"):
        Allowance(start_mm=(0, math.nan), end_mm=(1, 0), depth_mm=1.0)
    with pytest.raises(InputError, match="off the edge"):
        Billet(shape=BAR, allowances=(Allowance(start_mm=(0, 0), end_mm=(90, 20), depth_mm=1.0),))
    with pytest.raises(InputError, match="leave no steel"):
        Billet(shape=BAR, allowances=(Allowance(start_mm=(0, 0), end_mm=(0, 0), depth_mm=21.0),))


def test_a_cut_keeps_what_was_to_be_left() -> None:
    """The lower side's 5 mm stay to keep out of where the bar is cut at 120."""
    billet = Billet(
        shape=BAR, allowances=(Allowance(start_mm=(0, 0), end_mm=(200, 0), depth_mm=5.0),)
    )
    cut = Cut(start_mm=(120, -10), end_mm=(120, 50), kerf_mm=0.0, sigma_mm=0.0, keep_mm=(20, 20))
    left = cut.applied(billet).usable()
    assert left.bounds == pytest.approx((0, 5, 120, 40), abs=0.02)

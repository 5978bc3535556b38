import math

import pytest
from shapely import MultiPolygon, Polygon, box

from geometry.errors import FitError, InputError
from geometry.largest import largest
from tests.geometry.shapes import knife, regular

# side of the largest: J. S. Madachy, Mathematical Recreations (Dover 1979), and plain geometry
SQUARE, UNIT_TRIANGLE = box(-30, -30, 30, 30), regular(3, 1 / math.sqrt(3), 17)


@pytest.mark.parametrize(
    ("outline", "steel", "scale"),
    [
        (UNIT_TRIANGLE, box(-31.5, -31.5, 31.5, 31.5), 60 * (math.sqrt(6) - math.sqrt(2))),
        (box(0, 0, 1, 1), regular(3, 60 / math.sqrt(3) + 3, 40), 60 * (2 * math.sqrt(3) - 3)),
    ],
)
def test_the_largest_that_keeps_the_margin(outline: Polygon, steel: Polygon, scale: float) -> None:
    # Steel moved out by 1.5 mm on every side: keeping that margin is touching the shape named.
    found = largest(outline, steel, margin_mm=1.5, mirror=False)
    assert found.pose.scale == pytest.approx(scale, rel=1e-4)
    assert found.clearance.value_mm == pytest.approx(1.5, abs=1e-4)
    assert found.clearance.value_mm >= 1.5
    assert found.upper_bound_scale is not None
    assert found.upper_bound_scale >= scale


def test_the_largest_of_several_parts() -> None:
    parts = MultiPolygon([box(0, 0, 100, 40), box(0, 50, 300, 53), box(0, 60, 100, 130)])
    found = largest(box(0, 0, 10, 10), parts, margin_mm=5.0)
    # The third part, 100 by 70, less 5 on every side.
    assert found.pose.scale == pytest.approx(6.0, rel=1e-4)
    assert found.clearance.value_mm >= 5.0
    assert found.proven


def test_a_margin_that_leaves_nothing_is_said() -> None:
    with pytest.raises(FitError, match="no size"):
        largest(knife(), box(0, 0, 200, 20), margin_mm=11.0)
    with pytest.raises(InputError, match="margin"):
        largest(knife(), box(0, 0, 200, 20), margin_mm=-1.0)

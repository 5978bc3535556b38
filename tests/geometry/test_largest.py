import math

import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from geometry.errors import FitError, InputError
from geometry.largest import largest
from geometry.placement import roomiest
from tests.geometry.shapes import knife, moved, regular

UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # a search takes a while
ELL = Polygon([(0, 0), (160, 0), (160, 60), (70, 60), (70, 150), (0, 150)])
BLANK = Polygon([(0, 0), (60, -4), (78, 6), (60, 17), (0, 14)])

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


def carried(size: float, angle_deg: float) -> Polygon:
    """Return the steel grown and turned."""
    return moved(shapely.transform(ELL, lambda points: points * size), 40, -20, angle_deg)


@pytest.mark.parametrize(
    ("size", "angle_deg"),
    [
        (1.0, 1.0),
        (0.1, 0.0),
    ],
)
def test_turning_and_growing_the_steel_turns_and_grows_the_largest(
    size: float, angle_deg: float
) -> None:
    """Without a margin the scale grows as the steel does, to what is proven of both."""
    still = largest(BLANK, ELL, margin_mm=0.0, seconds=2.0)
    there = largest(BLANK, carried(size, angle_deg), margin_mm=0.0, seconds=2.0)
    assert still.upper_bound_scale is not None
    assert there.upper_bound_scale is not None
    assert there.pose.scale <= size * still.upper_bound_scale * (1.0 + 1e-9)
    assert size * still.pose.scale <= there.upper_bound_scale * (1.0 + 1e-9)
    assert there.proven


@given(margin_mm=st.floats(0.5, 8.0))
@settings(max_examples=2, phases=UNSHRUNK)
def test_a_larger_margin_leaves_no_larger_scale(margin_mm: float) -> None:
    wide, tight = (largest(BLANK, ELL, margin_mm=each) for each in (margin_mm / 2.0, margin_mm))
    assert wide.upper_bound_scale is not None
    assert tight.pose.scale <= wide.upper_bound_scale
    for found, margin in ((wide, margin_mm / 2.0), (tight, margin_mm)):
        assert found.clearance.value_mm >= margin
        assert found.clearance.value_mm == pytest.approx(margin, abs=0.02)


@pytest.mark.parametrize("margin_mm", [0.0, 2.0])
def test_the_roomiest_pose_agrees_with_the_largest(margin_mm: float) -> None:
    """At the largest scale a pose has the margin; at a scale above the bound none has it."""
    found = largest(BLANK, ELL, margin_mm=margin_mm)
    assert found.upper_bound_scale is not None
    at = shapely.transform(BLANK, lambda points: points * found.pose.scale)
    assert roomiest(at, ELL).upper_bound_mm >= margin_mm
    above = found.upper_bound_scale * 1.002
    larger = shapely.transform(BLANK, lambda points: points * above)
    assert roomiest(larger, ELL).clearance.value_mm < margin_mm


@pytest.mark.parametrize("after", [0.3, 0.9])
def test_stopped_it_gives_the_largest_so_far(after: float) -> None:
    shares = [0.0]
    found = largest(
        BLANK,
        ELL,
        margin_mm=1.0,
        progress=shares.append,
        stop=lambda: shares[-1] > after,
    )
    assert found.upper_bound_scale is not None
    assert 0.0 < found.pose.scale <= found.upper_bound_scale
    assert found.clearance.value_mm >= 1.0


def test_out_of_time_the_bound_is_still_one() -> None:
    whole = largest(BLANK, ELL, margin_mm=1.0)
    for seconds in (-1.0, 0.05, 0.15):
        found = largest(BLANK, ELL, margin_mm=1.0, seconds=seconds)
        assert found.upper_bound_scale is not None
        assert found.upper_bound_scale >= whole.pose.scale
        assert found.proven == (found.upper_bound_scale <= found.pose.scale * 1.001)
        assert found.clearance.value_mm >= 1.0

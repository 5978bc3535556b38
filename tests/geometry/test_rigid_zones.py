"""Tight places of an edge: which are kept, how large, and that none reaches into another."""

import math
from itertools import combinations

import pytest

from geometry.curves import Arc, Chain, Line
from geometry.rigid_zones import rigid_zones


def bar(butt_mm: float, notch_mm: float = 2.0) -> Chain:
    """A bar of 100 by 24, corners of one radius at its butt, a notch in the middle below."""
    r, n = butt_mm, notch_mm
    return (
        Line(start=(r, 0.0), end=(50.0 - n, 0.0)),
        Arc(start=(50.0 - n, 0.0), end=(50.0 + n, 0.0), sweep_rad=-math.pi),
        Line(start=(50.0 + n, 0.0), end=(100.0, 12.0)),
        Line(start=(100.0, 12.0), end=(r, 24.0)),
        Arc(start=(r, 24.0), end=(0.0, 24.0 - r), sweep_rad=math.pi / 2),
        Line(start=(0.0, 24.0 - r), end=(0.0, r)),
        Arc(start=(0.0, r), end=(r, 0.0), sweep_rad=math.pi / 2),
    )


def test_a_notch_is_kept_and_outward_corners_and_sharp_ones_are_no_zones() -> None:
    [zone] = rigid_zones(bar(4.0))
    assert (zone.x_mm, zone.y_mm) == pytest.approx((50.0, 0.0), abs=1e-9)
    assert zone.radius_mm == pytest.approx(2.2)  # 0.2 beyond the notch


def step(radius_mm: float) -> Chain:
    """A heel that comes down from a handle at x 0, the inside corner between rounded."""
    r = radius_mm
    return (
        Line(start=(0.0, 0.0), end=(100.0, 20.0)),
        Line(start=(100.0, 20.0), end=(-80.0, 40.0)),
        Line(start=(-80.0, 40.0), end=(-80.0, 20.0)),
        Line(start=(-80.0, 20.0), end=(-r, 20.0)),
        Arc(start=(-r, 20.0), end=(0.0, 20.0 - r), sweep_rad=-math.pi / 2),
        Line(start=(0.0, 20.0 - r), end=(0.0, 0.0)),
    )


def test_a_rounded_inside_corner_moves_as_the_corner_that_it_fills() -> None:
    [zone] = rigid_zones(step(5.0))
    assert zone.anchor_mm == pytest.approx((0.0, 20.0), abs=1e-6)
    middle = 5.0 - 5.0 / math.sqrt(2)
    for x, y in ((-5.0, 20.0), (0.0, 15.0), (-middle, 20.0 - middle)):
        assert math.hypot(x - zone.x_mm, y - zone.y_mm) < zone.radius_mm


def test_a_zone_reaches_into_no_other() -> None:
    below, above = (
        Arc(start=(50.0 + n, y), end=(50.0 - n, y), sweep_rad=-math.pi)
        for n, y in ((-2.0, 0.0), (2.0, 12.0))
    )
    both: Chain = (
        Line(start=(0.0, 0.0), end=below.start),
        below,
        Line(start=below.end, end=(100.0, 6.0)),
        Line(start=(100.0, 6.0), end=above.start),
        above,
        Line(start=above.end, end=(0.0, 0.0)),
    )
    zones = rigid_zones(both)
    assert len(zones) == 2
    for one, other in combinations(zones, 2):
        apart = math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
        assert apart >= one.radius_mm + other.radius_mm + max(one.fade_mm, other.fade_mm) - 1e-9


def test_two_places_close_together_are_kept_as_one() -> None:
    near: Chain = (
        Arc(start=(0.0, 0.0), end=(4.0, 0.0), sweep_rad=-math.pi),
        Line(start=(4.0, 0.0), end=(5.0, 0.0)),
        Arc(start=(5.0, 0.0), end=(9.0, 0.0), sweep_rad=-math.pi),
        Line(start=(9.0, 0.0), end=(9.0, 40.0)),
        Line(start=(9.0, 40.0), end=(0.0, 40.0)),
        Line(start=(0.0, 40.0), end=(0.0, 0.0)),
    )
    [zone] = rigid_zones(near)
    assert (zone.x_mm, zone.y_mm) == pytest.approx((4.5, 0.0))
    assert zone.radius_mm == pytest.approx(4.7)  # half of 9, and 0.2 beyond

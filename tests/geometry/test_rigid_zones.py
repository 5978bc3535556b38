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


def test_a_notch_and_two_corners_are_kept_and_sharp_corners_are_none() -> None:
    zones = rigid_zones(bar(4.0))
    places = sorted((zone.x_mm, zone.y_mm) for zone in zones)
    numbers = [number for place in places for number in place]
    assert numbers == pytest.approx([2.0, 2.0, 2.0, 22.0, 50.0, 0.0], abs=1e-9)


def test_a_zone_covers_its_arc_and_reaches_into_no_other() -> None:
    zones = rigid_zones(bar(5.0))
    for one, other in combinations(zones, 2):
        apart = math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
        assert apart >= one.radius_mm + other.radius_mm + max(one.fade_mm, other.fade_mm) - 1e-9
    corner = min(zones, key=lambda zone: (zone.x_mm, zone.y_mm))
    middle = 5.0 - 5.0 / math.sqrt(2)
    for x, y in ((0.0, 5.0), (5.0, 0.0), (middle, middle)):
        assert math.hypot(x - corner.x_mm, y - corner.y_mm) < corner.radius_mm


def test_a_rounded_corner_moves_as_the_corner_that_it_cuts_off() -> None:
    anchors = {zone.anchor_mm for zone in rigid_zones(bar(4.0))}
    assert None in anchors  # the notch's sides meet nowhere
    corners = sorted(anchor for anchor in anchors if anchor is not None)
    numbers = [number for corner in corners for number in corner]
    assert numbers == pytest.approx([0.0, 0.0, 0.0, 24.0], abs=1e-6)


def test_gentle_curves_and_a_round_end_may_stretch() -> None:
    assert len(rigid_zones(bar(7.0))) == 1  # corners of 7 mm are not tight; the notch is
    end: Chain = (
        Line(start=(0.0, 0.0), end=(100.0, 0.0)),
        Line(start=(100.0, 0.0), end=(0.0, 10.0)),
        Arc(start=(0.0, 10.0), end=(0.0, 0.0), sweep_rad=math.pi),
    )
    assert rigid_zones(end) == ()


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

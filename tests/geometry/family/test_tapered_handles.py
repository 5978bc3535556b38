"""A handle as wide as its blade at the front, tapered or not: it widens without a tight S."""

import math
from dataclasses import replace

import pytest

from geometry.curvature import inside_radii
from geometry.family import Family
from geometry.family.saving import family_of
from geometry.features import Station
from geometry.outline import Outline, outline_from_rings
from geometry.turn_overs import hollow_bends

EASE = 0.25  # of the fade, at each end; the slope there is the cubic 3 v^2 - 2 v^3


def bar(taper_mm: float) -> Outline:
    """A straight-sided bar, 28 wide at x 0 and less by some at its butt, with a point."""
    t = taper_mm / 2
    ring = [(-110.0, t), (0.0, 0.0), (80.0, 0.0), (110.0, 14.0), (80.0, 28.0), (0.0, 28.0)]
    return outline_from_rings("bar", [*ring, (-110.0, 28.0 - t)])


def kept(taper_mm: float) -> Family:
    return family_of(bar(taper_mm), name="Bar", stretch={"blade_length": None, "blade_width": None})


def handle_width(own: Family) -> tuple[float, float, float]:
    [width] = [each for each in own.parameters if each.key == "handle_width"]
    return width.low, width.default, width.high


TAPERS_MM = [0.0, 0.25, 0.5, 1.0, 2.0, 4.0]


@pytest.mark.parametrize("taper_mm", TAPERS_MM)
def test_a_taper_makes_the_way_from_one_width_to_the_other_no_shorter(taper_mm: float) -> None:
    """40 % of the handle, measured behind it."""
    own = kept(taper_mm)
    [at] = {r.at.gone_at_mm: r.at for r in own.profile.stretches if r.at.axis == "y"}.values()
    assert at.gone_at_mm is not None
    assert at.full_at_mm is not None
    handle = at.gone_at_mm + 110.0
    assert at.gone_at_mm - at.full_at_mm == pytest.approx(0.4 * handle)
    there = 28.0 + taper_mm * min(at.full_at_mm, 0.0) / 110.0
    assert handle_width(own)[1] == pytest.approx(there, abs=0.02)


@pytest.mark.parametrize("taper_mm", TAPERS_MM)
def test_a_millimetre_more_bends_the_side_as_gently_whatever_the_taper(taper_mm: float) -> None:
    """The least radius of the fade's S over its length L, at h from what stays: L^2 / (8 h).

    The slope's greatest change is ``1.5 / (EASE (1 - EASE))`` over the length's square, 8 of them.
    """
    own = kept(taper_mm)
    _, size, _ = handle_width(own)
    [at] = {r.at.gone_at_mm: r.at for r in own.profile.stretches if r.at.axis == "y"}.values()
    assert at.gone_at_mm is not None
    assert at.full_at_mm is not None
    length = at.gone_at_mm - at.full_at_mm
    found = min(each.radius_mm for each in inside_radii(own.outline({"handle_width": size + 1.0})))
    assert found >= 0.9 * length**2 / (1.5 / (EASE * (1 - EASE)) * 1.0)


@pytest.mark.parametrize("taper_mm", TAPERS_MM)
def test_at_the_ends_of_its_range_no_inside_curve_is_tight_or_turns_far(taper_mm: float) -> None:
    own = kept(taper_mm)
    low, size, high = handle_width(own)
    assert low < 0.9 * size
    assert high > 1.1 * size
    for value in (low, high):
        outline = own.outline({"handle_width": value})
        assert all(each.radius_mm >= 25.0 for each in inside_radii(outline))
        bends = hollow_bends(outline.chain)
        assert all(each.turn_rad <= math.radians(15) for each in bends)


def test_a_short_handle_widens_by_less_and_no_tighter() -> None:
    """45 mm: the S lies within 18, so one of 25 mm has room for some 1.6 mm."""
    ring = [(-45.0, 0.5), (0.0, 0.0), (60.0, 0.0), (90.0, 14.0), (60.0, 28.0), (0.0, 28.0)]
    stretch = {"blade_length": None, "blade_width": None, "handle_length": None}
    places = {"tip": (90.0, 14.0), "heel": (0.0, 0.0), "butt": (-45.0, 14.0)}
    short = replace(
        outline_from_rings("short", [*ring, (-45.0, 27.5)]),
        stations=tuple(Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in places.items()),
    )
    own = family_of(short, name="Short", stretch=stretch)
    low, size, high = handle_width(own)
    assert size < high < 1.2 * size
    for value in (low, high):
        radii = [each.radius_mm for each in inside_radii(own.outline({"handle_width": value}))]
        assert min(radii) >= 25.0

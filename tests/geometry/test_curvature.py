"""Inside radii that are known, and the wheels that follow them."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.curvature import inside_radii, wheels_that_follow
from geometry.curves import Arc, Chain, Cubic, Line, Point
from geometry.errors import InputError
from geometry.family import family_named
from geometry.outline import Outline, Station, outline_from_rings
from geometry.pose import Pose
from tests.geometry.chains import circle, ellipse, hollow_bar, stadium


def backward(chain: Chain) -> Chain:
    return tuple(segment.backward() for segment in reversed(chain))


def filleted(fillet_mm: float, *stations: Station) -> Outline:
    """An L of 60 x 60 mm with arms 20 mm wide, its inside corner filleted."""
    r = fillet_mm
    points: list[Point] = [(20, 20 + r), (20, 60), (0, 60), (0, 0), (60, 0), (60, 20), (20 + r, 20)]
    sides = tuple(Line(start=a, end=b) for a, b in pairwise(points))
    fillet = Arc(start=points[-1], end=points[0], sweep_rad=-math.pi / 2)
    return Outline(name="plate", chain=(*sides, fillet), stations=stations)


@given(st.floats(0.5, 39), st.floats(-3, 3), st.booleans())
def test_a_fillet_is_found_with_its_radius_and_place(
    radius: float, theta: float, mirrored: bool
) -> None:
    pose = Pose(x_mm=3, y_mm=-8, theta_rad=theta, mirrored=mirrored)
    [found] = inside_radii(filleted(radius).moved(pose))
    assert found.radius_mm == pytest.approx(radius)
    middle = 20 + radius * (1 - math.sqrt(0.5))
    [(x, y)] = pose.points([(middle, middle)])
    assert found.at == pytest.approx((x, y), abs=1e-6)


@pytest.mark.parametrize("chain", [circle(7.0), stadium(40.0, 5.0), ellipse(30.0, 12.0)])
def test_what_bulges_everywhere_has_no_inside_curve(chain: Chain) -> None:
    assert inside_radii(Outline(name="round", chain=chain)) == ()
    assert inside_radii(Outline(name="round", chain=backward(chain))) == ()


def test_a_sharp_inside_corner_is_told() -> None:
    plate = outline_from_rings("plate", [(20, 20), (20, 60), (0, 60), (0, 0), (60, 0), (60, 20)])
    [found] = inside_radii(plate)
    assert (found.radius_mm, found.at) == (0.0, (20.0, 20.0))
    [wheels] = wheels_that_follow(plate, [10.0])
    assert "sharp inside corner at x 20.0, y 20.0 mm: no wheel follows it" in wheels.warning


@pytest.mark.parametrize("reach_mm", [19.95, 19.99, 19.9999, 20 - 1e-9, 20.0])
def test_a_curve_that_all_but_comes_to_a_point_is_a_sharp_corner(reach_mm: float) -> None:
    # Handles that reach 20 mm over a gap of 20 mm make a true cusp in the middle; at 19.95 its
    # radius is some thousandths of a millimetre.
    bite = Cubic(
        start=(40.0, 0.0), control1=(40 + reach_mm, 20.0), control2=(60 - reach_mm, 20.0),
        end=(60.0, 0.0),
    )  # fmt: skip
    points: list[Point] = [(60, 0), (100, 0), (100, 40), (0, 40), (0, 0), (40, 0)]
    sides = tuple(Line(start=a, end=b) for a, b in pairwise(points))
    plate = Outline(name="plate", chain=(bite, *sides))
    tightest = min(wheels_that_follow(plate, [12.0]), key=lambda each: each.inside.radius_mm)
    assert tightest.inside.radius_mm == 0.0
    assert tightest.inside.at == pytest.approx((50.0, 15.0), abs=0.1)
    assert tightest.warning.startswith("A sharp inside corner at x 50.0, y 15.0 mm")


def test_a_small_radius_is_told_as_it_is() -> None:
    [wheels] = wheels_that_follow(filleted(0.2), [12.0])
    assert wheels.inside.radius_mm == pytest.approx(0.2)
    assert "a radius of 0.2 mm" in wheels.warning


def bitten(a_mm: float, b_mm: float) -> Outline:
    """A plate 100 mm long with half an ellipse bitten out of its top, one cubic a half."""
    k = 4 / 3 * math.tan(math.pi / 8)
    left = Cubic(
        start=(0.0, -b_mm), control1=(-k * a_mm, -b_mm), control2=(-a_mm, -k * b_mm),
        end=(-a_mm, 0.0),
    )  # fmt: skip
    right = Cubic(
        start=(a_mm, 0.0), control1=(a_mm, -k * b_mm), control2=(k * a_mm, -b_mm), end=(0.0, -b_mm)
    )
    points: list[Point] = [(-a_mm, 0), (-50, 0), (-50, -40), (50, -40), (50, 0), (a_mm, 0)]
    sides = tuple(Line(start=a, end=b) for a, b in pairwise(points))
    return Outline(name="bitten", chain=(right, left, *sides))


@pytest.mark.parametrize(("a_mm", "b_mm"), [(30.0, 10.0), (12.0, 12.0), (8.0, 25.0)])
def test_the_tightest_place_of_a_curve_is_found(a_mm: float, b_mm: float) -> None:
    found = inside_radii(bitten(a_mm, b_mm))
    assert len(found) == (2 if a_mm > b_mm else 1)  # at both ends of the long axis that lie on it
    # An ellipse's tightest radius is b^2 / a (or a^2 / b), at the end of the long axis. The cubic's
    # there is 3/2 k^2 / (1 - k) = 1.022 times that (the handle squared over the height).
    tightest = min(b_mm**2 / a_mm, a_mm**2 / b_mm)
    assert found[0].radius_mm == pytest.approx(tightest, rel=0.025)
    # The second method: the circle through three points close together on the curve.
    by_points = min(_three_point_radii(bitten(a_mm, b_mm)))
    assert found[0].radius_mm == pytest.approx(by_points, rel=1e-3)


def _three_point_radii(outline: Outline) -> list[float]:
    radii = []
    for cubic in outline.chain[:2]:
        assert isinstance(cubic, Cubic)
        p = cubic.at(np.linspace(0, 1, 2001))
        a, b, c = p[:-2], p[1:-1], p[2:]
        (ux, uy), (vx, vy) = (b - a).T, (c - a).T
        area = np.abs(ux * vy - uy * vx)
        sides = np.hypot(*(b - a).T) * np.hypot(*(c - b).T) * np.hypot(*(c - a).T)
        radii.append(float((sides / (2 * area)).min()))
    return radii


@pytest.mark.parametrize("first", [0, 1, 2, 3])
def test_a_kink_hides_no_rounder_curve_beside_it(first: int) -> None:
    bar = hollow_bar((20.0, 0.8), (2.0, 0.3), (30.0, 0.8))
    turned = Outline(name="bar", chain=(*bar.chain[first:], *bar.chain[:first]))
    radii = sorted(each.radius_mm for each in inside_radii(turned) if each.radius_mm)
    assert radii == pytest.approx([2.0, 20.0, 30.0])


def test_a_smooth_kink_hides_no_hollow_that_it_lies_in() -> None:
    # A hollow of radius 30 whose curvature rises smoothly to 1/2 and falls again, all in cubics
    # through the places that its heading and its length give.
    s = np.linspace(0.0, 60.0, 6001)
    curvature = 1 / 30 + (1 / 2 - 1 / 30) * np.exp(-(((s - 30) / 1.0) ** 2))
    step = np.full_like(s, s[1] - s[0])
    heading = np.cumsum(curvature * step)
    heading = heading[-1] / 2 - heading
    x, y = np.cumsum(np.cos(heading) * step), np.cumsum(np.sin(heading) * step)
    knots = [0, 1000, 2000, 2700, 2800, 2850, 2900, 2950, 3000]
    knots += [6000 - k for k in reversed(knots[:-1])]
    chain: list[Line | Cubic] = []
    for a, b in pairwise(knots):
        third = (s[b] - s[a]) / 3
        chain.append(
            Cubic(
                start=(x[a], y[a]),
                control1=(x[a] + third * math.cos(heading[a]), y[a] + third * math.sin(heading[a])),
                control2=(x[b] - third * math.cos(heading[b]), y[b] - third * math.sin(heading[b])),
                end=(x[b], y[b]),
            )
        )
    start, end = chain[0].start, chain[-1].end
    corners: list[Point] = [end, (end[0], 99.0), (start[0], 99.0), start]
    chain += [Line(start=a, end=b) for a, b in pairwise(corners)]
    radii = sorted(each.radius_mm for each in inside_radii(Outline(name="bar", chain=tuple(chain))))
    assert radii[0] == pytest.approx(2.0, rel=0.1)
    beside = [radius for radius in radii if radius > 3.0]
    assert len(beside) == 2
    assert all(30 / 1.2 <= radius <= 30.1 for radius in beside)  # told as even within a fifth


def test_a_hollow_that_is_cut_into_pieces_is_one_curve() -> None:
    bar = hollow_bar((20.0, 0.5), (20.0, 0.4), (21.0, 0.5), (19.5, 0.5))
    [found] = [each for each in inside_radii(bar) if each.radius_mm]
    assert found.radius_mm == pytest.approx(19.5)
    middle = Station(name="middle", x_mm=found.at[0], y_mm=found.at[1])
    parted = Outline(name="bar", chain=bar.chain, stations=(middle,))
    assert len(inside_radii(parted)) == len(inside_radii(bar))


def test_a_notch_beside_a_hollow_and_a_corner_in_it_hide_nothing() -> None:
    # Two half circles into the top of a block, 2 mm and 40 mm wide, and a step of 5 mm.
    chain = (
        Line(start=(0, 0), end=(100, 0)),
        Line(start=(100, 0), end=(100, 50)),
        Line(start=(100, 50), end=(90, 50)),
        Arc(start=(90, 50), end=(88, 50), sweep_rad=-math.pi),
        Line(start=(88, 50), end=(80, 50)),
        Arc(start=(80, 50), end=(40, 50), sweep_rad=-math.pi),
        Line(start=(40, 50), end=(20, 50)),
        Line(start=(20, 50), end=(20, 45)),
        Line(start=(20, 45), end=(0, 45)),
        Line(start=(0, 45), end=(0, 0)),
    )
    stations = (Station(name="heel", x_mm=95, y_mm=50), Station(name="butt", x_mm=0, y_mm=20))
    found = inside_radii(Outline(name="block", chain=chain, stations=stations))
    assert [each.radius_mm for each in found] == pytest.approx([1.0, 20.0, 0.0])
    assert {each.between for each in found} == {("heel", "butt")}
    assert found[1].at == pytest.approx((60.0, 30.0))
    assert found[2].at == (20.0, 45.0)


def test_the_stations_on_both_sides_are_named() -> None:
    stations = (
        Station(name="heel", x_mm=60.0, y_mm=0.0),
        Station(name="tip", x_mm=20.0, y_mm=60.0),
        Station(name="middle of the steel", x_mm=10.0, y_mm=10.0),
    )
    [found] = inside_radii(filleted(10.0, *stations))
    assert found.between == ("heel", "tip")
    assert found.place_text.startswith("between heel and tip (x 22.9, y 22.9 mm)")


def test_the_wheels_that_follow_are_those_no_larger_than_the_curve() -> None:
    # Radius 12.7: a wheel of 25.4 across just goes in.
    [wheels] = wheels_that_follow(filleted(12.7), [50.8, 25.4, 12.7, 25.4, 254.0])
    assert wheels.follow_mm == (12.7, 25.4)
    assert wheels.too_large_mm == (50.8, 254.0)
    assert wheels.warning == (
        "The inside curve at x 23.7, y 23.7 mm has a radius of 12.7 mm: of your wheels only 12.7 "
        "and 25.4 mm across can follow it; 50.8 and 254 mm cannot."
    )
    [all_go] = wheels_that_follow(filleted(12.7), [20.0])
    assert all_go.warning == ""
    [none_goes] = wheels_that_follow(filleted(5.06), [12.7, 254.0])
    assert "none of your wheels can follow it, the smallest is 12.7 mm across" in none_goes.warning
    assert "at most 10.1 mm" in none_goes.warning
    assert wheels_that_follow(Outline(name="round", chain=circle(7.0)), [10.0]) == ()


def test_a_notch_is_the_tightest_curve_of_a_knife() -> None:
    for radius in (1.0, 2.0):
        outline = family_named("drop point").outline({"notch_radius": radius})
        least = min(inside_radii(outline), key=lambda one: one.radius_mm)
        assert least.radius_mm == pytest.approx(radius)
        assert least.at == pytest.approx((-radius, radius), abs=1e-6)


@pytest.mark.parametrize("wheel", [0.0, -3.0, math.nan, math.inf])
def test_a_wheel_of_no_size_is_refused(wheel: float) -> None:
    with pytest.raises(InputError, match=r"mm is none\. Give diameters in mm"):
        wheels_that_follow(filleted(5.0), [12.7, wheel])

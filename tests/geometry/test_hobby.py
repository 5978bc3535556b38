"""Smooth curves through points, against published figures and what a smooth curve has to do."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.curves import Cubic, Point
from geometry.hobby import Knot, hobby_curve
from geometry.pose import Pose

# The example of "A User's Manual for MetaPost" (J. D. Hobby), section 4 (from memory): the path
# through these points, and the controls it prints: one decimal for the open
# path, more for the closed one, of which the first are given here.
MANUAL_POINTS = [(0.0, 0.0), (60.0, 40.0), (40.0, 90.0), (10.0, 70.0), (30.0, 50.0)]
MANUAL_OPEN = [
    (26.8, -1.8, 51.4, 14.6),
    (67.1, 61.0, 59.8, 84.6),
    (25.4, 94.0, 10.5, 84.5),
    (9.6, 58.8, 18.8, 49.6),
]
MANUAL_CLOSED_FIRST = (5.18756, -26.8353, 60.36073, -18.40036)

# On a grid of 0.1 mm: no knots absurdly near each other.
# Nor any straight back: which side the curve turns to is then nobody's to say.
places = (
    st.lists(
        st.tuples(st.integers(-500, 500), st.integers(-500, 500)),
        min_size=3,
        max_size=8,
        unique=True,
    )
    .filter(lambda points: not turns_straight_back([*points, *points[:2]]))
    .map(lambda points: [(x / 10, y / 10) for x, y in points])
)


def turns_straight_back(points: list[tuple[int, int]]) -> bool:
    chords = [(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in pairwise(points)]
    return any(
        ax * by == ay * bx and ax * bx + ay * by < 0 for (ax, ay), (bx, by) in pairwise(chords)
    )


def knots(points: list[Point]) -> list[Knot]:
    return [Knot(point=point) for point in points]


def controls(cubic: Cubic) -> tuple[float, ...]:
    return (*cubic.control1, *cubic.control2)


def turn_deg(before: Cubic, after: Cubic) -> float:
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    return math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))


def test_the_manuals_open_path() -> None:
    for cubic, printed in zip(hobby_curve(knots(MANUAL_POINTS)), MANUAL_OPEN, strict=True):
        assert controls(cubic) == pytest.approx(printed, abs=0.0501)


def test_the_manuals_closed_path() -> None:
    curve = hobby_curve(knots(MANUAL_POINTS), closed=True)
    assert controls(curve[0]) == pytest.approx(MANUAL_CLOSED_FIRST, abs=1e-3)


def test_a_closed_curve_is_the_middle_of_an_open_one_that_goes_round_many_times() -> None:
    # A second method: an end's influence dies away within a few points.
    count = len(MANUAL_POINTS)
    rounds = hobby_curve(knots(MANUAL_POINTS * 9))
    middle = rounds[4 * count : 5 * count]
    for once, again in zip(hobby_curve(knots(MANUAL_POINTS), closed=True), middle, strict=True):
        assert controls(once) == pytest.approx(controls(again), abs=1e-6)


def test_a_quarter_circle_is_within_three_ten_thousandths() -> None:
    # With the directions given, the controls are 4/3 (sqrt 2 - 1) long: the common cubic for a
    # quarter circle, whose radius is at most 2.73e-4 too great and never too small (textbook).
    (cubic,) = hobby_curve(
        [Knot(point=(1.0, 0.0), out_rad=math.pi / 2), Knot(point=(0.0, 1.0), into_rad=math.pi)]
    )
    assert controls(cubic) == pytest.approx((1, 0.5522847, 0.5522847, 1), abs=1e-6)
    radius = np.hypot(*cubic.at(np.linspace(0, 1, 1001)).T)
    assert radius.min() >= 1 - 1e-9
    assert radius.max() - 1 == pytest.approx(2.725e-4, abs=2e-6)


def test_four_points_of_a_circle_give_the_circle() -> None:
    square = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
    for cubic in hobby_curve(knots(square), closed=True):
        radius = np.hypot(*cubic.at(np.linspace(0, 1, 101)).T)
        assert abs(radius - 1).max() < 3e-4


def test_three_points_of_a_circle_give_nearly_its_arc() -> None:
    # The paper's aim for the end rule: curl 1 makes open ends circle-like.
    points = [(math.cos(a), math.sin(a)) for a in np.radians([0.0, 40.0, 80.0])]
    for cubic in hobby_curve(knots(points)):
        radius = np.hypot(*cubic.at(np.linspace(0, 1, 101)).T)
        assert abs(radius - 1).max() < 1e-3


def test_two_points_give_the_straight_line() -> None:
    (cubic,) = hobby_curve(knots([(0.0, 0.0), (6.0, 3.0)]))
    assert controls(cubic) == pytest.approx((2, 1, 4, 2))


def test_points_on_a_line_stay_on_it() -> None:
    for cubic in hobby_curve(knots([(0.0, 0.0), (1.0, 2.0), (5.0, 10.0), (6.0, 12.0)])):
        assert cubic.controls[:, 1] == pytest.approx(2 * cubic.controls[:, 0])


@given(places, st.booleans())
def test_smooth_knots_do_not_turn(points: list[Point], closed: bool) -> None:
    curve = hobby_curve(knots(points), closed=closed)
    pairs = list(pairwise(curve)) + ([(curve[-1], curve[0])] if closed else [])
    for before, after in pairs:
        assert abs(turn_deg(before, after)) < 1e-6


@given(places, st.booleans(), st.floats(-3, 3), st.floats(0.1, 10), st.booleans())
def test_turning_growing_and_mirroring_the_points_does_so_to_the_curve(
    points: list[Point], closed: bool, theta_rad: float, scale: float, mirrored: bool
) -> None:
    pose = Pose(x_mm=5, y_mm=-7, theta_rad=theta_rad, scale=scale, mirrored=mirrored)
    moved = [(x, y) for x, y in pose.points(points).tolist()]
    curve = hobby_curve(knots(moved), closed=closed)
    for there, here in zip(curve, hobby_curve(knots(points), closed=closed), strict=True):
        tolerance = 1e-5 * scale * float(np.ptp(here.controls) + 1)
        assert there.controls == pytest.approx(pose.points(here.controls), abs=tolerance)


@given(places)
def test_the_way_back_is_the_same_curve(points: list[Point]) -> None:
    there = hobby_curve(knots(points))
    back = hobby_curve(knots(points[::-1]))
    for a, b in zip(there, reversed(back), strict=True):
        tolerance = 1e-6 * float(np.ptp(a.controls) + 1)
        assert a.controls == pytest.approx(b.backward().controls, abs=tolerance)


def test_a_given_direction_is_kept() -> None:
    path = knots([(0.0, 0.0), (10.0, 0.0), (20.0, 5.0)])
    path[1] = Knot(point=(10.0, 0.0), out_rad=math.radians(30))
    first, second = hobby_curve(path)
    for direction in (first.end_direction, second.start_direction):
        assert math.degrees(math.atan2(direction[1], direction[0])) == pytest.approx(30)


def test_a_corner_lets_the_two_sides_alone() -> None:
    left = [(0.0, 0.0), (5.0, 3.0), (10.0, 0.0)]
    right = [(10.0, 0.0), (15.0, 3.0), (20.0, -4.0)]
    whole = knots([*left, *right[1:]])
    whole[2] = Knot(point=(10.0, 0.0), corner=True)
    assert hobby_curve(whole) == hobby_curve(knots(left)) + hobby_curve(knots(right))


def test_a_ring_with_a_corner_starts_where_it_was_given() -> None:
    ring = knots([(0.0, 0.0), (10.0, 0.0), (14.0, 6.0), (0.0, 10.0)])
    ring[2] = Knot(point=(14.0, 6.0), corner=True)
    curve = hobby_curve(ring, closed=True)
    assert [cubic.start for cubic in curve] == [knot.point for knot in ring]
    assert abs(turn_deg(curve[0], curve[1])) < 1e-6
    assert abs(turn_deg(curve[1], curve[2])) > 10


def test_more_tension_hugs_the_chord() -> None:
    def bulge(tension: float) -> float:
        (cubic,) = hobby_curve(
            [
                Knot(point=(0.0, 0.0), out_rad=1.0, tension_out=tension),
                Knot(point=(10.0, 0.0), into_rad=-1.0, tension_in=tension),
            ]
        )
        return float(cubic.at(np.array([0.5]))[0, 1])

    assert bulge(1.0) == pytest.approx(2 * bulge(2.0))  # the controls are half as long
    assert bulge(4.0) > 0


def test_what_makes_no_curve_is_our_own_mistake() -> None:
    with pytest.raises(ValueError, match="two knots or more"):
        hobby_curve(knots([(0.0, 0.0)]))
    with pytest.raises(ValueError, match="place of its own"):
        hobby_curve(knots([(0.0, 0.0), (0.0, 0.0)]))
    with pytest.raises(ValueError, match="tension"):
        Knot(point=(0.0, 0.0), tension_in=0.5)


def test_a_curve_that_leaves_straight_backward_stays_finite() -> None:
    """Hobby's formula divides by zero there; the control is kept within four chords."""
    knots = [
        Knot(point=(0.0, 0.0), corner=True, out_rad=math.pi),
        Knot(point=(10.0, 0.0), corner=True, into_rad=math.pi),
    ]
    [cubic] = hobby_curve(knots)
    assert cubic.control1 == pytest.approx((-40.0, 0.0))
    assert cubic.control2 == pytest.approx((50.0, 0.0))

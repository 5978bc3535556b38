"""Lines, arcs and cubics against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.curves import (
    Arc,
    Chain,
    Cubic,
    Line,
    Segment,
    chain_area_mm2,
    chain_backward,
    chain_length_mm,
    chords_of_turn,
    flatten_chain,
)
from geometry.pose import Pose

coordinate = st.floats(-100, 100)
point = st.tuples(coordinate, coordinate)
cubics = st.builds(Cubic, start=point, control1=point, control2=point, end=point)


def circle(radius_mm: float, sweeps_deg: list[float]) -> Chain:
    """A whole circle about (3, 4) as arcs."""
    angles = np.radians(np.cumsum([0.0, *sweeps_deg]))
    places = [(3 + radius_mm * math.cos(a), 4 + radius_mm * math.sin(a)) for a in angles]
    places[-1] = places[0]
    return tuple(
        Arc(start=a, end=b, sweep_rad=math.radians(s))
        for a, b, s in zip(places, places[1:], sweeps_deg, strict=False)
    )


def stadium(radius_mm: float, straight_mm: float) -> Chain:
    corners = [(0.0, -radius_mm), (straight_mm, -radius_mm), (straight_mm, radius_mm)]
    a, b, c = corners
    d = (0.0, radius_mm)
    return (
        Line(start=a, end=b),
        Arc(start=b, end=c, sweep_rad=math.pi),
        Line(start=c, end=d),
        Arc(start=d, end=a, sweep_rad=math.pi),
    )


@pytest.mark.parametrize("sweeps", [[180.0, 180.0], [90.0, 270.0], [30.0, 300.0, 30.0]])
def test_a_circle_of_arcs_has_a_circles_area_and_length(sweeps: list[float]) -> None:
    chain = circle(7.0, sweeps)
    assert chain_area_mm2(chain) == pytest.approx(math.pi * 49)
    assert chain_length_mm(chain) == pytest.approx(2 * math.pi * 7)
    for arc in chain:
        assert isinstance(arc, Arc)
        assert arc.centre == pytest.approx((3, 4))


def test_a_stadium_has_its_closed_form_area_and_length() -> None:
    chain = stadium(5.0, 40.0)
    assert chain_area_mm2(chain) == pytest.approx(math.pi * 25 + 400)
    assert chain_length_mm(chain) == pytest.approx(math.pi * 10 + 80)


def test_a_chain_the_other_way_encloses_the_negative() -> None:
    chain = stadium(5.0, 40.0)
    assert chain_area_mm2(chain_backward(chain)) == pytest.approx(-chain_area_mm2(chain))
    assert chain_backward(chain_backward(chain)) == chain


def test_a_straight_cubic_has_the_length_of_its_line() -> None:
    cubic = Cubic(start=(0, 0), control1=(1, 1), control2=(2, 2), end=(3, 3))
    assert cubic.length_mm == pytest.approx(math.sqrt(18))
    assert cubic.swept_mm2 == pytest.approx(0)


def test_a_parabola_has_its_closed_form_area_and_length() -> None:
    # y = x^2 from 0 to 1 as a cubic: controls (1/3, 0) and (2/3, 1/3).
    # Area to the origin: integral of (x y' - y x') / 2 dx = 1/6.
    # Length: sqrt(5)/2 + asinh(2)/4 (any calculus text).
    cubic = Cubic(start=(0, 0), control1=(1 / 3, 0), control2=(2 / 3, 1 / 3), end=(1, 1))
    assert cubic.swept_mm2 == pytest.approx(1 / 6)
    assert cubic.length_mm == pytest.approx(math.sqrt(5) / 2 + math.asinh(2) / 4, rel=1e-9)
    # Curvature 2 / (1 + 4 x^2)^1.5; the parameter of this cubic is x itself.
    curvature = cubic.curvature_per_mm(np.array([0.0, 0.5, 1.0]))
    assert curvature == pytest.approx([2, 2 / 2**1.5, 2 / 5**1.5])


def test_the_number_of_chords_follows_the_sagitta() -> None:
    # r = 10, s = 0.1: half angle acos(0.99) = 8.1096 deg, so a turn needs 360 / 16.219 = 22.2.
    assert chords_of_turn(10, 2 * math.pi, 0.1) == 23


def test_an_arc_is_flattened_within_the_chord_error() -> None:
    arc = Arc(start=(10, 0), end=(0, 10), sweep_rad=math.pi / 2)
    points = np.vstack([arc.flattened(0.05), arc.end])
    assert np.hypot(*points.T) == pytest.approx(10)
    middles = np.hypot(*((points[1:] + points[:-1]) / 2).T)
    assert (10 - middles).max() <= 0.05
    assert (10 - middles).max() > 0.02  # and no finer than it has to be


@given(cubics, st.sampled_from([0.01, 0.1, 1.0]))
def test_a_cubic_is_flattened_within_the_chord_error(cubic: Cubic, chord_mm: float) -> None:
    count = len(cubic.flattened(chord_mm))
    assert count <= 1000
    points = cubic.at(np.arange(count + 1) / count)
    assert points[:-1] == pytest.approx(cubic.flattened(chord_mm), abs=1e-9)
    for share in (0.25, 0.5, 0.75):
        true = cubic.at((np.arange(count) + share) / count)
        on_chord = points[:-1] + share * np.diff(points, axis=0)
        assert np.hypot(*(true - on_chord).T).max() <= chord_mm + 1e-9


@given(cubics)
def test_area_swept_agrees_with_fine_flattening(cubic: Cubic) -> None:
    points = cubic.at(np.linspace(0, 1, 4001))
    (x0, y0), (x1, y1) = points[:-1].T, points[1:].T
    assert cubic.swept_mm2 == pytest.approx(float((x0 * y1 - y0 * x1).sum()) / 2, abs=0.01)


SEGMENTS: list[Segment] = [
    Line(start=(1, 2), end=(4, 6)),
    Arc(start=(1, 0), end=(0, 1), sweep_rad=math.pi / 2),
    Arc(start=(1, 0), end=(0, 1), sweep_rad=-1.5 * math.pi),
    Cubic(start=(0, 0), control1=(2, 0), control2=(4, 3), end=(4, 5)),
    Cubic(start=(0, 0), control1=(0, 0), control2=(4, 3), end=(4, 5)),
]


@pytest.mark.parametrize("segment", SEGMENTS)
def test_end_directions_are_those_of_the_points(segment: Segment) -> None:
    fine = np.vstack([segment.flattened(1e-7), segment.end])
    for direction, step in (
        (segment.start_direction, fine[1] - fine[0]),
        (segment.end_direction, fine[-1] - fine[-2]),
    ):
        assert direction == pytest.approx(tuple(step / np.hypot(*step)), abs=2e-3)


@pytest.mark.parametrize("segment", SEGMENTS)
@pytest.mark.parametrize("mirrored", [False, True])
def test_moving_and_flattening_change_places(segment: Segment, mirrored: bool) -> None:
    pose = Pose(x_mm=3, y_mm=-2, theta_rad=0.7, mirrored=mirrored, scale=2.0)
    moved = segment.moved(pose)
    assert moved.flattened(0.026) == pytest.approx(pose.points(segment.flattened(0.013)))
    assert moved.length_mm == pytest.approx(2 * segment.length_mm)


def test_a_tiny_hole_still_encloses_something() -> None:
    assert len(flatten_chain(circle(0.001, [180.0, 180.0]), 0.01)) == 8


def test_an_arc_of_no_turn_is_our_own_mistake() -> None:
    with pytest.raises(ValueError, match="no such arc"):
        Arc(start=(0, 0), end=(1, 0), sweep_rad=0.0)

"""Lengths along an edge, and the places at them."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.along import Along
from geometry.curves import Chain, Cubic, Point, chain_length_mm, flatten_chain
from geometry.family import Family, built_in_families
from tests.geometry.chains import (
    circle,
    ellipse,
    ellipse_arc,
    ellipse_perimeter_mm,
    parabola,
    parabola_length_mm,
    stadium,
)

coordinate = st.floats(-50, 50)
point = st.tuples(coordinate, coordinate)


@pytest.mark.parametrize(
    ("chain", "length_mm"),
    [
        (circle(7.0), 14 * math.pi),
        (circle(0.5, arcs=5), math.pi),
        (stadium(40.0, 5.0), 80 + 10 * math.pi),
        (ellipse(30.0, 12.0), ellipse_perimeter_mm(30.0, 12.0)),
        (ellipse(100.0, 1.0), ellipse_perimeter_mm(100.0, 1.0)),
        (parabola(40.0, 9.0), 80 + parabola_length_mm(40.0, 9.0)),
        (parabola(10.0, 30.0), 20 + parabola_length_mm(10.0, 30.0)),
    ],
)
def test_a_chain_is_as_long_as_its_closed_form(chain: Chain, length_mm: float) -> None:
    assert Along(chain).length_mm == pytest.approx(length_mm, rel=1e-9)


def test_part_of_an_ellipse_is_as_long_as_its_integral() -> None:
    # The integral of sqrt(a^2 sin^2 + b^2 cos^2) from 0 to 1 rad by Simpson's rule in 2000 steps.
    a, b = 20.0, 8.0
    t = np.linspace(0.0, 1.0, 2001)
    speed = np.sqrt((a * np.sin(t)) ** 2 + (b * np.cos(t)) ** 2)
    simpson = (speed[0] + speed[-1] + 4 * speed[1::2].sum() + 2 * speed[2:-1:2].sum()) / 6000
    assert Along(ellipse_arc(a, b, 1.0)).length_mm == pytest.approx(simpson, rel=1e-9)
    whole = Along(ellipse(a, b))
    end = (a * math.cos(1.0), b * math.sin(1.0))
    assert whole.place_mm(end) == pytest.approx(simpson, rel=1e-8)


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_the_length_is_that_of_a_fine_polygon(family: Family) -> None:
    chain = family.outline().chain
    fine = shapely.LinearRing(flatten_chain(chain, 1e-6)).length
    assert chain_length_mm(chain) == pytest.approx(fine, abs=1e-4)
    assert fine < chain_length_mm(chain)


@given(st.floats(0, 1))
def test_a_place_on_a_stadium_is_where_a_tape_would_put_it(share: float) -> None:
    along = Along(stadium(40.0, 5.0))
    s = share * along.length_mm
    [(x, y)], [(dx, dy)] = (found.tolist() for found in along.at([s]))
    half = 5 * math.pi
    if s <= 40:
        expected = (s, -5.0, 1.0, 0.0)
    elif s <= 40 + half:
        turn = (s - 40) / 5
        expected = (40 + 5 * math.sin(turn), -5 * math.cos(turn), math.cos(turn), math.sin(turn))
    elif s <= 80 + half:
        expected = (80 + half - s, 5.0, -1.0, 0.0)
    else:
        turn = (s - 80 - half) / 5
        expected = (-5 * math.sin(turn), 5 * math.cos(turn), -math.cos(turn), -math.sin(turn))
    assert (x, y, dx, dy) == pytest.approx(expected, abs=1e-9)


@given(point, point, point, point, st.lists(st.floats(0, 1), min_size=1, max_size=5))
def test_a_cubics_places_lie_at_their_length(
    p: Point, q: Point, r: Point, s: Point, shares: list[float]
) -> None:
    cubic = Cubic(start=p, control1=q, control2=r, end=s)
    speed = np.hypot(*cubic.derivative(np.linspace(0, 1, 400)).T)
    assume(speed.min() > 1 + 0.1 * speed.max())  # no knife's edge turns on the spot
    along = Along((cubic,))
    places = np.sort(shares) * along.length_mm
    found, ways = along.at(places)
    fine = flatten_chain((cubic,), 1e-7)
    tape = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(fine, axis=0).T))])
    by_tape = np.column_stack([np.interp(places, tape, fine[:, k]) for k in (0, 1)])
    inside = places <= tape[-1]
    assert np.abs(found - by_tape)[inside].max(initial=0.0) < 2e-3
    assert np.hypot(*ways.T) == pytest.approx(1.0)


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_a_place_on_the_edge_is_found_again(family: Family) -> None:
    along = Along(family.outline().chain)
    places = np.linspace(0.0, along.length_mm, 60)[1:-1]
    points, ways = along.at(places)
    for place, (x, y), (dx, dy) in zip(places, points, ways, strict=True):
        assert along.place_mm((x, y)) == pytest.approx(place, abs=1e-6)
        beside = along.place_mm((x - 1e-3 * dy, y + 1e-3 * dx))  # a micrometre square to the edge
        assert beside == pytest.approx(place, abs=1e-3)


def test_from_one_place_to_another_goes_round() -> None:
    along = Along(stadium(40.0, 5.0))
    right, left = (45.0, 0.0), (-5.0, 0.0)
    assert along.between_mm(left, right) == pytest.approx(40 + 5 * math.pi)
    assert along.between_mm(right, left) == pytest.approx(40 + 5 * math.pi)
    assert along.between_mm((10.0, -5.0), (30.0, -9.0)) == pytest.approx(20)
    assert along.between_mm((30.0, -5.0), (10.0, -5.0)) == pytest.approx(60 + 10 * math.pi)

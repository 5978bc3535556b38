"""Bounds of small programs over a box, against a general solver."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from geometry.box_program import box_bounds
from geometry.segments import Floats

ROUNDING = 1e-6


def solved(values: Floats, slopes: Floats) -> float:
    """Return the greatest t with t <= values + slopes @ d over the box, by a general solver."""
    axes = slopes.shape[1]
    rows = np.column_stack([-slopes, np.ones(len(values))])
    objective = np.append(np.zeros(axes), -1.0)
    sides = [(-1.0, 1.0)] * axes + [(None, None)]
    return float(-linprog(objective, A_ub=rows, b_ub=values, bounds=sides).fun)


def programs(seed: int, kinds: int, axes: int, kind: str) -> tuple[Floats, Floats]:
    """Return six programs: of any numbers, of few different ones, of equal rows, or flat."""
    random = np.random.default_rng(seed)
    values = random.normal(size=(6, kinds))
    slopes = random.normal(size=(6, kinds, axes)) * 10.0 ** random.uniform(-3, 2, (6, 1, axes))
    if kind == "few":  # many points where more rows meet than are needed
        values, slopes = np.round(values), np.round(random.normal(size=slopes.shape))
    elif kind == "equal":
        values[:, kinds // 2 :] = values[:, :1]
        slopes[:, kinds // 2 :] = slopes[:, :1]
    elif kind == "flat":
        slopes[random.random(slopes.shape) < 0.6] = 0.0
    return values, slopes


KINDS = st.sampled_from(["any", "few", "equal", "flat"])


@given(
    seed=st.integers(0, 100_000),
    kinds=st.integers(1, 40),
    axes=st.integers(1, 4),
    kind=KINDS,
    most=st.integers(0, 12),
)
@settings(max_examples=40)
def test_a_bound_however_early_it_stops(
    seed: int, kinds: int, axes: int, kind: str, most: int
) -> None:
    values, slopes = programs(seed, kinds, axes, kind)
    found = box_bounds(values, slopes, enough=-np.inf, most=most)
    size = 1.0 + np.abs(values).max() + np.abs(slopes).sum(axis=2).max()
    for value, slope, greatest in zip(values, slopes, found.greatest, strict=True):
        assert greatest >= solved(value, slope) - ROUNDING * size


@given(
    seed=st.integers(0, 100_000),
    kinds=st.integers(1, 40),
    axes=st.integers(1, 4),
    kind=st.sampled_from(["any", "equal", "flat"]),
)
@settings(max_examples=40)
def test_the_optimum_where_it_may_finish(seed: int, kinds: int, axes: int, kind: str) -> None:
    """Of few different numbers some go round among equal weights: a bound, but not the least."""
    values, slopes = programs(seed, kinds, axes, kind)
    found = box_bounds(values, slopes, enough=-np.inf, most=400)
    size = 1.0 + np.abs(values).max() + np.abs(slopes).sum(axis=2).max()
    for number, (value, slope) in enumerate(zip(values, slopes, strict=True)):
        assert found.greatest[number] == pytest.approx(solved(value, slope), abs=ROUNDING * size)
        at = found.at[number]
        assert np.abs(at).max() <= 1.0
        reached = (value + slope @ at).min()
        assert reached == pytest.approx(found.greatest[number], abs=ROUNDING * size)


@given(seed=st.integers(0, 100_000), kinds=st.integers(1, 40))
@settings(max_examples=15)
def test_more_exchanges_only_lower_it_and_enough_ends_them(seed: int, kinds: int) -> None:
    values, slopes = programs(seed, kinds, 4, "any")
    bounds = [
        box_bounds(values, slopes, enough=-np.inf, most=most).greatest for most in range(0, 24, 3)
    ]
    for later, sooner in zip(bounds[1:], bounds, strict=False):
        assert (later <= sooner + 1e-9 * (1.0 + np.abs(sooner))).all()
    enough = float(np.median(bounds[-1]))
    asked = box_bounds(values, slopes, enough=enough, most=400).greatest
    best = np.array([solved(*each) for each in zip(values, slopes, strict=True)])
    assert (asked >= best - 1e-6 * (1.0 + np.abs(best))).all()
    # Where the optimum is enough, no more is promised than that; else it is the optimum.
    above = best > enough + 1e-6
    np.testing.assert_allclose(asked[above], best[above], atol=1e-4, rtol=1e-6)
    assert (asked[~above] <= enough + 1e-5).all()


@given(seed=st.integers(0, 100_000), kinds=st.integers(1, 30))
@settings(max_examples=15)
def test_no_point_of_the_box_has_more(seed: int, kinds: int) -> None:
    values, slopes = programs(seed, kinds, 4, "any")
    found = box_bounds(values, slopes, enough=-np.inf, most=3)
    points = np.random.default_rng(seed).uniform(-1, 1, (500, 4)).round(seed % 2)
    least = (values[:, :, None] + slopes @ points.T).min(axis=1)
    assert (found.greatest[:, None] >= least - 1e-9 * (1.0 + np.abs(least))).all()


def test_a_width_that_tells_nothing_has_no_lean() -> None:
    """The bound 0.5 of two slopes along x owes nothing to y, and nothing to x where they meet."""
    values = np.array([[1.0, 0.0], [1.0, 3.0]])
    slopes = np.array([[[1.0, 0.0], [-1.0, 0.0]], [[2.0, 0.0], [0.0, 1.0]]])
    found = box_bounds(values, slopes, enough=-np.inf)
    np.testing.assert_allclose(found.greatest, [0.5, 3.0])
    np.testing.assert_allclose(found.lean[0], [0.0, 0.0], atol=1e-12)
    # t <= 1 + 2x is 3 at most, all of its growth along x; at y = 1 the other row leaves 4.
    np.testing.assert_allclose(found.lean[1], [2.0, 0.0], atol=1e-9)


def test_no_programs_at_all() -> None:
    found = box_bounds(np.empty((0, 3)), np.empty((0, 3, 4)), enough=-np.inf)
    assert found.greatest.shape == (0,)
    assert found.at.shape == found.lean.shape == (0, 4)

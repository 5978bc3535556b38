"""Errors with a sign add up with it; the others as squares."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.error_budget import Budget, Part

# a careful maker, 200 mm long, 6.35 thick: the trade's own worked sum
CAREFUL = [
    ("reference", 0.2),
    ("tilt after four points", 0.15),
    ("trace offset left over", 0.2),
    ("ink edge", 0.1),
    ("print", 0.2),
    ("paper", 0.2),
]


def test_the_careful_makers_budget():
    budget = Budget(parts=tuple(Part(name=name, sigma_mm=sigma) for name, sigma in CAREFUL))
    assert budget.sigma_mm == pytest.approx(0.44, abs=0.005)  # root of 0.1925 is 0.4387
    assert budget.bias_mm == 0.0
    assert budget.worst_mm < 1.0  # so a margin of 1.0 is met at two deviations
    assert budget.worst_mm > 0.5  # and one of 0.5 is not


def test_errors_that_share_a_sign_are_not_summed_as_squares():
    stand_off, ink = Part(name="stand-off", bias_mm=0.3), Part(name="ink side", bias_mm=0.4)
    assert Budget(parts=(stand_off, ink)).bias_mm == pytest.approx(0.7)  # not 0.5
    undercut = Part(name="undercut", bias_mm=-0.3)
    assert Budget(parts=(stand_off, ink, undercut)).bias_mm == pytest.approx(0.4)


parts = st.builds(
    Part,
    name=st.just("x"),
    bias_mm=st.floats(-5, 5, allow_subnormal=False),
    sigma_mm=st.floats(0, 5, allow_subnormal=False),
)


@given(st.lists(parts, max_size=8), st.lists(parts, max_size=8))
def test_two_budgets_together_are_one(first, second):
    one, two, both = (Budget(parts=tuple(each)) for each in (first, second, first + second))
    assert both.bias_mm == pytest.approx(one.bias_mm + two.bias_mm, abs=1e-9)
    assert both.sigma_mm == pytest.approx(math.hypot(one.sigma_mm, two.sigma_mm), abs=1e-9)
    assert both.worst_mm >= both.bias_mm


@pytest.mark.parametrize(
    "wrong", [{"bias_mm": math.nan}, {"sigma_mm": -0.1}, {"sigma_mm": math.inf}]
)
def test_a_part_that_is_no_number_is_our_own_mistake(wrong):
    with pytest.raises(ValueError, match="give or take"):
        Part(name="x", **wrong)

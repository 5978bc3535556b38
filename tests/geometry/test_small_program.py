import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from geometry.small_program import greatest


@given(seed=st.integers(0, 10_000), count=st.integers(1, 120), square=st.booleans())
@settings(max_examples=40, deadline=None)
def test_agreement_with_a_general_solver(seed: int, count: int, square: bool) -> None:
    random = np.random.default_rng(seed)
    angles = random.uniform(0, 7, count)
    if square:  # many equal and opposite limits: corners where several meet
        angles = np.round(angles / (np.pi / 2)) * (np.pi / 2)
    rows = np.column_stack([np.cos(angles), np.sin(angles), random.integers(-1, 2, count)])
    limits = np.round(random.uniform(0, 3, count), int(not square) + 1)
    objective = random.normal(size=3)
    found = greatest(objective, rows, limits, np.full(3, 2.0))
    other = linprog(-objective, A_ub=rows, b_ub=limits, bounds=[(-2, 2)] * 3)
    assert found is not None
    assert (rows @ found <= limits + 1e-6).all()
    assert np.abs(found).max() <= 2.0 + 1e-6
    assert abs(objective @ found + other.fun) < 1e-6


def test_limits_that_exclude_each_other_are_noticed() -> None:
    rows = np.array([[1.0, 0.0], [-1.0, 0.0]])
    assert greatest(np.array([0.0, 1.0]), rows, np.array([-1.0, -1.0]), np.ones(2) * 9) is None

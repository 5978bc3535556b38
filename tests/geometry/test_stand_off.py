"""A pen's stand-off: the table of the trade, and what another thickness does to it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import InputError
from geometry.stand_off import Offset, expected_offset, offset_at, stand_off_mm

# r, alpha, t, tilt, offset: r + t tan(alpha - tilt) by hand; 6.35 tan 10 deg = 1.1197, and so on
TABLE = [
    (0.35, 10, 6.35, 0, 1.470),
    (0.35, 10, 6.35, 5, 0.906),
    (0.35, 10, 6.35, 10, 0.350),
    (0.35, 10, 6.35, 25, 0.350),
    (0.35, 10, 6.35, -5, 2.051),
    (0.35, 10, 3.175, 0, 0.910),
    (0.50, 12, 6.35, 0, 1.850),
]


@pytest.mark.parametrize(("radius", "alpha", "thickness", "tilt", "offset"), TABLE)
def test_the_stand_off_of_the_table(radius, alpha, thickness, tilt, offset):
    found = stand_off_mm(thickness, tilt_deg=tilt, tip_radius_mm=radius, half_angle_deg=alpha)
    assert found == pytest.approx(offset, abs=0.0005)


@given(st.floats(0, 50), st.floats(-40, 40), st.floats(0, 40))
def test_leaning_out_never_makes_it_larger_nor_less_than_the_tip(thickness, tilt, more):
    here = stand_off_mm(thickness, tilt_deg=tilt)
    assert 0.35 <= stand_off_mm(thickness, tilt_deg=tilt + more) <= here + 1e-12


@pytest.mark.parametrize(
    "wrong",
    [
        {"thickness_mm": -1.0},
        {"thickness_mm": math.nan},
        {"thickness_mm": 5.0, "half_angle_deg": 70.0},
        {"thickness_mm": 5.0, "tilt_deg": -75.0},
        {"thickness_mm": 5.0, "tip_radius_mm": -0.1},
    ],
)
def test_a_pen_that_cannot_be_is_refused(wrong):
    with pytest.raises(InputError, match="cannot be reckoned"):
        stand_off_mm(**wrong)


@pytest.mark.parametrize("tilt", [0, 5, 8])
@pytest.mark.parametrize("used_mm", [3.175, 4.763, 6.35, 9.525])
def test_a_pen_measured_on_quarter_inch_is_known_on_other_steel(tilt, used_mm):
    """Against the formula itself; the ink's inner edge lies half a 0.4 mm line further in."""
    half_line_mm = 0.2
    measured = Offset(value_mm=stand_off_mm(6.35, tilt_deg=tilt) - half_line_mm, sigma_mm=0.1)
    used = offset_at(measured, measured_at_mm=6.35, used_at_mm=used_mm)
    true_mm = stand_off_mm(used_mm, tilt_deg=tilt) - half_line_mm
    assert abs(used.value_mm - true_mm) < 2.0 * used.sigma_mm
    assert abs(used.value_mm - true_mm) < 0.25


@given(st.floats(-0.5, 2.0), st.floats(0.01, 0.3), st.floats(1.0, 12.0))
def test_the_same_thickness_is_applied_as_it_was_measured(value, sigma, thickness):
    measured = Offset(value_mm=value, sigma_mm=sigma)
    used = offset_at(measured, measured_at_mm=thickness, used_at_mm=thickness)
    assert used.value_mm == value
    assert used.sigma_mm > sigma  # the hand never leans quite the same


@given(st.floats(0.0, 2.0), st.floats(1.0, 12.0), st.floats(0.5, 5.0))
def test_doubt_grows_with_the_difference_in_thickness(value, thickness, more):
    measured = Offset(value_mm=value, sigma_mm=0.1)
    doubts = [
        offset_at(measured, measured_at_mm=thickness, used_at_mm=thickness + extra).sigma_mm
        for extra in (0.0, more, 2.0 * more)
    ]
    assert doubts == sorted(doubts)
    assert doubts[0] < doubts[2]


def test_a_thickness_that_is_not_told_costs_more_than_one_that_is():
    measured = Offset(value_mm=0.9, sigma_mm=0.1)
    told = offset_at(measured, measured_at_mm=6.0, used_at_mm=6.0)
    for at, used in ((None, 6.0), (6.0, None), (None, None)):
        silent = offset_at(measured, measured_at_mm=at, used_at_mm=used)
        assert silent.value_mm == 0.9
        assert silent.sigma_mm > 1.2 * told.sigma_mm


@pytest.mark.parametrize("tilt", [0, 3, 6, 10])
@pytest.mark.parametrize("thickness", [3.175, 6.35])
def test_what_is_expected_of_a_pen_covers_the_table(tilt, thickness):
    expected = expected_offset(thickness)
    true_mm = stand_off_mm(thickness, tilt_deg=tilt) - 0.2
    assert abs(true_mm - expected.value_mm) < 2.0 * expected.sigma_mm

"""How far a pen stands off: measured once, or told."""

import pytest

from calibration.pens import Pen, measured_pen
from geometry.errors import InputError


def test_a_pen_is_measured_on_a_bar():
    """By hand: 26.5 traced, 25.4 true: 0.55 too large; doubts of 0.12 and 0.05 halve to 0.065."""
    pen = measured_pen(
        "felt",
        traced_mm=26.5,
        traced_sigma_mm=0.12,
        true_mm=25.4,
        true_sigma_mm=0.05,
        thickness_mm=6.35,
        edge="inner",
    )
    assert pen.offset_mm == pytest.approx(0.55)
    assert pen.sigma_mm == pytest.approx(0.065)
    with pytest.raises(InputError, match="inner side of its ink, not the outer"):
        pen.offset_on(6.35, "outer")
    assert "reckoned from 0.55 mm" in pen.note(3.2, "inner")
    assert "reckoned" not in pen.note(6.35, "inner")
    assert "tell the thickness" in pen.note(None, "inner")


def test_a_pen_told_for_this_piece_is_taken_as_told():
    told_here = Pen(name="", offset_mm=0.8)
    assert told_here.offset_on(9.0, "inner").value_mm == 0.8
    assert told_here.offset_on(9.0, "inner").sigma_mm == told_here.sigma_mm


def test_no_pen_stands_off_a_hands_breadth():
    with pytest.raises(InputError, match=r"not 80\.00 mm too large"):
        Pen(name="biro", offset_mm=80.0)

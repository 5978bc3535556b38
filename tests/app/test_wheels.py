"""Which wheel follows the tightest inside curve, in words."""

import itertools
import math

import pytest

from app.document.wheels import WheelNote, wheel_note
from geometry.curvature import wheels_that_follow
from geometry.curves import Arc, Line
from geometry.outline import Outline, Station, outline_from_rings


def hollowed(*radii_mm: float) -> Outline:
    """A bar 300 mm long whose lower side has half round hollows, between two stations."""
    chain: list[Line | Arc] = []
    at = (0.0, 0.0)
    for number, radius in enumerate(radii_mm):
        start = (40.0 + 120.0 * number, 0.0)
        end = (start[0] + 2 * radius, 0.0)
        chain += [Line(start=at, end=start), Arc(start=start, end=end, sweep_rad=-math.pi)]
        at = end
    corners = [at, (300.0, 0.0), (300.0, 120.0), (0.0, 120.0), (0.0, 0.0)]
    chain += [Line(start=a, end=b) for a, b in itertools.pairwise(corners)]
    stations = (
        Station(name="butt", x_mm=0.0, y_mm=0.0),
        Station(name="heel", x_mm=300.0, y_mm=0.0),
    )
    return Outline(name="bar", chain=tuple(chain), stations=stations)


def test_a_wheel_follows_a_curve_that_is_as_round_as_itself() -> None:
    """The radius is half of the wheel's diameter: 12.5 for 25 mm."""
    assert not wheel_note(hollowed(12.5), (25.0, 50.0), "mm").warns
    note = wheel_note(hollowed(12.4), (25.0, 50.0), "mm")
    assert note.warns
    assert "radius 12.4 mm, between butt and heel" in note.text
    assert "the smallest is 25 mm across" in note.text
    assert "at most 24.8 mm" in note.text


def test_the_largest_wheel_that_follows_the_tightest_curve_is_named() -> None:
    note = wheel_note(hollowed(30.0, 14.0), (20.0, 25.0, 50.0, 254.0), "mm")
    assert not note.warns
    assert "wheel of 25 mm" in note.text
    assert "14.0 mm" in note.text


def test_what_is_filed_is_counted_and_hides_no_rounder_curve() -> None:
    filed = "No wheel follows 1 notch or sharp corner."
    assert wheel_note(hollowed(1.5), (25.0,), "mm") == WheelNote(text=filed)
    note = wheel_note(hollowed(1.5, 20.0), (25.0,), "mm")
    assert "20.0 mm" in note.text
    assert note.text.endswith(filed)
    assert not note.warns
    # Two in one stretch between stations: the notch is at hand, and so is what no wheel follows.
    note = wheel_note(hollowed(1.5, 8.0), (25.0,), "mm")
    assert "None of your wheels follows the inside curve of radius 8.0 mm" in note.text
    assert note.warns
    note = wheel_note(hollowed(2.0, 20.0), (4.0, 25.0), "mm")  # a rod of 4 mm goes in
    assert note.text.startswith("Your wheel of 4 mm follows the tightest inside curve: radius 2.0")
    assert "notch" not in note.text


def test_the_others_that_no_wheel_follows_are_counted() -> None:
    note = wheel_note(hollowed(9.0, 5.0), (20.0, 50.0), "mm")
    assert "curve of radius 5.0 mm" in note.text
    assert note.text.endswith("Nor does any follow 1 rounder curve.")
    note = wheel_note(hollowed(10.0, 5.0), (20.0, 50.0), "mm")  # 10 is just as round as the wheel
    assert "Nor" not in note.text


def test_sharp_inside_corners_are_counted() -> None:
    corners = [(20, 20), (20, 60), (0, 60), (0, 0), (60, 0), (60, 10), (40, 10), (40, 20)]
    note = wheel_note(outline_from_rings("steps", corners), (), "mm")
    assert note.text == "No wheel follows 2 notches or sharp corners."


def test_without_wheels_the_radius_is_told() -> None:
    note = wheel_note(hollowed(14.0), (), "in")
    assert note.text == "The tightest inside curve has a radius of 0.55 in, between butt and heel."
    assert not note.warns


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_bar_without_hollows_needs_no_word(unit: str) -> None:
    assert wheel_note(hollowed(), (25.0,), unit).text == ""  # type: ignore[arg-type]


@pytest.mark.parametrize("radius_mm", [12.4, 12.4995, 12.5, 20.0])
def test_the_note_goes_by_the_same_rule_as_the_command_line(radius_mm: float) -> None:
    """A thousandth of a millimetre less than the wheel has is as round as it."""
    shape = hollowed(radius_mm)
    [each] = wheels_that_follow(shape, (25.0,))
    assert wheel_note(shape, (25.0,), "mm").warns == bool(each.warning) == (radius_mm < 12.499)

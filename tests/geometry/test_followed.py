"""The radius of hollows that are drawn as chords, or as arcs that do not quite meet."""

import itertools
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from app.document.measured_outline import outline_of_billet
from app.files.job_file import read_job
from app.files.outline_choice import read_drawing
from geometry.curvature import inside_radii
from geometry.curves import Arc, Line, Point
from geometry.family import built_in_families
from geometry.family.model import Family
from geometry.outline import Outline, outline_from_rings


def chords(radius_mm: float, turn_rad: float, count: int) -> list[Point]:
    """A bar 200 mm long with a hollow of chords in its top, between straight sides that go on."""
    across = 2 * radius_mm * math.sin(turn_rad / 2)
    angles = np.linspace(turn_rad / 2, -turn_rad / 2, count + 1)
    sink = radius_mm * math.cos(turn_rad / 2)
    hollow = [(100 + radius_mm * math.sin(a), 60 + sink - radius_mm * math.cos(a)) for a in angles]
    slope = math.tan(turn_rad / 2)
    left, right = (100 - across / 2) * 0.5, 100 + across / 2 + (100 - across / 2) * 0.5
    rise = (100 - across / 2) * 0.5 * slope
    return [
        (0, -100),
        (200, -100),
        (200, 60),
        (right, 60 + rise),
        *hollow,
        (left, 60 + rise),
        (0, 60),
    ]


@settings(max_examples=25)
@given(st.floats(5, 60), st.floats(0.7, 2.0), st.integers(12, 40))
def test_chords_have_the_radius_of_the_curve_they_stand_for(
    radius: float, turn: float, count: int
) -> None:
    """A wheel larger by `d` leaves `d (sec(turn / 2) - 1)` in the middle: at most 0.1 mm."""
    assume(radius * (1 - math.cos(turn / 2 / count)) < 0.06)  # of the chords from their curve
    found = [
        each.radius_mm
        for each in inside_radii(outline_from_rings("bar", chords(radius, turn, count)))
    ]
    [told] = [each for each in found if each]
    most = radius + 0.1 / (1 / math.cos(turn / 2) - 1)
    assert 0.98 * radius <= told <= 1.02 * most


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_a_knife_of_chords_has_the_hollows_of_the_knife(family: Family) -> None:
    """Drawn as chords 0.01 mm off, the tightest curve is the same, and no corner is made of one."""
    drawn = family.outline({})
    of_chords = outline_from_rings("chords", drawn.ring(0.01))
    true, told = ([r.radius_mm for r in inside_radii(each)] for each in (drawn, of_chords))
    assert told.count(0.0) == true.count(0.0)
    tightest = min(radius for radius in true if radius)
    assert min(radius for radius in told if radius) == pytest.approx(tightest, rel=0.2)
    assert sum(radius < 60 for radius in told) <= sum(radius < 60 for radius in true)


def test_arcs_that_do_not_quite_meet_are_one_curve() -> None:
    """Arcs of radius 25 from places 0.05 mm out and in turn by 2.6 degrees at each."""
    angles = np.radians(np.linspace(40, -40, 9))
    reach = [25 + 0.05 * (-1) ** i for i in range(9)]
    points = [
        (100 + r * math.sin(a), 60 - r * math.cos(a)) for r, a in zip(reach, angles, strict=True)
    ]
    sweeps = [-math.radians(10)] * 8
    hollow = [
        Arc(start=a, end=b, sweep_rad=sweep)
        for (a, b), sweep in zip(itertools.pairwise(points), sweeps, strict=True)
    ]
    sides = [
        points[-1],
        (0.0, points[0][1]),
        (0.0, 0.0),
        (200.0, 0.0),
        (200.0, points[0][1]),
        points[0],
    ]
    chain = (*hollow, *(Line(start=a, end=b) for a, b in itertools.pairwise(sides)))
    [found] = inside_radii(Outline(name="bar", chain=chain))
    assert found.radius_mm == pytest.approx(25.0, rel=0.1)


@pytest.mark.parametrize(("turn_deg", "told_mm"), [(5.0, 105.0), (10.0, 26.2), (20.0, 6.48)])
def test_a_corner_that_turns_little_is_followed_by_a_large_wheel(
    turn_deg: float, told_mm: float
) -> None:
    """0.1 / (sec(turn / 2) - 1)."""
    rise = 100 * math.tan(math.radians(turn_deg))
    ring = [(0, -50), (200, -50), (200, 60 + rise), (100, 60), (0, 60)]
    [found] = inside_radii(outline_from_rings("bar", ring))
    assert found.radius_mm == pytest.approx(told_mm, rel=0.03)
    assert found.at == pytest.approx((100.0, 60.0))


@pytest.mark.parametrize("turn_deg", [31.0, 39.0, 41.0, 90.0, 130.0])
def test_a_sharp_corner_is_still_one(turn_deg: float) -> None:
    x, y = (50 * math.cos(math.radians(turn_deg)), 50 * math.sin(math.radians(turn_deg)))
    ring = [(0, -50), (200, -50), (200, 60 + y), (100 + x, 60 + y), (100, 60), (0, 60)]
    [found] = inside_radii(outline_from_rings("bar", ring))
    assert (found.radius_mm, found.at) == (0.0, (100.0, 60.0))


def test_the_sample_drawn_as_chords_has_its_hollows_and_no_corners(samples: Path) -> None:
    """Its notch is half round with a radius of 1.5 mm."""
    drawing = read_drawing(samples / "bench_sheepsfoot.dxf", "", 0).outline
    radii = [each.radius_mm for each in inside_radii(drawing)]
    assert 0.0 not in radii
    assert len([radius for radius in radii if radius < 60]) <= 4
    assert min(radii) == pytest.approx(1.5, abs=0.1)


def test_a_traced_forging_has_hollows_and_no_corners(samples: Path) -> None:
    """It is hammered in waves; the tightest of them is the shoulder, 85 mm from its butt."""
    billet = read_job(samples / "forging.blankwright").billet
    assert billet is not None
    outline = outline_of_billet(billet, name="forging")
    assert len(outline.chain) > 30  # arcs, few of which meet smoothly
    tightest = min(inside_radii(outline), key=lambda each: each.radius_mm)
    assert 5.0 < tightest.radius_mm < 15.0
    butt = next(station.x_mm for station in outline.stations if station.name == "butt")
    assert tightest.at[0] - butt == pytest.approx(85.0, abs=4.0)

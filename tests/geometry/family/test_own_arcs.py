"""Drawings rounded by arcs, saved as families: whatever the values, no radius is lost."""

import math
from functools import cache
from itertools import product

import pytest

from geometry.curvature import inside_radii
from geometry.curves import Arc, Line, Point
from geometry.family import Family, family_named
from geometry.family.rounding import rounded
from geometry.family.saving import family_of
from geometry.outline import Outline

MEANT_RAD = math.radians(5)  # an arc that turns by more was drawn on purpose


def drawn(corners: dict[Point, float]) -> Outline:
    """An outline of straight sides, its corners rounded by the radii told."""
    points = list(corners)
    sides = zip(points, [*points[1:], points[0]], strict=True)
    lines = tuple(Line(start=start, end=end) for start, end in sides)
    return Outline(name="drawn", chain=rounded(lines, corners, "drawn"))


DRAWINGS: dict[str, dict[Point, float]] = {
    "fillet on the spine": {
        (-96.4, 1.7): 7.0, (-12.0, -1.0): 2.0, (79.3, -1.1): 12.0, (113.3, 22.2): 0.0,
        (68.0, 32.0): 9.5, (-10.0, 29.8): 3.0, (-86.8, 37.2): 7.0, (-96.4, 29.8): 7.0,
    },
    "heel below a finger": {
        (-93.6, 2.6): 9.5, (-12.0, 1.4): 7.0, (-8.0, -6.4): 2.0, (0.0, -6.4): 12.0,
        (79.2, -7.0): 12.0, (113.2, 14.7): 0.0, (67.9, 36.4): 9.5, (-10.0, 34.6): 2.0,
        (-84.3, 40.0): 12.0, (-93.6, 32.0): 3.0,
    },
    "step below a finger": {
        (-82.343, 3.288): 7.0, (-12.0, -0.55): 7.0, (-8.0, -3.794): 5.0, (0.0, -3.794): 2.0,
        (87.957, -4.665): 9.5, (125.652, 21.394): 0.0, (75.391, 36.063): 12.0, (-10.0, 35.142): 5.0,
        (-74.109, 25.097): 9.5, (-82.343, 20.078): 7.0,
    },
    "narrow butt": {
        (-106.148, 2.2): 9.5, (-12.0, 2.906): 9.5, (86.974, -0.326): 7.0, (124.249, 18.64): 0.0,
        (74.55, 30.145): 4.0, (-10.0, 30.129): 5.0, (-95.533, 20.456): 5.0, (-106.148, 16.365): 4.0,
    },
}  # fmt: skip


@cache
def kept(name: str) -> Family:
    return family_of(drawn(DRAWINGS[name]), name="Mine")


def arcs_mm(outline: Outline, least_rad: float) -> list[float]:
    arcs = [piece for piece in outline.chain if isinstance(piece, Arc)]
    return [arc.radius_mm for arc in arcs if abs(arc.sweep_rad) >= least_rad]


@pytest.mark.parametrize("name", DRAWINGS)
def test_arcs_keep_their_radius_however_little_they_turn(name: str) -> None:
    """At both ends of each measure."""
    own = kept(name)
    meant = arcs_mm(own.outline(), MEANT_RAD)
    assert len(meant) >= 5
    tightest = min(each.radius_mm for each in inside_radii(own.outline()))
    for each, upper in product(own.parameters, (False, True)):
        outline = own.outline({each.key: each.high if upper else each.low})
        found = arcs_mm(outline, 0.0)
        for radius in meant:
            assert min(abs(other - radius) for other in found) < 1e-3, (each.key, upper)
        assert min(at.radius_mm for at in inside_radii(outline)) >= min(0.75 * tightest, 25.0)


@pytest.mark.parametrize("name", DRAWINGS)
def test_ends_together_and_with_drawn_measures_can_all_be_drawn(name: str) -> None:
    """And those between."""
    own = kept(name)
    for shares in product((0.0, 0.4, 1.0, None), repeat=len(own.parameters)):
        values = {
            p.key: p.default if share is None else p.low + share * (p.high - p.low)
            for p, share in zip(own.parameters, shares, strict=True)
        }
        assert own.outline(values).polygon().is_valid


@pytest.mark.parametrize("radius_mm", [9.9, 10.1, 11.0, 12.0])
def test_a_choil_of_any_radius_gets_no_tighter_curve_beside_it(radius_mm: float) -> None:
    own = family_of(family_named("kitchen_chef").outline({"choil_radius": radius_mm}), name="Mine")
    [width] = [each for each in own.parameters if each.key == "blade_width"]
    for value in (width.low, width.default, width.high):
        radii = sorted(each.radius_mm for each in inside_radii(own.outline({width.key: value})))
        assert radii[0] == pytest.approx(radius_mm, abs=1e-3)
        assert radii[1] > 25.0

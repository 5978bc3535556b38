"""Outlines saved as families and stretched: roundings and steps are as they were."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometry.curvature import inside_radii
from geometry.curves import Arc, Cubic
from geometry.family.saving import family_of
from geometry.features import Mark, Station
from geometry.outline import Outline, outline_from_rings
from tests.geometry.family.saved import KEYS, grown, saved


def inside_mm(outline: Outline, x0: float, x1: float) -> float:
    return min(each.radius_mm for each in inside_radii(outline) if x0 < each.at[0] < x1)


@pytest.mark.parametrize(
    ("key", "radius_mm", "x0", "x1"),
    [
        ("kitchen_chef", 8.0, -12.0, 0.0),
        ("kitchen_utility", 5.0, -9.0, 0.0),
        ("hidden_tang_hunter", 1.5, -14.0, -8.0),
    ],
)
def test_choils_and_the_roundings_at_shoulders_keep_their_radius(
    key: str, radius_mm: float, x0: float, x1: float
) -> None:
    own = saved(key)
    drawn = inside_mm(own.outline(), x0, x1)
    assert drawn == pytest.approx(radius_mm, rel=1e-3)
    for measure in ("blade_width", "handle_width"):
        for share in (-0.2, -0.1, 0.1, 0.2):
            outline = own.outline(grown(own, measure, share))
            assert inside_mm(outline, x0, x1) == pytest.approx(drawn, rel=1e-3)


def test_a_tang_widens_evenly_up_to_its_shoulders() -> None:
    own = saved("hidden_tang_hunter")
    x = [-85.0, -60.0, -40.0, -25.0, -16.0, -12.0]
    narrow = np.diff(own.outline().sections_mm(x), axis=1)
    wide = np.diff(own.outline(grown(own, "handle_width", 0.15)).sections_mm(x), axis=1)
    assert wide / narrow == pytest.approx(np.full((6, 1), 1.15), abs=0.005)


def test_a_tang_of_sharp_shoulders_gets_no_neck() -> None:
    """12 wide up to shoulders at x -9 that no rounding eases."""
    below = [(-100, 8), (-9, 8), (-9, 0), (70, 0)]
    ring = [*below, (95, 15), (80, 27), (-9, 27), (-9, 20), (-100, 20)]
    own = family_of(
        replace(
            outline_from_rings("sharp", ring),
            marks=(Mark(kind="handle front", points_mm=((-9.0, 0.0), (-9.0, 27.0))),),
            stations=(
                Station(name="tip", x_mm=95.0, y_mm=15.0),
                Station(name="heel", x_mm=0.0, y_mm=0.0),
                Station(name="butt", x_mm=-100.0, y_mm=14.0),
            ),
        ),
        name="Sharp",
    )
    x = [-90.0, -30.0, -12.0, -9.6, -9.2, -9.05]
    for measure, share, width in (
        ("handle_width", 0.2, 14.4), ("handle_width", -0.2, 9.6),
        ("blade_width", 0.2, 12.0), ("blade_width", -0.2, 12.0),
    ):  # fmt: skip
        outline = own.outline(grown(own, measure, share))
        assert np.diff(outline.sections_mm(x), axis=1) == pytest.approx(
            np.full((6, 1), width), abs=0.05
        )


def corner_radii_mm(outline: Outline, below_mm: float) -> list[float]:
    """The least radius of each outward bend of 30 to 120 degrees, from its pieces' curvature."""
    found, turn, least = [], 0.0, math.inf
    for segment in outline.chain:
        if isinstance(segment, Cubic):
            t = np.linspace(0.0, 1.0, 65)
            curvature = segment.curvature_per_mm(t)
            steps = np.diff(segment.lengths_mm(t))
            each = list(zip(steps, (curvature[1:] + curvature[:-1]) / 2, strict=True))
        else:
            bend = segment.sweep_rad / segment.length_mm if isinstance(segment, Arc) else 0.0
            each = [(segment.length_mm, bend)]
        for length, bend in each:
            if bend > 0.1:
                turn, least = turn + length * bend, min(least, 1 / bend)
                continue
            if 30 < math.degrees(turn) < 120 and least < below_mm:
                found.append(least)
            turn, least = 0.0, math.inf
    return sorted(found)


@pytest.mark.parametrize("key", KEYS)
def test_rounded_corners_keep_their_radius_and_holes_their_size(key: str) -> None:
    """At both ends of each measure."""
    own = saved(key)
    drawn = own.outline()
    radii = corner_radii_mm(drawn, 6.0)
    assert len(radii) == {"full_tang_angular_tip": 2, "hidden_tang_spear": 2}.get(key, 0)
    for each in own.parameters:
        for value in (each.low, each.high):
            outline = own.outline({each.key: value})
            assert [h.diameter_mm for h in outline.holes] == [h.diameter_mm for h in drawn.holes]
            found = corner_radii_mm(outline, math.inf)
            for radius in radii:
                assert min(abs(other / radius - 1) for other in found) < 0.02, (each.key, value)


def test_a_tang_s_round_end_stays_round() -> None:
    """The hunter's: one arc of half its width there, however long or wide the tang."""
    own = saved("hidden_tang_hunter")
    for each in own.parameters:
        for value in (each.low, each.high):
            outline = own.outline({each.key: value})
            butt = outline.bounds_mm[0]
            [end] = [s for s in outline.chain if isinstance(s, Arc) and s.start[0] < butt + 9]
            [[low, high]] = outline.sections_mm([end.centre[0]])
            assert 2 * end.radius_mm == pytest.approx(high - low, rel=0.01)
            assert end.centre[0] - end.radius_mm == pytest.approx(butt, abs=0.01)

"""How often an edge bends over: bends that count, corners that part them, edges of short lines."""

import math

import numpy as np
import pytest

from geometry.curves import Arc, Chain, Line
from geometry.outline import outline_from_rings
from geometry.turn_overs import LEAST_BEND_RAD, hollow_bends, turn_overs, typical_joint_rad


def wavy(*turns_deg: float) -> Chain:
    """Arcs over 10 mm each that go smoothly on from one to the next, and two lines back."""
    arcs: list[Arc] = []
    at, way = (0.0, 0.0), 0.0
    for turn in turns_deg:
        chord = way + math.radians(turn) / 2
        end = (at[0] + 10 * math.cos(chord), at[1] + 10 * math.sin(chord))
        arcs.append(Arc(start=at, end=end, sweep_rad=math.radians(turn)))
        at, way = end, way + math.radians(turn)
    over = (at[0] / 2, 60.0)
    return (*arcs, Line(start=at, end=over), Line(start=over, end=(0.0, 0.0)))


@pytest.mark.parametrize(
    ("turns_deg", "count"),
    [
        ((20.0, 15.0), 0),
        ((20.0, -15.0), 1),
        ((20.0, -15.0, 10.0), 2),
        ((20.0, -1.5, 10.0), 0),  # less than 2 degrees between two is not seen
        ((20.0, -1.5, -1.5, 10.0), 2),  # 3 in two steps are
        ((1.5, -15.0), 0),
    ],
)
def test_bends_of_two_degrees_count(turns_deg: tuple[float, ...], count: int) -> None:
    assert turn_overs(wavy(*turns_deg)) == count


@pytest.mark.parametrize(
    ("turns_deg", "hollows_deg"),
    [
        ((20.0, 15.0), []),
        ((20.0, -15.0), [15.0]),
        ((-5.0, -15.0, 10.0, -30.0), [20.0, 30.0]),
        ((20.0, -1.5, 10.0), []),  # less than 2 degrees is not seen
    ],
)
def test_hollows_are_told_by_their_turn_and_their_least_radius(
    turns_deg: tuple[float, ...], hollows_deg: list[float]
) -> None:
    """An arc of chord c that turns by a has the radius c / (2 sin(a / 2))."""
    found = hollow_bends(wavy(*turns_deg))
    assert [math.degrees(each.turn_rad) for each in found] == pytest.approx(hollows_deg)
    tightest = [-min(turns_deg[:2]), -turns_deg[-1]][: len(found)]
    radii = [10 / (2 * math.sin(math.radians(turn) / 2)) for turn in tightest]
    assert [each.radius_mm for each in found] == pytest.approx(radii)


def test_an_edge_of_short_lines_is_looked_at_with_less_care_than_its_joints() -> None:
    """A sine of 3 mm over 60 mm in steps of 2: six half waves, five joints between them."""
    x = np.arange(0.0, 181.0, 2.0)
    wave = np.column_stack([x, 3 * np.sin(2 * np.pi * x / 60)])
    ring = outline_from_rings("wave", [*wave.tolist(), (180.0, 60.0), (0.0, 60.0)]).chain
    assert typical_joint_rad(ring) > math.radians(1)
    assert turn_overs(ring, LEAST_BEND_RAD + typical_joint_rad(ring)) == 5
    assert typical_joint_rad(wavy(20.0, -15.0)) == pytest.approx(0.0, abs=1e-6)

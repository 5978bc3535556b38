"""Dragging nodes of an edge: what moves, what stays, and that smooth joints stay smooth."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.curves import Arc, Chain, Cubic, Line
from geometry.errors import InputError
from geometry.family import family_named
from geometry.node_edit import node_moved, nodes_mm, with_node_moved
from geometry.outline import Outline, Station

SQUARE: Chain = (
    Line(start=(0.0, 0.0), end=(40.0, 0.0)),
    Line(start=(40.0, 0.0), end=(40.0, 30.0)),
    Line(start=(40.0, 30.0), end=(0.0, 30.0)),
    Line(start=(0.0, 30.0), end=(0.0, 0.0)),
)
# A bar 60 long with a half circle of radius 10 at its right end.
BAR: Chain = (
    Line(start=(0.0, 0.0), end=(60.0, 0.0)),
    Arc(start=(60.0, 0.0), end=(60.0, 20.0), sweep_rad=math.pi),
    Line(start=(60.0, 20.0), end=(0.0, 20.0)),
    Line(start=(0.0, 20.0), end=(0.0, 0.0)),
)


def turns_deg(chain: Chain) -> list[float]:
    found = []
    for before, after in zip([chain[-1], *chain[:-1]], chain, strict=True):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        found.append(abs(math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))))
    return found


def closed(chain: Chain) -> bool:
    return all(
        math.dist(a.end, b.start) < 1e-9 for a, b in zip(chain, [*chain[1:], chain[0]], strict=True)
    )


@pytest.mark.parametrize("index", range(4))
def test_a_corner_between_lines_moves_and_they_stay_lines(index: int) -> None:
    x, y = SQUARE[index].start
    moved = node_moved(SQUARE, index, (x + 3.0, y - 2.0))
    assert all(isinstance(piece, Line) for piece in moved)
    expected = [piece.start for piece in SQUARE]
    expected[index] = (x + 3.0, y - 2.0)
    assert [piece.start for piece in moved] == expected
    assert closed(moved)


def test_a_smooth_joint_of_line_and_arc_stays_smooth() -> None:
    moved = node_moved(BAR, 1, (64.0, -3.0))
    assert closed(moved)
    assert isinstance(moved[0], Line)  # between a corner and the node: it stays straight
    assert moved[1].start == (64.0, -3.0)
    assert all(isinstance(piece, Cubic) for piece in moved[1:-2])
    assert sorted(turn > 0.1 for turn in turns_deg(moved)).count(True) == 2  # the bar's own corners
    assert moved[-2:] == BAR[-2:]  # the rest of the bar is as it was


def test_an_arc_becomes_cubics_on_the_same_circle() -> None:
    """Only the far cubics are looked at: those at the node were pulled."""
    moved = node_moved(BAR, 2, (61.0, 21.0))
    far = [piece for piece in moved if isinstance(piece, Cubic)][:2]
    for piece in far:
        x, y = (piece.at(np.linspace(0, 1, 30)) - (60.0, 10.0)).T
        assert np.abs(np.hypot(x, y) - 10.0).max() < 1e-4


def test_a_straight_edge_that_is_pulled_at_bends_smoothly() -> None:
    parted = (Line(start=(0.0, 0.0), end=(30.0, 0.0)), Line(start=(30.0, 0.0), end=(60.0, 0.0)))
    moved = node_moved((*parted, *BAR[1:]), 1, (30.0, -4.0))
    assert isinstance(moved[0], Cubic)
    assert isinstance(moved[1], Cubic)
    assert moved[0].end_direction == pytest.approx((1.0, 0.0))
    assert turns_deg(moved)[1] < 1e-6
    assert turns_deg(moved)[2] < 1e-6  # where the arc begins


DROP = family_named("drop point").outline()


@settings(max_examples=120, deadline=None)
@given(st.integers(0, len(DROP.chain) - 1), st.floats(-0.8, 0.8), st.floats(-0.8, 0.8))
def test_any_node_of_a_knife_moves_and_the_joints_stay_as_smooth(
    index: int, dx: float, dy: float
) -> None:
    x, y = DROP.chain[index].start
    before = [turn > 0.5 for turn in turns_deg(DROP.chain)]
    moved = node_moved(DROP.chain, index, (x + dx, y + dy))
    assert closed(moved)
    turns = turns_deg(moved)
    smooth = {p.start for p, corner in zip(DROP.chain, before, strict=True) if not corner}
    smooth = {(x + dx, y + dy) if place == (x, y) else place for place in smooth}
    for piece, turn in zip(moved, turns, strict=True):
        if piece.start in smooth:
            assert turn < 0.1
    untouched = set(DROP.chain) - {DROP.chain[index], DROP.chain[index - 1]}
    assert untouched <= set(moved)


def test_a_station_at_the_node_goes_along_and_the_outline_stays_sound() -> None:
    bar = Outline(name="bar", chain=BAR, stations=(Station(name="heel", x_mm=0.0, y_mm=0.0),))
    index = nodes_mm(bar).index((0.0, 0.0))
    moved = with_node_moved(bar, index, (-5.0, 1.0))
    assert (moved.stations[0].x_mm, moved.stations[0].y_mm) == (-5.0, 1.0)
    assert moved.polygon().is_valid
    assert shapely.Point(-4.9, 1.1).within(moved.polygon().buffer(0.1))
    assert with_node_moved(bar, index, (0.0, 0.0)) is bar


def test_a_node_dragged_across_the_edge_or_onto_the_next_is_refused() -> None:
    square = Outline(name="square", chain=SQUARE)
    with pytest.raises(InputError, match="crosses or touches itself"):
        with_node_moved(square, 0, (60.0, 20.0))
    with pytest.raises(InputError, match="cannot lie on the next"):
        with_node_moved(square, 0, (40.0, 0.0))

"""Loops of loose lines: which lines they are made of, and a slow second way to find doublings."""

import itertools

import numpy as np
import pytest
import shapely

from app.files.closed_lines import DrawnLines, Loop
from app.files.joining import DOUBLE_LENGTH_MM, DOUBLE_MM, joined
from app.files.strokes import Points, Stroke
from geometry.curves import Line


def strokes(*ends: tuple[tuple[float, float], tuple[float, float]]) -> list[Stroke]:
    return [Stroke(chain=(Line(start=a, end=b),), what="line") for a, b in ends]


def test_a_loop_that_runs_along_no_line_claims_none() -> None:
    """Bridges across gaps may close upon themselves; the first line of the drawing has no part."""
    lines = DrawnLines.of(strokes(((0, 0), (50, 0)), ((50, 0), (50, 9))))
    apart = Loop(points=np.array([(70.0, 0.0), (70.08, 0.0), (70.04, 0.06)]))
    curved = lines.curved(apart)
    assert curved.made_of == set()
    assert len(curved.chain) == 3


def test_a_loop_is_made_of_the_lines_along_it() -> None:
    corners = [(0.0, 0.0), (50.0, 0.0), (50.0, 9.0), (0.0, 9.0)]
    sides = [(a, b) for a, b in itertools.pairwise([*corners, corners[0]])]
    lines = DrawnLines.of(strokes(((-40, 70), (-9, 70)), *sides))
    (loop,) = lines.found().loops
    assert lines.curved(loop).made_of == {1, 2, 3, 4}


def slowly_doubled(paths: list[Points]) -> set[int]:
    """Each line against each: the shorter, or the later of two equal ones, is the one drawn again.

    Told only for lines that no third one lies along, so that the order of dropping does not count.
    """
    lines = [shapely.LineString(path) for path in paths]
    again = set()
    for (a, one), (b, other) in itertools.permutations(enumerate(lines), 2):
        longer = other.length > one.length + DOUBLE_MM or b < a
        if one.length > DOUBLE_LENGTH_MM and longer and other.length > one.length - DOUBLE_MM:
            spots = [one.interpolate(share, normalized=True) for share in (0.0, 0.5, 1.0)]
            if all(other.distance(spot) <= DOUBLE_MM for spot in spots):
                again.add(a)
    return again


@pytest.mark.parametrize("seed", range(20))
def test_lines_drawn_again_are_those_that_lie_along_another(seed: int) -> None:
    rng = np.random.default_rng(seed)
    starts = np.column_stack([10.0 * np.arange(40), rng.uniform(0, 200, 40)])
    paths = [np.array([start, start + rng.uniform(-4, 4, 2)]) for start in starts]
    for path in paths[:12]:
        off, part = rng.uniform(0, 0.03), rng.choice([1.0, 0.6])
        side = np.array([path[0, 1] - path[1, 1], path[1, 0] - path[0, 0]])
        moved = path + off * side / np.hypot(*side)
        again = np.array([moved[0], moved[0] + part * (moved[1] - moved[0])])
        paths.append(again[:: rng.choice([-1, 1])])
    order = rng.permutation(len(paths))
    shuffled = [paths[number] for number in order]
    assert joined(shuffled).doubled == slowly_doubled(shuffled)

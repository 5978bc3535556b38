"""Rows of ticks on outlines saved as families: each moves as one and keeps its pitch."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometry.family import family_from_text
from geometry.family.saving import family_of, family_text
from geometry.features import Mark
from geometry.outline import Outline, outline_from_rings
from tests.geometry.family.saved import FLAT, saved


@pytest.mark.parametrize("key", ["full_tang_angular_tip", "full_tang_clip_point", "neck_knife"])
def test_jimping_keeps_its_pitch_and_stays_square_to_the_edge(key: str) -> None:
    own = saved(key)
    assert len(own.jimping) == 1

    def ticks(outline: Outline) -> np.ndarray:
        return np.array([m.points_mm for m in outline.marks if m.kind == "jimping"])

    drawn = ticks(own.outline())
    for high in (True, False):
        outline = own.outline({p.key: p.high if high else p.low for p in own.parameters})
        now = ticks(outline)
        assert len(now) == len(drawn)
        for rows in (drawn, now):
            steps = np.hypot(*np.diff(rows[:, 0], axis=0).T)
            assert steps == pytest.approx(np.full(len(steps), np.median(steps)), abs=0.01)
        assert math.dist(now[0, 0], now[1, 0]) == pytest.approx(
            math.dist(drawn[0, 0], drawn[1, 0]), abs=0.01
        )
        assert np.hypot(*(now[:, 1] - now[:, 0]).T) == pytest.approx(
            np.hypot(*(drawn[:, 1] - drawn[:, 0]).T), abs=0.01
        )


def test_ticks_that_are_no_even_row_stay_where_they_are() -> None:
    places = (20.0, 21.0, 22.7, 26.0)
    ticks = tuple(Mark(kind="jimping", points_mm=((x, 30.0), (x, 29.0))) for x in places)
    own = family_of(replace(FLAT, marks=ticks), name="Uneven")
    drawn = sorted(mark.points_mm for mark in own.outline().marks)
    assert np.array(drawn) == pytest.approx(np.array([tick.points_mm for tick in ticks]))


UNEVEN = (1.0, 1.7, 3.3, 0.8)  # mm from each tick to the next


def uneven(side_mm: float) -> Outline:
    """A plate with five ticks on one of its long sides, from x 60 on."""
    inward = 1.0 if side_mm == 0.0 else -1.0
    x = 60.0 + np.cumsum([0.0, *UNEVEN])
    ticks = [Mark(kind="jimping", points_mm=((a, side_mm), (a, side_mm + inward))) for a in x]
    return replace(FLAT, marks=tuple(ticks[2:] + ticks[:2]))


@pytest.mark.parametrize("side_mm", [0.0, 30.0])
def test_an_uneven_row_moves_as_one_and_keeps_its_gaps(side_mm: float) -> None:
    own = family_of(uneven(side_mm), name="Uneven")
    [rule] = own.jimping
    assert rule.gaps == pytest.approx(UNEVEN, abs=1e-6)
    assert family_from_text(family_text(own), own.key) == own
    for each in own.parameters:
        for value in (each.low, each.high):
            outline = own.outline({each.key: value})
            ticks = np.array(sorted(mark.points_mm for mark in outline.marks))
            assert np.diff(ticks[:, 0, 0]) == pytest.approx(np.array(UNEVEN), abs=1e-6)
            assert np.abs(np.diff(ticks[:, :, 1]).ravel()) == pytest.approx(np.ones(5), abs=1e-6)


def test_ticks_far_apart_are_rows_of_their_own() -> None:
    x = (20.0, 21.0, 22.0, 70.0, 71.5)
    ticks = tuple(Mark(kind="jimping", points_mm=((a, 30.0), (a, 29.0))) for a in x)
    rows = family_of(replace(FLAT, marks=ticks), name="Two").jimping
    assert sorted(row.count.value({}) for row in rows) == [2, 3]
    assert not any(row.gaps for row in rows)


def test_a_row_may_run_across_where_the_edge_begins() -> None:
    """The plate's edge begun anew in the middle of the ticks."""
    plate = outline_from_rings("flat", [(64, 30), (0, 30), (0, 0), (100, 0), (100, 30)])
    shape = replace(plate, marks=uneven(30.0).marks, stations=FLAT.stations)
    [rule] = family_of(shape, name="Begun there").jimping
    assert rule.gaps == pytest.approx(UNEVEN, abs=1e-6)

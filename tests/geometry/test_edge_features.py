"""What lies on the edge follows it: places, plunge line, ticks, bevel; holes stay."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.family import built_in_families
from geometry.node_edit import nodes_mm, with_node_moved
from geometry.outline import Hole, Mark, Outline, Station, outline_from_rings

OUTLINES = [family.outline() for family in built_in_families()]
BAR = outline_from_rings("bar", [(0, 0), (100, 0), (100, 30), (0, 30)])


def barred(*marks: Mark, stations: tuple[Station, ...] = ()) -> Outline:
    return Outline(
        name="bar",
        chain=BAR.chain,
        marks=marks,
        stations=stations,
        holes=(Hole(x_mm=20.0, y_mm=15.0, diameter_mm=6.0),),
    )


def test_a_line_across_keeps_its_direction_and_ends_on_the_new_edge() -> None:
    """The lower edge runs from (0, 0) to (100, -10) then: at x 40 that is y -4."""
    plunge = Mark(kind="plunge line", points_mm=((40.0, 0.0), (40.0, 30.0)))
    moved = with_node_moved(barred(plunge), nodes_mm(BAR).index((100.0, 0.0)), (100.0, -10.0))
    [((x0, y0), (x1, y1))] = [mark.points_mm for mark in moved.marks]
    assert (x0, y0) == pytest.approx((40.0, -4.0))
    assert (x1, y1) == (40.0, 30.0)


def test_a_line_across_from_a_dragged_node_shifts_with_it() -> None:
    edge = outline_from_rings("bar", [(0, 0), (40, 0), (100, 0), (100, 30), (0, 30)])
    plunge = Mark(kind="plunge line", points_mm=((40.0, 0.0), (40.0, 30.0)))
    heel = Station(name="heel", x_mm=40.0, y_mm=0.0)
    outline = Outline(name="bar", chain=edge.chain, marks=(plunge,), stations=(heel,))
    moved = with_node_moved(outline, nodes_mm(edge).index((40.0, 0.0)), (45.0, -3.0))
    foot, head = moved.marks[0].points_mm
    assert foot == pytest.approx((45.0, -3.0))
    assert head == pytest.approx((45.0, 30.0))
    assert (moved.stations[0].x_mm, moved.stations[0].y_mm) == (45.0, -3.0)


def test_a_tick_turns_with_the_edge_and_keeps_its_length() -> None:
    """The spine's right end goes up by 100 mm: it rises at 45 degrees then, the tick with it."""
    tick = Mark(kind="jimping", points_mm=((50.0, 30.0), (50.0, 28.0)))
    moved = with_node_moved(barred(tick), nodes_mm(BAR).index((100.0, 30.0)), (100.0, 130.0))
    [(foot, end)] = [mark.points_mm for mark in moved.marks]
    assert foot == pytest.approx((50.0, 80.0))
    assert end == pytest.approx((50.0 + math.sqrt(2.0), 80.0 - math.sqrt(2.0)))


def test_a_bevel_line_that_ends_on_the_edge_follows_and_the_rest_of_it_evenly() -> None:
    bevel = Mark(kind="bevel line", points_mm=((40.0, 20.0), (70.0, 20.0), (100.0, 30.0)))
    moved = with_node_moved(barred(bevel), nodes_mm(BAR).index((100.0, 30.0)), (104.0, 32.0))
    first, middle, last = moved.marks[0].points_mm
    share = 30.0 / (30.0 + math.hypot(30.0, 10.0))
    assert first == (40.0, 20.0)
    assert middle == pytest.approx((70.0 + 4.0 * share, 20.0 + 2.0 * share))
    assert last == pytest.approx((104.0, 32.0))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_what_was_on_the_edge_of_a_knife_is_on_it_still_and_holes_stay(data: st.DataObject) -> None:
    outline = data.draw(st.sampled_from(OUTLINES))
    index = data.draw(st.integers(0, len(outline.chain) - 1))
    dx, dy = (data.draw(st.floats(-0.6, 0.6)) for _ in range(2))
    x, y = nodes_mm(outline)[index]
    moved = with_node_moved(outline, index, (x + dx, y + dy))
    assert moved.holes == outline.holes
    was, now = (shapely.LinearRing(one.ring(1e-3)) for one in (outline, moved))
    for old, new in zip(_places(outline), _places(moved), strict=True):
        if was.distance(shapely.Point(old)) <= 0.02:
            assert now.distance(shapely.Point(new)) <= 0.1
            assert math.dist(old, new) <= 6.0 * math.hypot(dx, dy) + 0.1
    for before, after in zip(outline.marks, moved.marks, strict=True):
        if before.kind == "jimping":
            assert math.dist(*after.points_mm) == pytest.approx(math.dist(*before.points_mm))
        if before.kind == "plunge line":
            assert np.ptp(np.array(after.points_mm)[:, 0]) == pytest.approx(0.0, abs=1e-6)


def _places(outline: Outline) -> list[tuple[float, float]]:
    stations = [(station.x_mm, station.y_mm) for station in outline.stations]
    return stations + [mark.points_mm[i] for mark in outline.marks for i in (0, -1)]

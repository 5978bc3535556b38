"""Which lines move with a measure: by difference, whatever the family."""

import pytest
import shapely

from geometry.moved_lines import moved_lines
from geometry.outline import Hole, Outline, outline_from_rings

BAR = outline_from_rings("bar", [(0, 0), (100, 0), (100, 30), (0, 30)])


def test_nothing_moves_between_the_same() -> None:
    assert moved_lines(BAR, BAR) is None


def test_the_end_of_a_longer_bar_moves_and_no_other_side() -> None:
    longer = outline_from_rings("bar", [(0, 0), (104, 0), (104, 30), (0, 30)])
    moved = moved_lines(BAR, longer)
    assert moved is not None
    places = [place for line in moved.lines_mm for place in line]
    assert min(x for x, _ in places) > 100.0
    assert moved.end_mm[0] == pytest.approx(104.0)
    assert moved.start_mm == pytest.approx((100.0, moved.end_mm[1]), abs=1e-6)


def test_a_hole_that_moves_is_seen_and_the_edge_is_not() -> None:
    holes = [(Hole(x_mm=x, y_mm=15.0, diameter_mm=6.0),) for x in (40.0, 43.0)]
    before, after = (Outline(name="bar", chain=BAR.chain, holes=one) for one in holes)
    moved = moved_lines(before, after)
    assert moved is not None
    ring = shapely.Point(43.0, 15.0).buffer(3.1)
    assert all(ring.covers(shapely.LineString(line)) for line in moved.lines_mm)


def test_a_hole_that_goes_is_seen_where_it_was() -> None:
    holed = Outline(
        name="bar", chain=BAR.chain, holes=(Hole(x_mm=40.0, y_mm=15.0, diameter_mm=6.0),)
    )
    moved = moved_lines(holed, BAR)
    assert moved is not None
    assert all(len(line) > 10 for line in moved.lines_mm)
    x, y = moved.end_mm
    assert (x - 40.0) ** 2 + (y - 15.0) ** 2 == pytest.approx(9.0, abs=0.01)

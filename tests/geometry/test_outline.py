"""The outline: its polygon, measures, stations, and what is refused."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.curves import Arc, Chain, Cubic, Line
from geometry.errors import InputError
from geometry.outline import Hole, Mark, Outline, Station, outline_from_rings
from geometry.pose import Pose

SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


def lines(points: list[tuple[float, float]]) -> Chain:
    return tuple(
        Line(start=a, end=b) for a, b in zip(points, [*points[1:], points[0]], strict=True)
    )


def stadium() -> Outline:
    """40 mm straight, 10 mm wide, one 6 mm hole, tip at the right."""
    a, b, c, d = (0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (0.0, 10.0)
    return Outline(
        name="stadium",
        chain=(
            Line(start=a, end=b),
            Arc(start=b, end=c, sweep_rad=math.pi),
            Line(start=c, end=d),
            Arc(start=d, end=a, sweep_rad=math.pi),
        ),
        holes=(Hole(x_mm=5.0, y_mm=5.0, diameter_mm=6.0, kind="pin"),),
        marks=(Mark(kind="handle front", points_mm=((10.0, 0.0), (11.0, 10.0))),),
        stations=(
            Station(name="tip", x_mm=45.0, y_mm=5.0),
            Station(name="butt", x_mm=-5.0, y_mm=5.0),
        ),
    )


def test_area_and_lengths_are_the_hand_sums() -> None:
    outline = stadium()
    assert outline.area_mm2 == pytest.approx(400 + math.pi * 25 - math.pi * 9)
    assert outline.overall_length_mm == pytest.approx(50, abs=0.02)
    assert outline.blade_length_mm == pytest.approx(34)  # 45 to the forward-most 11
    assert outline.bounds_mm == pytest.approx((-5, 0, 45, 10), abs=0.011)


@pytest.mark.parametrize("chord_mm", [0.5, 0.05, 0.01])
def test_the_polygon_is_within_the_chord_error(chord_mm: float) -> None:
    polygon = stadium().polygon(chord_mm)
    fine = stadium().polygon(chord_mm / 200)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert len(polygon.interiors) == 1
    assert not polygon.interiors[0].is_ccw
    apart = shapely.hausdorff_distance(polygon.boundary, fine.boundary, densify=0.02)
    assert apart <= chord_mm * 1.01


def test_a_clockwise_edge_is_turned() -> None:
    outline = outline_from_rings("square", SQUARE[::-1])
    assert outline.area_mm2 == pytest.approx(100)
    assert outline.polygon().exterior.is_ccw


def test_rings_become_edge_and_cutouts() -> None:
    hole = [(2.0, 2.0), (4.0, 2.0), (4.0, 5.0), (2.0, 2.0)]
    outline = outline_from_rings("square", [*SQUARE, SQUARE[0]], [np.array(hole)])
    assert len(outline.chain) == 4
    assert outline.area_mm2 == pytest.approx(100 - 3)
    assert outline.polygon().area == pytest.approx(97)


def test_an_outline_is_a_value() -> None:
    assert stadium() == stadium()
    assert len({stadium(), stadium()}) == 1


def test_the_nearest_station_is_named() -> None:
    assert stadium().nearest_station((40.0, 0.0)) == "tip"
    assert stadium().nearest_station((-4.0, 9.0)) == "butt"
    assert outline_from_rings("square", SQUARE).nearest_station((0.0, 0.0)) == ""


def test_the_blade_length_is_unknown_without_stations() -> None:
    assert outline_from_rings("square", SQUARE).blade_length_mm is None


@given(st.floats(-3, 3), st.booleans(), st.floats(0.5, 2))
def test_moving_the_outline_moves_its_polygon(
    theta_rad: float, mirrored: bool, scale: float
) -> None:
    pose = Pose(x_mm=4, y_mm=5, theta_rad=theta_rad, mirrored=mirrored, scale=scale)
    moved = stadium().moved(pose)
    expected = pose.shape(stadium().polygon(0.01))
    assert moved.polygon(0.01 * scale).symmetric_difference(expected).area < 0.2 * scale**2
    assert moved.area_mm2 == pytest.approx(stadium().area_mm2 * scale**2)
    assert moved.nearest_station(tuple(pose.points([(44.0, 5.0)])[0])) == "tip"


def test_a_bow_tie_is_refused_at_its_crossing() -> None:
    # The diagonals (0,0)-(10,10) and (10,2)-(0,8) cross at x = y = 5 by hand.
    bow = [(0.0, 0.0), (10.0, 10.0), (10.0, 2.0), (0.0, 8.0)]
    outline = outline_from_rings("bow", bow)
    with pytest.raises(InputError, match=r"bow: the edge crosses.*x 5\.0, y 5\.0 mm"):
        outline.polygon()


@pytest.mark.parametrize(
    ("holes", "message"),
    [
        ([(9.0, 5.0, 4.0)], r"hole 1, at x 9\.0, y 5\.0 mm, is not inside"),
        ([(50.0, 5.0, 4.0)], "is not inside"),
        ([(3.0, 5.0, 4.0), (6.0, 5.0, 4.0)], "hole 2.*runs into another"),
        ([(5.0, 5.0, 6.0), (5.0, 5.0, 2.0)], "hole 2.*runs into another"),
    ],
)
def test_a_hole_that_cannot_be_is_refused(
    holes: list[tuple[float, float, float]], message: str
) -> None:
    drilled = tuple(Hole(x_mm=x, y_mm=y, diameter_mm=d) for x, y, d in holes)
    with pytest.raises(InputError, match=message):
        Outline(name="square", chain=lines(SQUARE), holes=drilled).polygon()


@pytest.mark.parametrize("diameter", [0.0, -1.0, math.nan, math.inf])
def test_a_hole_of_no_size_is_refused(diameter: float) -> None:
    with pytest.raises(InputError, match="cannot be drilled"):
        Hole(x_mm=0, y_mm=0, diameter_mm=diameter)


def test_an_open_edge_is_refused_with_its_gap() -> None:
    with pytest.raises(InputError, match=r"open by 10 mm at x 10\.0, y 10\.0"):
        Outline(name="open", chain=lines(SQUARE)[:2] + lines(SQUARE)[3:])


@pytest.mark.parametrize(
    ("ring", "message"),
    [
        ([(0.0, 0.0), (1.0, 0.0)], "fewer than three"),
        ([(0.0, 0.0), (1.0, 0.0), (1.0, 0.0)], "fewer than three"),
        ([(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)], "crosses or touches itself"),
        ([(0.0, 0.0), (1.0, 0.0), (math.nan, 1.0)], "not a number"),
    ],
)
def test_a_ring_that_encloses_nothing_is_refused(
    ring: list[tuple[float, float]], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        outline_from_rings("flat", ring).polygon()


def test_the_smallest_drill_gives_a_valid_hole() -> None:
    tiny = Hole(x_mm=5, y_mm=5, diameter_mm=0.02)
    assert Outline(name="tiny", chain=lines(SQUARE), holes=(tiny,)).polygon().is_valid


@pytest.mark.parametrize(
    "segment",
    [
        Line(start=(0.0, 0.0), end=(math.nan, 0.0)),
        Line(start=(0.0, 0.0), end=(2e4, 0.0)),
        Cubic(start=(0.0, 0.0), control1=(1e15, 0.0), control2=(1.0, 1.0), end=(10.0, 0.0)),
        Cubic(start=(0.0, 0.0), control1=(math.inf, 0.0), control2=(1.0, 1.0), end=(10.0, 0.0)),
        Arc(start=(0.0, 0.0), end=(10.0, 0.0), sweep_rad=2 * math.pi - 1e-14),
    ],
)
def test_what_is_not_of_this_world_is_refused_before_it_takes_all_memory(
    segment: Line | Arc | Cubic,
) -> None:
    back = Line(start=segment.end, end=segment.start)
    with pytest.raises(InputError, match=r"beyond 10 m\. Check the unit"):
        Outline(name="vast", chain=(segment, back))


def test_a_nearly_straight_arc_is_flattened_in_a_few_chords() -> None:
    arc = Arc(start=(0.0, 0.0), end=(10.0, 0.0), sweep_rad=1e-15)
    assert len(arc.flattened(0.01)) == 1

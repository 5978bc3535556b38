"""Area, centroid, offsets and sections of outlines against closed forms and against polygons."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from geometry.curves import Arc, Chain, Line
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.outline import Hole, Outline, Station, outline_from_rings
from geometry.pose import Pose
from tests.geometry.chains import circle, ellipse, parabola, stadium

by_family = pytest.mark.parametrize(
    "family", built_in_families(), ids=[family.key for family in built_in_families()]
)
SQUARE = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]


def outline(chain: Chain, stations: tuple[Station, ...] = ()) -> Outline:
    return Outline(name="shape", chain=chain, stations=stations)


def half_disc(radius_mm: float) -> Chain:
    left, right = (-radius_mm, 0.0), (radius_mm, 0.0)
    return Line(start=left, end=right), Arc(start=right, end=left, sweep_rad=math.pi)


@pytest.mark.parametrize(
    ("chain", "area_mm2", "centroid_mm"),
    [
        (circle(7.0), math.pi * 49, (3.0, 4.0)),
        (circle(7.0, arcs=9), math.pi * 49, (3.0, 4.0)),
        (stadium(40.0, 5.0), 400 + math.pi * 25, (20.0, 0.0)),
        (ellipse(30.0, 12.0), math.pi * 360, (0.0, 0.0)),
        (half_disc(9.0), math.pi * 81 / 2, (0.0, 4 * 9 / (3 * math.pi))),
        # Archimedes: two thirds of the box, two fifths of the height.
        (parabola(40.0, 9.0), 2 / 3 * 80 * 9, (0.0, 2 / 5 * 9)),
    ],
)
def test_area_and_centroid_are_the_closed_forms(
    chain: Chain, area_mm2: float, centroid_mm: tuple[float, float]
) -> None:
    assert outline(chain).area_mm2 == pytest.approx(area_mm2, rel=1e-8)
    assert outline(chain).centroid_mm == pytest.approx(centroid_mm, abs=1e-7)
    backward = tuple(segment.backward() for segment in reversed(chain))
    assert outline(backward).centroid_mm == pytest.approx(centroid_mm, abs=1e-7)


def test_holes_and_openings_move_the_centroid() -> None:
    # 10 x 10 less a hole of 2 mm at (2, 5) and an opening of 3 x 2 about (7.5, 8): by hand.
    hole = Hole(x_mm=2, y_mm=5, diameter_mm=2)
    opening = [(6, 7), (9, 7), (9, 9), (6, 9)]
    shape = outline_from_rings("plate", SQUARE, [opening])
    plate = Outline(name="plate", chain=shape.chain, cutouts=shape.cutouts, holes=(hole,))
    left = 100 - math.pi - 6
    assert plate.area_mm2 == pytest.approx(left)
    assert plate.centroid_mm == pytest.approx(
        ((500 - math.pi * 2 - 6 * 7.5) / left, (500 - math.pi * 5 - 6 * 8) / left)
    )


@by_family
def test_area_and_centroid_are_those_of_a_fine_polygon(family: Family) -> None:
    knife = family.outline()
    fine = knife.polygon(1e-5)
    assert knife.area_mm2 == pytest.approx(fine.area, rel=1e-5)
    assert knife.centroid_mm == pytest.approx((fine.centroid.x, fine.centroid.y), abs=1e-4)


@given(st.floats(-3, 3), st.booleans(), st.floats(-5000, 5000))
def test_the_centroid_moves_with_the_outline(theta: float, mirrored: bool, x_mm: float) -> None:
    pose = Pose(x_mm=x_mm, theta_rad=theta, mirrored=mirrored)
    knife = built_in_families()[0].outline()
    [expected] = pose.points([knife.centroid_mm])
    assert knife.moved(pose).centroid_mm == pytest.approx(tuple(expected), abs=1e-6)


@pytest.mark.parametrize("distance_mm", [-6.5, -2.0, -0.01, 0.0, 0.01, 1.5, 5.0, 80.0])
def test_the_offset_of_a_circle_is_a_circle(distance_mm: float) -> None:
    [grown] = outline(circle(7.0)).offset(distance_mm)
    ring = np.array(grown.exterior.coords)
    radii = np.hypot(*(ring - (3.0, 4.0)).T)
    assert np.abs(radii - 7 - distance_mm).max() < 0.01
    assert grown.area == pytest.approx(math.pi * (7 + distance_mm) ** 2, rel=0.01)
    assert grown.exterior.is_ccw


@pytest.mark.parametrize("distance_mm", [-4.5, -1.0, 1.0, 3.0])
def test_the_offset_of_a_stadium_is_a_stadium(distance_mm: float) -> None:
    [moved] = outline(stadium(40.0, 5.0)).offset(distance_mm)
    expected = Polygon(outline(stadium(40.0, 5.0 + distance_mm)).ring(1e-4))
    apart = shapely.hausdorff_distance(moved.boundary, expected.boundary, densify=0.01)
    assert apart < 0.01


def test_an_offset_that_eats_the_shape_leaves_nothing() -> None:
    assert outline(stadium(40.0, 5.0)).offset(-5.5) == ()


def test_an_offset_through_a_neck_leaves_two_parts_the_larger_first() -> None:
    # Two plates, 20 x 20 and 10 x 10, joined by a bridge 2 mm wide: 1.5 mm off its sides is all.
    dumbbell = [(0, 0), (20, 0), (20, 9), (30, 9), (30, 5), (40, 5), (40, 15), (30, 15)]
    dumbbell += [(30, 11), (20, 11), (20, 20), (0, 20)]
    parts = outline_from_rings("dumbbell", dumbbell).offset(-1.5)
    assert [part.area for part in parts] == pytest.approx([17 * 17, 7 * 7])


def test_square_corners_stay_square_and_a_sharp_tip_is_not_sent_ahead() -> None:
    [square] = outline_from_rings("square", SQUARE).offset(2.0)
    assert square.area == pytest.approx(14 * 14)
    # A tip of 20 degrees: a mitre would reach 2 / sin(10 degrees) = 11.5 mm ahead of it.
    half = math.radians(10)
    tip = [(0.0, 0.0), (-100.0, 100 * math.tan(half)), (-100.0, -100 * math.tan(half))]
    [pointed] = outline_from_rings("tip", tip).offset(2.0)
    assert pointed.bounds[2] == pytest.approx(3.0, abs=0.01)  # one and a half times as far


@by_family
@pytest.mark.parametrize("distance_mm", [-3.0, -0.5, 0.5, 1.5, 5.0])
def test_no_place_of_an_offset_is_nearer_the_edge_than_asked(
    family: Family, distance_mm: float
) -> None:
    knife = family.outline()
    edge = shapely.LinearRing(knife.ring(1e-4))
    parts = knife.offset(distance_mm)
    assert parts
    for part in parts:
        ring = shapely.segmentize(part.boundary, 0.5)
        away = shapely.distance(shapely.points(shapely.get_coordinates(ring)), edge)
        assert away.min() > abs(distance_mm) - 0.01
        assert away.max() < 1.81 * abs(distance_mm) + 0.01
        assert np.quantile(away, 0.9) < abs(distance_mm) + 0.01


@pytest.mark.parametrize("distance_mm", [math.nan, math.inf, 1001.0])
def test_an_offset_that_is_none_is_refused(distance_mm: float) -> None:
    with pytest.raises(InputError, match=r"cannot be drawn\. Give a number of at most 1000 mm"):
        outline(circle(7.0)).offset(distance_mm)


def test_the_offset_of_an_edge_that_crosses_itself_is_refused() -> None:
    bow = outline_from_rings("bow", [(0, 0), (10, 10), (10, 2), (0, 8)])
    with pytest.raises(InputError, match="crosses"):
        bow.offset(1.0)


@given(st.lists(st.floats(-12, 52), min_size=1, max_size=20))
def test_sections_of_a_stadium_are_the_chords(places: list[float]) -> None:
    sections = outline(stadium(40.0, 5.0)).sections_mm(places, 1e-5)
    for x, (low, high) in zip(places, sections, strict=True):
        beyond = max(-x, x - 40, 0.0)
        if beyond > 5 + 1e-6:
            assert math.isnan(low)
            assert math.isnan(high)
        elif beyond < 4.9:
            half = math.sqrt(25 - beyond**2)
            assert (low, high) == pytest.approx((-half, half), abs=1e-4)


def test_a_section_at_a_square_end_is_the_end() -> None:
    sections = outline_from_rings("square", SQUARE).sections_mm([0.0, 5.0, 10.0, 10.1])
    assert sections[:3].tolist() == [[0.0, 10.0]] * 3
    assert np.isnan(sections[3]).all()


def test_lengths_run_from_station_to_station() -> None:
    stations = (
        Station(name="tip", x_mm=45.0, y_mm=0.0),
        Station(name="butt", x_mm=-5.0, y_mm=0.0),
        Station(name="heel", x_mm=10.0, y_mm=-5.0),
    )
    shape = outline(stadium(40.0, 5.0), stations=stations)
    assert shape.perimeter_mm == pytest.approx(80 + 10 * math.pi)
    assert shape.length_between_mm("heel", "tip") == pytest.approx(30 + 2.5 * math.pi)
    assert shape.length_between_mm("tip", "butt") == pytest.approx(40 + 5 * math.pi)
    with pytest.raises(InputError, match=r"no place called “choil”\. It has: tip, butt, heel"):
        shape.length_between_mm("heel", "choil")

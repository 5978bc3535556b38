"""The families that come with the program: smooth and true over all their ranges."""

import math
from itertools import product

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.curves import Cubic, Segment
from geometry.family import Family, family_named
from geometry.outline import Outline
from tests.geometry.family.draws import FAMILIES, by_family, corner_places, drawn

# How often the longest smooth stretch may turn over: butt, waist, palm, finger, guard, ramp.
MOST_WAVES = {
    "boning_fillet": 6,
    "full_tang_angular_tip": 5,
    "full_tang_clip_point": 5,
    "full_tang_drop_point": 5,
    "full_tang_sheepsfoot": 5,
    "full_tang_spear_point": 8,
    "hidden_tang_hunter": 2,
    "hidden_tang_spear": 2,
    "kitchen_chef": 3,
    "kitchen_utility": 3,
    "neck_knife": 5,
    "straight_edge_coping": 5,
    "upswept_skinner": 6,
}
# Those with a handle that is not alike on both sides.
BACKED = {key for key in MOST_WAVES if "hidden" not in key and "spear" not in key}


def turn_deg(outline: Outline, index: int) -> float:
    (ux, uy) = outline.chain[index - 1].end_direction
    (vx, vy) = outline.chain[index].start_direction
    return math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))


@by_family
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_the_measures_asked_for_are_the_measures_drawn(family: Family, data: st.DataObject) -> None:
    values, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    assert outline.blade_length_mm == pytest.approx(values["blade_length"])
    tail = values.get("handle_length", values.get("tang_length", 0.0))
    assert outline.overall_length_mm >= values["blade_length"] + tail - 0.02
    assert outline.overall_length_mm <= values["blade_length"] + tail + 0.5
    plunge = next(mark for mark in outline.marks if mark.kind == "plunge line")
    (_, low), (_, high) = plunge.points_mm
    assert high - low == pytest.approx(values["blade_width"], abs=0.02)


@by_family
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_smooth_joints_turn_by_less_than_a_tenth_of_a_degree(
    family: Family, data: st.DataObject
) -> None:
    values, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    corners = corner_places(family, values)
    for index, segment in enumerate(outline.chain):
        place = (round(segment.start[0], 6), round(segment.start[1], 6))
        if place not in corners:
            assert abs(turn_deg(outline, index)) < 0.1, segment.start


@by_family
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_the_blade_is_full_everywhere(family: Family, data: st.DataObject) -> None:
    """No kink dents the edge, nor the spine but for the hollow that the maker asks for."""
    values, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    edge = between(outline, "heel", "tip")
    assert len(edge) == 2 or dent_mm(shapely.Polygon(edge)) < 0.02
    blade = shapely.Polygon(outline.ring()).intersection(shapely.box(0.05, -1000, 1000, 1000))
    assert isinstance(blade, shapely.Polygon)
    if values.get("tip_rise", -1) < 0:
        assert dent_mm(blade) < values.get("clip_hollow", 0) + 0.02


@pytest.mark.parametrize("family", [f for f in FAMILIES if f.key in BACKED], ids=lambda f: f.key)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_the_back_of_a_handle_rises_once(family: Family, data: st.DataObject) -> None:
    _, outline = drawn(data, family)
    if not isinstance(outline, str):
        assert dent_mm(shapely.Polygon(between(outline, "handle front", "butt"))) < 0.02


def between(outline: Outline, start: str, end: str) -> np.ndarray:
    """The points of the edge from one station on to another."""
    ring = outline.ring()
    places = {station.name: (station.x_mm, station.y_mm) for station in outline.stations}
    first, last = (np.hypot(*(ring - places[name]).T).argmin() for name in (start, end))
    return np.roll(ring, -first, axis=0)[: (last - first) % len(ring) + 1]


def dent_mm(shape: shapely.Geometry) -> float:
    """How far a shape's edge lies inside its convex hull, at most."""
    return shapely.hausdorff_distance(shape.boundary, shape.convex_hull.boundary)


@by_family
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_curve_waves_more_often_than_its_shape_asks(family: Family, data: st.DataObject) -> None:
    values, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    assert max(waves(outline, corner_places(family, values))) <= MOST_WAVES[family.key]


def waves(outline: Outline, corners: set[tuple[float, float]]) -> list[int]:
    """How often each smooth stretch goes over from turning one way to the other, by over 1 deg."""
    chain = outline.chain
    places = [(round(s.start[0], 6), round(s.start[1], 6)) for s in chain]
    first = next(i for i, place in enumerate(places) if place in corners)
    counts, turned = [], [0.0]
    for i in [*range(first, len(chain)), *range(first)]:
        if places[i] in corners:
            counts.append(len(turned) - 1)
            turned = [0.0]
        for turn in turns_deg(chain[i]):
            if turned[-1] * turn >= 0 or abs(turned[-1]) < 1:
                turned[-1] += turn
            else:
                turned.append(turn)
    return [*counts, len(turned) - 1 - (abs(turned[-1]) < 1)]


def turns_deg(segment: Segment) -> list[float]:
    """How much a piece turns to the left, step by step, degrees."""
    if not isinstance(segment, Cubic):
        return [math.degrees(getattr(segment, "sweep_rad", 0.0))]
    dx, dy = segment.derivative(np.linspace(0, 1, 41)).T
    return np.degrees(np.diff(np.unwrap(np.arctan2(dy, dx)))).tolist()


@by_family
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_marks_lie_on_the_steel(family: Family, data: st.DataObject) -> None:
    _, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    steel = shapely.Polygon(outline.ring()).buffer(0.05)
    for mark in outline.marks:
        assert steel.covers(shapely.LineString(mark.points_mm)), mark.kind


@by_family
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_no_neck_of_steel_is_thinner_than_a_tang_may_be(
    family: Family, data: st.DataObject
) -> None:
    _, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    narrowest_mm = 4.9 if "hidden" in family.key else 10.0
    core = shapely.Polygon(outline.ring()).buffer(-narrowest_mm / 2)
    assert isinstance(core, shapely.Polygon)
    assert not core.is_empty


@by_family
def test_no_inside_curve_is_tighter_than_a_small_wheel(family: Family) -> None:
    """At its usual values a family is ground on a 25 mm contact wheel, notch and choil apart."""
    for segment in family.outline().chain:
        if isinstance(segment, Cubic):
            hollow = -segment.curvature_per_mm(np.linspace(0, 1, 101)).min()
            assert hollow < 1 / 12.5


def test_a_hunters_drop_point_goes_on_a_usual_bar() -> None:
    # 38 mm (1 1/2 in) bar, cut to 230 mm.
    x0, y0, x1, y1 = family_named("drop point").outline().bounds_mm
    assert x1 - x0 < 225
    assert y1 - y0 < 34


def test_the_hidden_tang_has_rounded_shoulders() -> None:
    for key, radius in product(("hidden_tang_spear", "hidden_tang_hunter"), (1.0, 2.0)):
        outline = family_named(key).outline({"shoulder_radius": radius, "notch_radius": 0})
        inner = [s for s in outline.chain if hasattr(s, "sweep_rad") and s.sweep_rad < 0]
        assert [arc.radius_mm for arc in inner] == pytest.approx([radius, radius])


def test_a_notch_of_no_radius_is_left_out() -> None:
    with_notch = family_named("drop point").outline({"notch_radius": 2})
    without = family_named("drop point").outline({"notch_radius": 0})
    assert without.area_mm2 - with_notch.area_mm2 == pytest.approx(math.pi * 2, abs=0.3)

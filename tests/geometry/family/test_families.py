"""The families that come with the program: valid, smooth and true over all their ranges."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.curves import Cubic
from geometry.errors import InputError
from geometry.family import Family, built_in_families, family_named
from geometry.outline import Outline

FAMILIES = built_in_families()
WEB_MM = {"pin": 2.0, "tube": 4.0, "lightening": 3.0, "cord": 3.0}  # practice: trade minimums
by_family = pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])


def drawn(data: st.DataObject, family: Family) -> tuple[dict[str, float], Outline | str]:
    """A draw from the whole box of ranges, and its outline or the message."""
    values = {
        p.key: data.draw(
            st.integers(int(p.low), int(p.high)) if p.whole else st.floats(p.low, p.high),
            label=p.key,
        )
        for p in family.parameters
    }
    try:
        return values, family.outline(values)
    except InputError as error:
        return values, str(error)


def turn_deg(outline: Outline, index: int) -> float:
    (ux, uy) = outline.chain[index - 1].end_direction
    (vx, vy) = outline.chain[index].start_direction
    return math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))


def corner_places(family: Family, values: dict[str, float]) -> set[tuple[float, float]]:
    everything = family.values(values)
    return {
        (round(node.x.value(everything), 6), round(node.y.value(everything), 6))
        for node in family.nodes
        if node.corner
    }


@by_family
def test_a_family_has_the_measures_of_a_makers_sheet(family: Family) -> None:
    assert 8 <= len(family.parameters) <= 16
    for parameter in family.parameters:
        assert parameter.low < parameter.high
        assert parameter.help.endswith(".")
        assert parameter.label[0].isupper()
    outline = family.outline()
    assert outline.holes
    assert {"tip", "heel", "plunge", "butt"} <= {station.name for station in outline.stations}
    assert {"plunge line", "handle front"} <= {mark.kind for mark in outline.marks}


@by_family
@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_every_draw_is_a_sound_outline_or_a_message(family: Family, data: st.DataObject) -> None:
    _, outline = drawn(data, family)
    if isinstance(outline, str):
        assert "crosses" not in outline
        assert "cannot be worked out" not in outline
        assert "no value" not in outline
        return
    polygon = outline.polygon()
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert len(polygon.interiors) == len(outline.holes)
    for hole in outline.holes:
        centre = shapely.Point(hole.x_mm, hole.y_mm)
        left = polygon.exterior.distance(centre) - hole.diameter_mm / 2
        assert left >= WEB_MM[hole.kind] - 1e-6
    for a, b in zip(polygon.interiors, polygon.interiors[1:], strict=False):
        assert a.distance(b) >= WEB_MM["pin"]


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
    """No flat is hollowed and no kink dents: past the plunge the blade is convex."""
    _, outline = drawn(data, family)
    if isinstance(outline, str):
        return
    edge = shapely.Polygon(outline.ring())
    blade = edge.intersection(shapely.box(0.05, -1000, 1000, 1000))
    assert isinstance(blade, shapely.Polygon)
    assert shapely.hausdorff_distance(blade.boundary, blade.convex_hull.boundary) < 0.02


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
    family = family_named("hidden tang")
    for radius in (1.0, 2.0):
        outline = family.outline({"shoulder_radius": radius, "notch_radius": 0})
        inner = [s for s in outline.chain if hasattr(s, "sweep_rad") and s.sweep_rad < 0]
        assert [arc.radius_mm for arc in inner] == pytest.approx([radius, radius])


def test_a_notch_of_no_radius_is_left_out() -> None:
    with_notch = family_named("drop point").outline({"notch_radius": 2})
    without = family_named("drop point").outline({"notch_radius": 0})
    assert without.area_mm2 - with_notch.area_mm2 == pytest.approx(math.pi * 2, abs=0.3)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("full_tang_drop_point", "full_tang_drop_point"),
        ("full-tang-drop-point", "full_tang_drop_point"),
        ("Full-tang drop point", "full_tang_drop_point"),
        ("drop point", "full_tang_drop_point"),
        ("sheepsfoot", "full_tang_sheepsfoot"),
        (" SPEAR ", "hidden_tang_spear"),
        ("chef", "kitchen_chef"),
        ("neck knife", "neck_knife"),
    ],
)
def test_a_family_is_found_by_key_name_or_words(text: str, key: str) -> None:
    assert family_named(text).key == key


@pytest.mark.parametrize("text", ["", "dagger of doom", "full tang"])
def test_no_family_or_too_many_lists_the_choices(text: str) -> None:
    with pytest.raises(InputError, match="full_tang_drop_point, full_tang_sheepsfoot"):
        family_named(text)

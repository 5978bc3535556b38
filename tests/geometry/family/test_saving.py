"""An outline saved as a family: the same at its own measures, smooth and sound at others."""

import math
import unicodedata
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.curves import Arc, Chain, Line
from geometry.errors import InputError
from geometry.family import Family, built_in_families, family_from_text, family_named
from geometry.family.saving import family_of, family_text, key_of
from geometry.outline import Hole, Mark, Outline, Station, outline_from_rings
from geometry.pose import Pose

FAMILIES = built_in_families()
KEYS = ["blade_length", "handle_length", "blade_width", "handle_width"]


def notched() -> Outline:
    """Blade 0 to 100, handle -110 to 0, 30 high; a notch of radius 2, butt corners of radius 4."""
    chain: Chain = (
        Line(start=(-106.0, 0.0), end=(-4.0, 0.0)),
        Arc(start=(-4.0, 0.0), end=(0.0, 0.0), sweep_rad=-math.pi),
        Line(start=(0.0, 0.0), end=(70.0, 0.0)),
        Arc(start=(70.0, 0.0), end=(100.0, 30.0), sweep_rad=math.pi / 2),
        Line(start=(100.0, 30.0), end=(-106.0, 30.0)),
        Arc(start=(-106.0, 30.0), end=(-110.0, 26.0), sweep_rad=math.pi / 2),
        Line(start=(-110.0, 26.0), end=(-110.0, 4.0)),
        Arc(start=(-110.0, 4.0), end=(-106.0, 0.0), sweep_rad=math.pi / 2),
    )
    slot = outline_from_rings("slot", [(-80, 12), (-70, 12), (-70, 18), (-80, 18)]).chain
    return Outline(
        name="Notched",
        chain=chain,
        holes=(
            Hole(x_mm=-30.0, y_mm=15.0, diameter_mm=6.0, kind="pin"),
            Hole(x_mm=-95.0, y_mm=27.0, diameter_mm=4.0, kind="pin"),
        ),
        cutouts=(slot,),
        marks=(
            Mark(kind="plunge line", points_mm=((0.0, 0.0), (0.0, 30.0))),
            Mark(kind="handle front", points_mm=((-6.0, 0.0), (-6.0, 30.0))),
        ),
        stations=(
            Station(name="heel", x_mm=0.0, y_mm=0.0),
            Station(name="tip", x_mm=100.0, y_mm=30.0),
            Station(name="butt", x_mm=-110.0, y_mm=15.0),
        ),
    )


def apart_mm(one: Outline, other: Outline) -> float:
    return shapely.hausdorff_distance(one.polygon().boundary, other.polygon().boundary)


def turns_deg(outline: Outline) -> list[float]:
    found = []
    for before, after in zip([outline.chain[-1], *outline.chain[:-1]], outline.chain, strict=True):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        found.append(abs(math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))))
    return found


@pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])
def test_at_its_own_measures_it_is_the_outline_that_was_saved(family: Family) -> None:
    outline = family.outline()
    own = family_of(outline, name="Mine")
    again = family_from_text(family_text(own), own.key)
    assert again == own
    drawn = again.outline()
    assert apart_mm(outline, drawn) < 1e-6
    assert drawn.holes == outline.holes
    assert drawn.stations == outline.stations
    lines = [m.points_mm for m in outline.marks if m.kind != "jimping"]
    assert [m.points_mm for m in drawn.marks if m.kind != "jimping"] == lines
    ticks = [m.points_mm for m in outline.marks if m.kind == "jimping"]
    again = [m.points_mm for m in drawn.marks if m.kind == "jimping"]
    assert len(again) == len(ticks)
    assert np.array(again) == pytest.approx(np.array(ticks), abs=1e-3)
    assert [parameter.key for parameter in own.parameters] == KEYS


def test_each_measure_is_what_is_drawn_and_changes_nothing_else() -> None:
    own = family_of(notched(), name="Notched")
    assert own.defaults == {
        "blade_length": 106.0, "handle_length": 104.0, "blade_width": 30.0, "handle_width": 30.0,
    }  # fmt: skip
    long = own.outline({"blade_length": 126.0})
    assert long.blade_length_mm == pytest.approx(126.0, abs=1e-6)
    assert long.bounds_mm == pytest.approx((-110.0, 0.0, 120.0, 30.0), abs=0.01)
    tail = own.outline({"handle_length": 90.0})
    assert tail.blade_length_mm == pytest.approx(106.0, abs=1e-6)
    assert tail.bounds_mm == pytest.approx((-96.0, 0.0, 100.0, 30.0), abs=0.01)
    wide = own.outline({"blade_width": 36.0})
    # The heel stays, the spine rises and the handle with it: its own width stays.
    assert wide.bounds_mm == pytest.approx((-110.0, 0.0, 100.0, 36.0), abs=0.01)
    butt = wide.ring()[wide.ring()[:, 0] < -100]
    assert np.ptp(butt[:, 1]) == pytest.approx(30.0, abs=0.01)
    full = own.outline({"handle_width": 36.0})
    assert full.bounds_mm == pytest.approx((-110.0, -6.0, 100.0, 30.0), abs=0.01)
    assert full.ring()[full.ring()[:, 0] > 5][:, 1].min() == pytest.approx(0.0, abs=0.01)


def test_holes_and_radii_keep_their_size_and_move() -> None:
    own = family_of(notched(), name="Notched")
    values = {
        "blade_length": 130.0, "handle_length": 130.0, "blade_width": 34.0, "handle_width": 36.0,
    }  # fmt: skip
    outline = own.outline(values)
    assert [hole.diameter_mm for hole in outline.holes] == [6.0, 4.0]
    assert outline.holes[0].x_mm < -30.0
    assert outline.holes[1].x_mm < -110.0
    radii = sorted(
        round(segment.radius_mm, 6) for segment in outline.chain if isinstance(segment, Arc)
    )
    assert radii == [2.0, 4.0, 4.0]
    assert [piece.length_mm for piece in outline.cutouts[0]] == pytest.approx([10, 6, 10, 6])


SAVED = ["full_tang_drop_point", "hidden_tang_spear", "notched"]


@cache
def saved(key: str) -> Family:
    outline = notched() if key == "notched" else family_named(key).outline()
    return family_of(outline, name=key)


@pytest.mark.parametrize("key", SAVED)
@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_over_its_ranges_it_is_valid_and_as_smooth_as_it_was(key: str, data: st.DataObject) -> None:
    own = saved(key)
    values = {p.key: data.draw(st.floats(p.low, p.high), label=p.key) for p in own.parameters}
    outline = own.outline(values)  # its ends can all be drawn: so can what lies between
    polygon = outline.polygon()
    assert polygon.is_valid
    assert len(polygon.interiors) == len(own.holes) + len(own.profile.cutouts)
    corners = sum(turn > 0.1 for turn in turns_deg(own.outline()))
    assert sum(turn > 0.1 for turn in turns_deg(outline)) == corners
    assert outline.blade_length_mm == pytest.approx(values["blade_length"], abs=0.02)


def test_its_ranges_can_be_drawn_at_all_their_ends() -> None:
    for own in map(saved, SAVED):
        for low in (True, False):
            own.outline({p.key: p.low if low else p.high for p in own.parameters})
        assert all(p.low < p.default < p.high for p in own.parameters)


def test_a_drawing_without_a_tip_is_measured_where_it_lies_or_turned_into_the_frame() -> None:
    ring = family_named("drop point").outline().ring(0.2)
    straight = outline_from_rings("traced", ring + np.array([200.0, 50.0]))
    own = family_of(straight, name="Traced")
    assert apart_mm(own.outline(), straight) < 1e-6
    standing = straight.moved(Pose(theta_rad=math.pi / 2))
    turned = family_of(standing, name="Traced").outline()
    x0, _, x1, _ = turned.bounds_mm
    assert x1 - x0 == pytest.approx(straight.overall_length_mm, abs=3.0)
    assert next(s for s in turned.stations if s.name == "tip").x_mm == pytest.approx(x1, abs=0.01)


def test_told_places_come_before_proposed_ones() -> None:
    own = family_of(
        notched(), name="N", stretch={"blade_length": (20.0, 60.0), "handle_width": None}
    )
    assert [parameter.key for parameter in own.parameters] == KEYS[:3]
    longer = own.outline({"blade_length": 110.0})
    belly = next(s for s in longer.chain if isinstance(s, Arc) and s.radius_mm > 20)
    assert (belly.start[0], belly.radius_mm) == pytest.approx((74.0, 30.0))


@pytest.mark.parametrize(
    ("stretch", "message"),
    [
        ({"belly": (1.0, 20.0)}, "“belly” is no measure that stretches. Use blade_length"),
        ({"blade_length": (20.0, 20.5)}, "less than 1 mm apart"),
    ],
)
def test_places_that_make_no_sense_are_refused(
    stretch: dict[str, tuple[float, float]], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        family_of(notched(), name="N", stretch=stretch)


def test_a_hole_close_to_the_edge_asks_for_no_more_steel_than_it_has() -> None:
    """The pin of 4 mm at y 27 leaves 1 mm: the family can be drawn, and keeps 0.8."""
    rule = family_of(notched(), name="N").holes[1]
    assert rule.web.value({}) == pytest.approx(0.8)


def test_a_hole_beside_a_cutout_asks_for_no_more_steel_than_it_has() -> None:
    """A pin of 4 mm at x -66.5 leaves 1.5 mm to the slot that ends at -70: 0.8 of it is asked."""
    hole = Hole(x_mm=-66.5, y_mm=15.0, diameter_mm=4.0, kind="pin")
    own = family_of(replace(notched(), holes=(hole,)), name="N")
    assert own.holes[0].web.value({}) == pytest.approx(1.2)


def test_a_measure_that_can_hardly_change_is_left_out() -> None:
    """Two openings 0.02 mm apart: narrowing or shortening there soon makes one of them."""
    gap = 0.02
    openings = tuple(
        outline_from_rings("slot", [(x, 8), (x + 20, 8), (x + 20, 22), (x, 22)]).chain
        for x in (-60.0, -40.0 + gap)
    )
    own = family_of(replace(notched(), holes=(), cutouts=openings), name="N")
    for parameter in own.parameters:
        assert parameter.high - parameter.low >= 0.03 * parameter.default
    own.outline({p.key: p.low for p in own.parameters})
    own.outline({p.key: p.high for p in own.parameters})


@given(st.text(max_size=80))
def test_a_key_is_a_file_name_anywhere(name: str) -> None:
    key = key_of(name)
    assert key
    assert all(letter == "_" or letter.isalnum() for letter in key)
    assert not key[0].isdigit()
    assert key == key.casefold() == unicodedata.normalize("NFKC", key)
    assert len(key.encode()) <= 130  # of 255, beside a number and the ending


@pytest.mark.parametrize(
    "names", [("Охотник", "Повар"), ("小刀", "菜刀"), ("사냥칼", "부엌칼"), ("Σκύλος", "Μαχαίρι")]
)
def test_names_in_any_letters_have_keys_of_their_own(names: tuple[str, str]) -> None:
    keys = {key_of(name) for name in names}
    assert len(keys) == 2
    assert "family" not in keys
    for name in names:
        assert key_of(unicodedata.normalize("NFD", name)) == key_of(name)
        assert key_of(name.upper()) == key_of(name)

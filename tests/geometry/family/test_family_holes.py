"""The holes of the families that come with the program: sound, and where a maker has them."""

from itertools import combinations, pairwise, product

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.family import Family, family_named
from tests.geometry.family.draws import FAMILIES, by_family, drawn

# Least steel, common practice, no source: lightening holes 4 mm to the edge, 3 mm to others and
# 12 mm behind plunge and shoulders; other holes 6 mm behind the front of the handle.
TO_EDGE_MM = {"pin": 2.0, "bolt": 4.0, "tube": 4.0, "lightening": 4.0, "cord": 3.0}
BETWEEN_MM = {**TO_EDGE_MM, "lightening": 3.0}
FRONTS = ("plunge line", "handle front")
# The share of a handle from its front to the middle of its last hole.
REARMOST = {"tube": (0.88, 0.92), "pin": (0.83, 0.87)}
TUBED = [f for f in FAMILIES if any(hole.kind == "tube" for hole in f.holes)]


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
        assert left >= TO_EDGE_MM[hole.kind] - 1e-6
    for (a, one), (b, other) in combinations(zip(polygon.interiors, outline.holes, strict=True), 2):
        assert a.distance(b) >= max(BETWEEN_MM[one.kind], BETWEEN_MM[other.kind]) - 1e-6
    fronts = [x for m in outline.marks if m.kind in FRONTS for x, _ in m.points_mm]
    for hole in outline.holes:
        behind = min(fronts) - hole.x_mm - hole.diameter_mm / 2
        assert behind >= (12 if hole.kind == "lightening" else 6) - 1e-6


def fastened(family: Family, **values: float) -> list[tuple[float, str]]:
    """Pins, bolts and tube from the front on: how far behind it, of the handle's length."""
    given = {key: value for key, value in values.items() if key in family.defaults}
    outline = family.outline(given)
    front = next(m.points_mm[0][0] for m in outline.marks if m.kind == "handle front")
    length = front - outline.bounds_mm[0]
    return sorted(((front - hole.x_mm) / length, hole.kind) for hole in outline.holes)


@pytest.mark.parametrize("family", TUBED, ids=lambda family: family.key)
@pytest.mark.parametrize(("count", "lanyard"), list(product((2, 3), (0, 4, 6))))
def test_pins_and_tube_are_spread_evenly(family: Family, count: int, lanyard: float) -> None:
    """A handle is held along all its length, with no long bare stretch and no crowd at its end."""
    holes = fastened(
        family, pin_diameter=4, pin_count=count, lanyard_diameter=lanyard, handle_length=118
    )
    steps = [b - a for (a, _), (b, _) in pairwise(holes)]
    assert max(steps) - min(steps) < 0.01
    last, kind = holes[-1]
    assert (kind == "tube") == ("lanyard_diameter" not in family.defaults or lanyard > 0)
    low, high = REARMOST["tube" if kind == "tube" else "pin"]
    assert low < last < high


def test_without_the_lanyard_hole_the_rear_pin_moves_back() -> None:
    """113 mm of handle: pins 14 % behind its front and 14 % before its end, 81 mm apart."""
    drop = family_named("drop point")
    (front, _), (rear, _) = fastened(drop, lanyard_diameter=0)
    assert (rear - front) * 113 == pytest.approx(0.72 * 113, abs=0.2)
    (_, (rear, _), _) = fastened(drop)
    assert rear == pytest.approx(0.14 + 0.77 / 2, abs=0.002)


@pytest.mark.parametrize("key", ["hidden_tang_hunter", "hidden_tang_spear"])
def test_a_stick_tang_goes_straight_into_a_drilled_hole(key: str) -> None:
    """At its usual values, and in each size, its middle line is straight and level."""
    family = family_named(key)
    for values in ({}, *(dict(size.values) for size in family.sizes)):
        outline = family.outline(values)
        front = next(s.x_mm for s in outline.stations if s.name == "handle front")
        butt = outline.bounds_mm[0]
        behind = [butt + share * (front - butt) for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
        middles = outline.sections_mm(behind, 1e-3).mean(axis=1)
        assert middles == pytest.approx([middles[0]] * 5, abs=0.01)


def test_a_tang_that_drops_says_how_its_slot_is_made() -> None:
    hunter = family_named("hidden_tang_hunter")
    drop = next(p for p in hunter.parameters if p.key == "tang_drop")
    assert (drop.default, drop.low) == (0, 0)
    assert drop.high > 10
    for text in (hunter.notes, drop.help):
        assert "burnt" in text
        assert "sawn" in text

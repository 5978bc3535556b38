"""A shape measured or drawn elsewhere, turned into the outline frame."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from geometry.arc_fit import circle_of
from geometry.curves import Arc, Line
from geometry.ends import proposed_heel, proposed_spine
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.from_contour import Side, framed, outline_from_contour, proposed_ends
from geometry.knife_parts import Pointed, parts_of
from geometry.outline import Hole, Outline, outline_from_rings
from geometry.pose import Pose
from tests.geometry.shapes import regular

# A plain knife by hand: its edge along y 0, the heel at (0, 0), a choil behind it.
EDGE = [(0, 0), (80, 0), (100, 20), (60, 25), (-100, 25), (-100, 2), (-8, 2), (-6, 8), (0, 8)]
KNIFE = Polygon(EDGE)
TIP, BUTT, HEEL = (100.0, 20.0), (-100.0, 13.5), (0.0, 0.0)
#: Butt to tip climbs 6.5 mm on 200: in the outline's frame the knife is turned by that much.
LEANS_RAD = math.atan2(6.5, 200.0)


def stations(outline: Outline) -> dict[str, tuple[float, float]]:
    return {s.name: (s.x_mm, s.y_mm) for s in outline.stations}


def turned(point: tuple[float, float]) -> tuple[float, float]:
    """A point of the hand's drawing in the outline's frame: turned about the heel, by hand."""
    (x, y), cos, sin = point, math.cos(LEANS_RAD), math.sin(LEANS_RAD)
    return cos * x + sin * y, -sin * x + cos * y


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("angle_deg", [0.0, 97.0, 180.0, -33.0])
def test_however_it_lies_it_comes_into_the_same_frame(angle_deg: float, mirrored: bool) -> None:
    lies = Pose(x_mm=40.0, y_mm=-75.0, theta_rad=math.radians(angle_deg), mirrored=mirrored)
    tip, butt, heel = ((x, y) for x, y in lies.points([TIP, BUTT, HEEL]).tolist())
    found = outline_from_contour(
        lies.shape(KNIFE), tip_mm=tip, butt_mm=butt, heel_mm=heel, name="mine", tolerance_mm=0.05
    )
    assert found.name == "mine"
    for name, point in (("tip", TIP), ("butt", BUTT), ("heel", HEEL)):
        assert stations(found)[name] == pytest.approx(turned(point), abs=1e-6)
    there = shapely.transform(KNIFE, lambda points: np.array([turned(p) for p in points.tolist()]))
    assert shapely.hausdorff_distance(found.polygon().exterior, there.exterior, 0.01) <= 0.051


def test_the_spine_is_where_it_is_said_to_be() -> None:
    drawn = outline_from_rings("a", EDGE)
    above = framed(drawn, tip_mm=TIP, butt_mm=BUTT, heel_mm=HEEL, spine="left")
    below = framed(drawn, tip_mm=TIP, butt_mm=BUTT, heel_mm=(0.0, 25.0), spine="right")
    choil = shapely.Point(-4.0, 4.0)  # in no steel where the edge is down
    assert not above.polygon().contains(choil)
    assert below.polygon().contains(choil)
    assert above.area_mm2 == pytest.approx(KNIFE.area)
    assert below.area_mm2 == pytest.approx(KNIFE.area)


def test_a_place_beside_a_corner_means_the_corner() -> None:
    found = framed(outline_from_rings("a", EDGE), tip_mm=(99.0, 20.6), butt_mm=BUTT)
    assert stations(found)["tip"] == pytest.approx(turned(TIP), abs=1e-6)


def test_round_holes_are_holes_and_others_cutouts() -> None:
    round_, slot = regular(60, 3.0), shapely.box(-60, 8, -40, 14)
    pin = shapely.transform(round_, lambda points: points - (80.0, -12.0))
    found = outline_from_contour(
        KNIFE.difference(pin).difference(slot), tip_mm=TIP, butt_mm=BUTT, name="a"
    )
    [hole], [cutout] = found.holes, found.cutouts
    # A regular 60-gon in a circle of radius 3: its corners stand 3 mm, its sides 2.9959 mm off.
    assert hole.diameter_mm == pytest.approx(6.0, abs=0.009)
    assert (hole.x_mm, hole.y_mm) == pytest.approx(turned((-80.0, 12.0)), abs=0.01)
    assert circle_of(cutout) is None
    assert Polygon([piece.start for piece in cutout]).area == pytest.approx(120.0, rel=0.02)


def test_the_chain_is_of_few_lines_and_arcs() -> None:
    found = outline_from_contour(KNIFE, tip_mm=TIP, butt_mm=BUTT, name="a")
    assert all(isinstance(piece, Line | Arc) for piece in found.chain)
    assert len(found.chain) <= len(EDGE)


def turns_sharply(outline: Outline, place: tuple[float, float]) -> bool:
    """Whether two pieces of the edge meet there at an angle of 40 degrees or more."""
    for before, after in zip(outline.chain, [*outline.chain[1:], outline.chain[0]], strict=True):
        if math.dist(after.start, place) < 1e-3:
            (ux, uy), (vx, vy) = before.end_direction, after.start_direction
            return ux * vx + uy * vy < math.cos(math.radians(40))
    return False


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
@settings(max_examples=8, deadline=None)
@given(angle_deg=st.integers(-180, 180), x=st.integers(-300, 300), mirrored=st.booleans())
def test_ends_spine_and_heel_of_the_families_are_found(
    family: Family, angle_deg: int, x: int, mirrored: bool
) -> None:
    """They know where theirs are, so the proposal can be held against them."""
    outline = family.outline()
    known = stations(outline)
    lies = Pose(x_mm=x, y_mm=10.0, theta_rad=math.radians(angle_deg), mirrored=mirrored)
    shape = lies.shape(outline.polygon())
    ends = proposed_ends(shape)
    tip, butt = lies.back([ends.tip_mm, ends.butt_mm]).tolist()
    assert math.dist(tip, known["tip"]) < 1.0
    assert math.dist(butt, known["butt"]) < 10.0  # some place of the end face
    spine = proposed_spine(shape, ends)
    assert spine == ("right" if mirrored else "left")
    [heel] = lies.back([proposed_heel(shape, ends, spine)]).tolist()
    if turns_sharply(outline, known["heel"]):
        assert math.dist(heel, known["heel"]) < 0.5


def test_without_a_corner_the_heel_is_at_the_usual_place() -> None:
    plain = Polygon([(0, 0), (150, 0), (200, 20), (150, 25), (0, 25)])
    ends = proposed_ends(plain)
    x, y = proposed_heel(plain, ends, "left")
    assert y == pytest.approx(0.0, abs=1e-6)
    assert x == pytest.approx(110.0, abs=1.0)  # 45 % of 200 mm from the tip; the line leans a bit


@pytest.mark.parametrize("spine", ["left", "right"])
def test_lines_curves_and_holes_are_kept_as_they_are(spine: Side) -> None:
    outline = built_in_families()[0].outline()
    known = stations(outline)
    lies = Pose(x_mm=3.0, y_mm=4.0, theta_rad=1.0, mirrored=spine == "right")
    found = framed(
        outline.moved(lies),
        tip_mm=tuple(lies.points([known["tip"]])[0].tolist()),
        butt_mm=tuple(lies.points([known["butt"]])[0].tolist()),
        heel_mm=tuple(lies.points([known["heel"]])[0].tolist()),
        spine=spine,
    )
    assert len(found.chain) == len(outline.chain)
    assert found.area_mm2 == pytest.approx(outline.area_mm2, rel=1e-9)
    assert [h.diameter_mm for h in found.holes] == [h.diameter_mm for h in outline.holes]
    assert [m.kind for m in found.marks] == [m.kind for m in outline.marks]
    for name in ("tip", "butt"):
        assert math.hypot(*stations(found)[name]) == pytest.approx(math.hypot(*known[name]))


def test_pointing_at_one_end_is_enough() -> None:
    proposed = parts_of(KNIFE, Pointed())
    assert proposed.tip_mm == TIP
    for told in (Pointed(tip_mm=proposed.butt_mm), Pointed(butt_mm=proposed.tip_mm)):
        turned_round = parts_of(KNIFE, told)
        assert turned_round.tip_mm == pytest.approx(proposed.butt_mm)
        assert turned_round.butt_mm == pytest.approx(proposed.tip_mm)


def test_ends_that_are_none_are_refused() -> None:
    with pytest.raises(InputError, match="two ends of the knife"):
        outline_from_contour(KNIFE, tip_mm=TIP, butt_mm=(80.0, 24.0), name="a")
    with pytest.raises(InputError, match=r"the butt at x 0\.0, y 900\.0 mm is not at the shape's"):
        outline_from_contour(KNIFE, tip_mm=TIP, butt_mm=(0.0, 900.0), name="a")
    with pytest.raises(InputError, match="is not at the shape's edge"):
        outline_from_contour(KNIFE, tip_mm=(math.nan, 0.0), butt_mm=BUTT, name="a")


def test_a_shape_that_is_hardly_one_still_has_two_ends() -> None:
    ends = proposed_ends(regular(40, 10.0))
    assert math.dist(ends.tip_mm, ends.butt_mm) == pytest.approx(20.0, abs=0.2)


def test_the_hole_itself_is_measured() -> None:
    """Points off a circle to both sides: their mean is the hole, a least squares fit's too."""
    angles = np.arange(120) * 2.0 * math.pi / 120
    radii = 3.0 + 0.04 * np.where(np.arange(120) % 2, 1.0, -1.0)
    ring = np.column_stack([radii * np.cos(angles) - 70.0, radii * np.sin(angles) + 13.0])
    steel = KNIFE.difference(Polygon(ring))
    [hole] = outline_from_contour(steel, tip_mm=TIP, butt_mm=BUTT, name="a").holes
    assert isinstance(hole, Hole)
    assert hole.diameter_mm == pytest.approx(6.0, abs=0.02)
    fine = {"tip_mm": TIP, "butt_mm": BUTT, "name": "a", "tolerance_mm": 0.02}
    assert not outline_from_contour(steel, **fine).holes
    [hole] = outline_from_contour(steel, **fine, round_mm=0.1).holes
    assert hole.diameter_mm == pytest.approx(6.0, abs=0.02)


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
@pytest.mark.parametrize("told", ["nothing", "tip", "heel"])
def test_what_is_drawn_level_stays_level_until_both_ends_are_told(quarters: int, told: str) -> None:
    """The hand's drawing has its edge along y 0, from the heel at x 0 to x 80."""
    lies = Pose(x_mm=40.0, y_mm=-75.0, theta_rad=quarters * math.pi / 2)
    drawn = outline_from_rings("a", EDGE).moved(lies)
    tip, heel = ((x, y) for x, y in lies.points([TIP, HEEL]).tolist())
    given = {"tip": {"tip_mm": tip}, "heel": {"heel_mm": heel}, "nothing": {}}[told]
    found = framed(drawn, spine="left", **given)
    assert sorted(found.bounds_mm) == pytest.approx([-100.0, 0.0, 25.0, 100.0])
    assert stations(found)["tip"] == pytest.approx(TIP)
    assert stations(found)["heel"] == pytest.approx(HEEL, abs=1e-9)


def test_a_drawing_that_lies_askew_is_turned_by_its_ends() -> None:
    """Turned by 40 degrees it lies neither level nor upright: x runs from its butt to its tip."""
    drawn = outline_from_rings("a", EDGE).moved(Pose(theta_rad=math.radians(40.0)))
    found = stations(framed(drawn, spine="left"))
    assert found["tip"][1] == pytest.approx(found["butt"][1], abs=1e-9)
    assert math.dist(found["tip"], found["butt"]) == pytest.approx(math.dist(TIP, BUTT), abs=0.01)


def test_a_place_off_the_edge_is_answered_with_the_nearest_and_both_ends() -> None:
    with pytest.raises(InputError) as raised:
        framed(outline_from_rings("a", EDGE), tip_mm=(90.0, 300.0))
    assert "the nearest is at x 60.0, y 25.0" in raised.value.remedy
    assert "two ends are at x 100.0, y 20.0 and x -100.0, y 13.5" in raised.value.remedy

"""Outlines saved as families and stretched: fair curves, true measures, roundings as they were."""

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest

from geometry.blade_measures import blade_measures
from geometry.curvature import inside_radii
from geometry.curves import Arc, Cubic
from geometry.errors import InputError
from geometry.family import Family, built_in_families, family_from_text, family_named
from geometry.family.saving import family_of, family_text
from geometry.features import Hole, Mark, Station
from geometry.outline import Outline, outline_from_rings
from geometry.turn_overs import turn_overs

KEYS = [family.key for family in built_in_families()]
FLAT = replace(
    outline_from_rings("flat", [(0, 0), (100, 0), (100, 30), (0, 30)]),
    stations=(
        Station(name="tip", x_mm=100.0, y_mm=15.0),
        Station(name="butt", x_mm=0.0, y_mm=15.0),
    ),
)


@cache
def saved(key: str) -> Family:
    return family_of(family_named(key).outline(), name="Mine")


def grown(own: Family, key: str, share: float) -> dict[str, float]:
    """One measure changed by a share of it, or as far as its range goes."""
    [each] = [parameter for parameter in own.parameters if parameter.key == key]
    return {key: min(max(each.default * (1 + share), each.low), each.high)}


@pytest.mark.parametrize("key", KEYS)
def test_stretched_it_bends_over_no_more_often_than_it_was_drawn(key: str) -> None:
    """At each end of the ranges, and of all together."""
    own = saved(key)
    drawn = turn_overs(own.outline().chain)
    for ends in product((0, 1), repeat=len(own.parameters)):
        values = {p.key: (p.low, p.high)[end] for p, end in zip(own.parameters, ends, strict=True)}
        assert turn_overs(own.outline(values).chain) <= drawn, values


@pytest.mark.parametrize("key", KEYS)
def test_each_measure_changes_by_enough_to_be_of_use(key: str) -> None:
    """Blade and handle by a sixth longer; by a twentieth wider or narrower."""
    for each in saved(key).parameters:
        most = 1.16 if each.key.endswith("length") else 1.05
        assert each.high >= most * each.default
        assert each.low <= 0.95 * each.default


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("share", [-0.3, 0.3])
def test_a_longer_blade_is_drawn_out_evenly_up_to_its_tip(key: str, share: float) -> None:
    """Where it has eased in, over a quarter, widths are those at the same share of the length."""
    own = saved(key)
    outline = own.outline()
    longer = own.outline(grown(own, "blade_length", share))
    tips = [next(s.x_mm for s in each.stations if s.name == "tip") for each in (outline, longer)]
    quarter = 0.25 * tips[0]
    shares = np.linspace(0.0, 0.98, 40)
    before = outline.sections_mm(quarter + shares * (tips[0] - quarter))
    grows = (tips[1] - tips[0]) / tips[0] / 0.875  # the whole, less half of what eases in
    start = quarter + grows * 0.125 * tips[0]
    after = longer.sections_mm(start + shares * (tips[1] - start))
    assert after == pytest.approx(before, abs=0.03)


@pytest.mark.parametrize("key", KEYS)
def test_widths_are_those_that_are_asked_for(key: str) -> None:
    own = saved(key)
    for share in (0.0, 0.04):
        asked = grown(own, "handle_width", share)
        found = blade_measures(own.outline(asked)).handle_widest_mm
        assert found == pytest.approx(asked["handle_width"], abs=0.03)
    for share in (-0.05, 0.0, 0.05):
        asked = grown(own, "blade_width", share)
        edge = blade_measures(own.outline(asked)).edge
        assert edge is not None
        assert edge.widest_mm == pytest.approx(asked["blade_width"], abs=0.03)


def inside_mm(outline: Outline, x0: float, x1: float) -> float:
    return min(each.radius_mm for each in inside_radii(outline) if x0 < each.at[0] < x1)


@pytest.mark.parametrize(
    ("key", "radius_mm", "x0", "x1"),
    [
        ("kitchen_chef", 8.0, -12.0, 0.0),
        ("kitchen_utility", 5.0, -9.0, 0.0),
        ("hidden_tang_hunter", 1.5, -14.0, -8.0),
    ],
)
def test_choils_and_the_roundings_at_shoulders_keep_their_radius(
    key: str, radius_mm: float, x0: float, x1: float
) -> None:
    own = saved(key)
    drawn = inside_mm(own.outline(), x0, x1)
    assert drawn == pytest.approx(radius_mm, rel=1e-3)
    for measure in ("blade_width", "handle_width"):
        for share in (-0.2, -0.1, 0.1, 0.2):
            outline = own.outline(grown(own, measure, share))
            assert inside_mm(outline, x0, x1) == pytest.approx(drawn, rel=1e-3)


def test_a_tang_widens_evenly_up_to_its_shoulders() -> None:
    own = saved("hidden_tang_hunter")
    x = [-85.0, -60.0, -40.0, -25.0, -16.0, -12.0]
    narrow = np.diff(own.outline().sections_mm(x), axis=1)
    wide = np.diff(own.outline(grown(own, "handle_width", 0.15)).sections_mm(x), axis=1)
    assert wide / narrow == pytest.approx(np.full((6, 1), 1.15), abs=0.005)


def test_a_tang_of_sharp_shoulders_gets_no_neck() -> None:
    """12 wide up to shoulders at x -9 that no rounding eases."""
    ring = [
        (-100, 8),
        (-9, 8),
        (-9, 0),
        (70, 0),
        (95, 15),
        (80, 27),
        (-9, 27),
        (-9, 20),
        (-100, 20),
    ]
    own = family_of(
        replace(
            outline_from_rings("sharp", ring),
            marks=(Mark(kind="handle front", points_mm=((-9.0, 0.0), (-9.0, 27.0))),),
            stations=(
                Station(name="tip", x_mm=95.0, y_mm=15.0),
                Station(name="heel", x_mm=0.0, y_mm=0.0),
                Station(name="butt", x_mm=-100.0, y_mm=14.0),
            ),
        ),
        name="Sharp",
    )
    x = [-90.0, -30.0, -12.0, -9.6, -9.2, -9.05]
    for measure, share, width in (
        ("handle_width", 0.2, 14.4), ("handle_width", -0.2, 9.6),
        ("blade_width", 0.2, 12.0), ("blade_width", -0.2, 12.0),
    ):  # fmt: skip
        outline = own.outline(grown(own, measure, share))
        assert np.diff(outline.sections_mm(x), axis=1) == pytest.approx(
            np.full((6, 1), width), abs=0.05
        )


def test_a_symmetric_shape_stays_in_line() -> None:
    """The spear point's handle and blade about one middle, however wide either is."""
    own = saved("full_tang_spear_point")
    for measure in ("blade_width", "handle_width"):
        for share in (-0.2, -0.1, 0.2):
            outline = own.outline(grown(own, measure, share))
            middles = outline.sections_mm([-100.0, -60.0, -30.0, 20.0, 60.0]).mean(axis=1)
            assert np.ptp(middles) < 0.02
            assert outline.station_named("tip")[1] == pytest.approx(middles[0], abs=0.02)


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


@pytest.mark.parametrize(
    ("front", "heel", "tip"),
    [(-50.0, 50.0, 100.0), (250.0, 50.0, 100.0), (40.0, -20.0, 100.0), (40.0, 50.0, 400.0)],
)
def test_places_that_do_not_lie_on_the_plate_measure_nothing(
    front: float, heel: float, tip: float
) -> None:
    shape = replace(
        FLAT,
        marks=(Mark(kind="handle front", points_mm=((front, 0.0), (front, 30.0))),),
        stations=(
            Station(name="tip", x_mm=tip, y_mm=15.0),
            Station(name="heel", x_mm=heel, y_mm=0.0),
            Station(name="butt", x_mm=0.0, y_mm=15.0),
        ),
    )
    for parameter in family_of(shape, name="Off").parameters:
        assert 0 < parameter.low <= parameter.default <= 100.0


def many_holes() -> Outline:
    places = [(2 + i % 40 * 2.3, 3 + i // 40 * 4) for i in range(220)]
    return replace(FLAT, holes=tuple(Hole(x_mm=x, y_mm=y, diameter_mm=1.0) for x, y in places))


def many_lines() -> Outline:
    lines = [Mark(kind="line", points_mm=((0.0, 0.0), (i / 10 + 1, 1.0))) for i in range(205)]
    return replace(FLAT, marks=tuple(lines))


def many_pieces() -> Outline:
    angle = np.linspace(0, 2 * np.pi, 6000, endpoint=False)
    return outline_from_rings("fine", np.column_stack([100 * np.cos(angle), 20 * np.sin(angle)]))


def nameless() -> Outline:
    return replace(FLAT, stations=(Station(name="", x_mm=0.0, y_mm=10.0),))


@pytest.mark.parametrize(
    ("outline", "message"),
    [
        (many_holes, "has 220 holes; a shape of your own keeps at most 200. Draw it with fewer"),
        (many_lines, "has 205 lines drawn on it"),
        (many_pieces, "has 6000 pieces of edge; a shape of your own keeps at most 5000"),
        (nameless, "one of its named places has no name. Name it"),
    ],
)
def test_what_a_file_does_not_hold_is_told_of_the_drawing(
    outline: Callable[[], Outline], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        family_of(outline(), name="Mine")


def test_a_stretched_shape_is_written_and_read_as_it_is() -> None:
    own = saved("kitchen_chef")
    again = family_from_text(family_text(own), own.key)
    assert again == own
    assert any(zone.foot_mm for zone in again.profile.rigid)
    lengths = [rule.at for rule in again.profile.stretches if rule.at.axis == "x"]
    assert [at.goes_on for at in lengths] == [True, True]


def test_a_bolt_keeps_the_web_that_the_programs_own_families_keep() -> None:
    hole = Hole(x_mm=50.0, y_mm=15.0, diameter_mm=6.0, kind="bolt")
    [rule] = family_of(replace(FLAT, holes=(hole,)), name="Bolted").holes
    assert rule.web.value({}) == 4.0


def corner_radii_mm(outline: Outline, below_mm: float) -> list[float]:
    """The least radius of each outward bend of 30 to 120 degrees, from its pieces' curvature."""
    found, turn, least = [], 0.0, math.inf
    for segment in outline.chain:
        if isinstance(segment, Cubic):
            t = np.linspace(0.0, 1.0, 65)
            curvature = segment.curvature_per_mm(t)
            steps = np.diff(segment.lengths_mm(t))
            each = list(zip(steps, (curvature[1:] + curvature[:-1]) / 2, strict=True))
        else:
            bend = segment.sweep_rad / segment.length_mm if isinstance(segment, Arc) else 0.0
            each = [(segment.length_mm, bend)]
        for length, bend in each:
            if bend > 0.1:
                turn, least = turn + length * bend, min(least, 1 / bend)
                continue
            if 30 < math.degrees(turn) < 120 and least < below_mm:
                found.append(least)
            turn, least = 0.0, math.inf
    return sorted(found)


@pytest.mark.parametrize("key", KEYS)
def test_rounded_corners_keep_their_radius_and_holes_their_size(key: str) -> None:
    """At both ends of each measure."""
    own = saved(key)
    drawn = own.outline()
    radii = corner_radii_mm(drawn, 6.0)
    assert len(radii) == {"full_tang_angular_tip": 2, "hidden_tang_spear": 2}.get(key, 0)
    for each in own.parameters:
        for value in (each.low, each.high):
            outline = own.outline({each.key: value})
            assert [h.diameter_mm for h in outline.holes] == [h.diameter_mm for h in drawn.holes]
            found = corner_radii_mm(outline, math.inf)
            for radius in radii:
                assert min(abs(other / radius - 1) for other in found) < 0.02, (each.key, value)


def test_a_tang_s_round_end_stays_round() -> None:
    """The hunter's: one arc of half its width there, however long or wide the tang."""
    own = saved("hidden_tang_hunter")
    for each in own.parameters:
        for value in (each.low, each.high):
            outline = own.outline({each.key: value})
            butt = outline.bounds_mm[0]
            [end] = [s for s in outline.chain if isinstance(s, Arc) and s.start[0] < butt + 9]
            [[low, high]] = outline.sections_mm([end.centre[0]])
            assert 2 * end.radius_mm == pytest.approx(high - low, rel=0.01)
            assert end.centre[0] - end.radius_mm == pytest.approx(butt, abs=0.01)

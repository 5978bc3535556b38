"""Outlines saved as families and stretched: fair curves, true measures, roundings as they were."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from geometry.blade_measures import blade_measures
from geometry.family import family_from_text
from geometry.family.saving import family_of, family_text
from geometry.features import Hole, Mark, Station
from geometry.turn_overs import turn_overs
from tests.geometry.family.saved import FLAT, KEYS, grown, saved


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
    """The handle's where it is widest behind the 40 % over which it fades; a tang's all along."""
    own = saved(key)
    steps = {"kitchen_chef", "kitchen_utility", "hidden_tang_hunter", "hidden_tang_spear"}
    for share in (0.0, 0.04):
        asked = grown(own, "handle_width", share)
        outline = own.outline(asked)
        found = blade_measures(outline).handle_widest_mm
        if key not in steps:
            assert "more than" in next(p.help for p in own.parameters if p.key == "handle_width")
            butt = outline.bounds_mm[0]
            [front] = {
                x for mark in outline.marks if "front" in mark.kind for x, _ in mark.points_mm
            }
            x = np.linspace(butt, front - 0.4 * (front - butt), 2000)[1:]
            found = float(np.nanmax(np.diff(outline.sections_mm(x), axis=1)))
        assert found == pytest.approx(asked["handle_width"], abs=0.03)
    for share in (-0.05, 0.0, 0.05):
        asked = grown(own, "blade_width", share)
        edge = blade_measures(own.outline(asked)).edge
        assert edge is not None
        assert edge.widest_mm == pytest.approx(asked["blade_width"], abs=0.03)


def test_a_symmetric_shape_stays_in_line() -> None:
    """The spear point's handle and blade about one middle, however wide either is."""
    own = saved("full_tang_spear_point")
    for measure in ("blade_width", "handle_width"):
        for share in (-0.2, -0.1, 0.2):
            outline = own.outline(grown(own, measure, share))
            middles = outline.sections_mm([-100.0, -60.0, -30.0, 20.0, 60.0]).mean(axis=1)
            assert np.ptp(middles) < 0.02
            assert outline.station_named("tip")[1] == pytest.approx(middles[0], abs=0.02)


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

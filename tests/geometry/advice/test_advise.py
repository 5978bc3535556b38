"""Advice with answers that are sums: bars, rectangles, and discs."""

import json
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from geometry.advice import Advice, Measure, advise
from geometry.decision import Decision
from geometry.errors import Cancelled, InputError
from geometry.family import family_named
from geometry.site import Site


def rectangle(values: Mapping[str, float]) -> Polygon:
    return box(0.0, 0.0, values["length"], values["width"])


def measures(length: float = 100.0, width: float = 20.0) -> list[Measure]:
    return [
        Measure(key="length", value=length, low=60.0, high=140.0, step=0.5),
        Measure(key="width", value=width, low=10.0, high=30.0, step=0.1),
    ]


def asked(steel: Polygon, *, margin_mm: float = 1.0, **more: object) -> Advice:
    return advise(Site(steel), rectangle, measures(), margin_mm=margin_mm, **more)


def told(advice: Advice) -> list[dict[str, float]]:
    return [dict(way.values) for way in advice.ways]


def test_in_a_narrow_bar_the_width_gives_to_what_the_margin_leaves() -> None:
    # 18.75 - 2 x 1 = 16.75 across; the bar is longer than any length.
    advice = asked(box(0, 0, 300, 18.75))
    assert advice.answer == "does not fit"
    first = advice.ways[0]
    assert dict(first.values) == {"width": 16.7}
    assert first.clearance.value_mm == pytest.approx((18.75 - 16.7) / 2, abs=1e-3)
    assert dict(first.beside) == {"width": 16.8}
    assert first.share == pytest.approx(3.3 / 20)
    placed = first.pose.shape(rectangle({"length": 100.0, "width": 16.7}))
    assert shapely.box(0, 0, 300, 18.75).contains(placed)
    # alone, the length gives nothing: least width of 60 x 20 is 20 still
    assert told(advice) == [{"width": 16.7}]
    assert advice.complete


def test_the_next_value_is_proven_not_to_fit_where_it_misses_by_enough() -> None:
    # With steps of 0.5 mm: 16.5 fits in 18.75, and at 17 it misses by 0.125 a side.
    coarse = [Measure(key="width", value=20.0, low=10.0, high=30.0, step=0.5)]
    advice = advise(
        Site(box(0, 0, 300, 18.75)),
        lambda values: box(0, 0, 100, values["width"]),
        coarse,
        margin_mm=1.0,
    )
    [way] = advice.ways
    assert (way.values, way.beside) == ((("width", 16.5),), (("width", 17.0),))
    assert way.beside_answer == "does not fit"


def test_what_just_touches_the_margin_is_never_said_not_to_fit() -> None:
    # 18.75 leaves 16.75 to the last bit; more does not fit, however little.
    fine = [Measure(key="width", value=16.7512, low=16.0, high=30.0, step=0.001)]
    advice = advise(
        Site(box(0, 0, 300, 18.75)),
        lambda values: box(0, 0, 100, values["width"]),
        fine,
        margin_mm=1.0,
    )
    [way] = advice.ways
    assert 16.748 < dict(way.values)["width"] <= 16.75
    assert way.beside_answer != "does not fit" or dict(way.beside)["width"] > 16.75


def test_an_undecided_neighbour_is_told_as_too_close(monkeypatch: pytest.MonkeyPatch) -> None:
    def undecided(*_args: object, **_more: object) -> Decision:
        return Decision(answer="too close to call", best=None)

    monkeypatch.setattr("geometry.advice.trials.fits", undecided)
    [way] = asked(box(0, 0, 300, 18.75)).ways
    assert (way.values, way.beside) == ((("width", 16.7),), (("width", 16.8),))
    assert way.beside_answer == "too close to call"


def test_a_short_piece_with_square_ends_takes_from_the_length() -> None:
    # 95.2 - 2 x 1 = 93.2 along; the width may stay 20 in 22.4.
    advice = asked(box(0, 0, 95.2, 22.4))
    first = advice.ways[0]
    assert dict(first.values) == {"length": 93.0}
    assert dict(first.beside) == {"length": 93.5}
    assert first.beside_answer == "does not fit"  # by 0.15 at either end


def test_two_measures_together_where_neither_is_enough_alone() -> None:
    # At most 88.3 along and 16.15 across, so that it lies in 90.3 x 18.15 with 1 all round.
    advice = asked(box(0, 0, 90.3, 18.15))
    assert told(advice)
    for way in advice.ways:
        values = dict(way.values)
        assert values.keys() == {"length", "width"}
        assert values["length"] <= 88.3
        assert values["width"] <= 16.15
        assert way.clearance.value_mm >= 1.0
        before = dict(way.beside)
        assert before["length"] > 88.3 or before["width"] > 16.15
    assert advice.ways[0].beside_answer in ("does not fit", "too close to call")


def test_a_pair_is_told_where_it_changes_less_than_one_of_them_alone() -> None:
    # 108.35 holds 106.35 of the two lengths with 1 at either end: 3.65 less than 50 + 60.
    lengths = [
        Measure(key="blade", value=50.0, low=20.0, high=80.0, step=0.1),
        Measure(key="handle", value=60.0, low=20.0, high=100.0, step=0.1),
    ]
    advice = advise(
        Site(box(0, 0, 108.35, 30)),
        lambda values: box(0, 0, values["blade"] + values["handle"], 20),
        lengths,
        margin_mm=1.0,
    )
    # Alone 3.7 of one, in steps of 0.1; together 1.9 of each, since 1.8 leaves 106.4.
    assert told(advice) == [
        {"handle": 56.3},
        {"blade": 48.1, "handle": 58.1},
        {"blade": 46.3},
    ]
    assert dict(advice.ways[1].beside) == {"blade": 48.2, "handle": 58.2}
    assert [way.share for way in advice.ways] == pytest.approx(
        [3.7 / 80, 1.9 / 60 + 1.9 / 80, 3.7 / 60]
    )


def test_locked_measures_stay() -> None:
    advice = asked(box(0, 0, 300, 18.75), locked=("width",))
    assert advice.ways == ()
    assert all(short.key != "width" for short in advice.short)
    free = asked(box(0, 0, 90.3, 22.4), locked=("width",))
    assert told(free) == [{"length": 88.0}]


def test_where_nothing_helps_the_piece_is_told() -> None:
    # No range lets it be less than 60 x 10.
    steel = box(0, 0, 8, 50)
    advice = asked(steel)
    assert advice.ways == ()
    assert advice.piece is not None
    # 100 x 20 with 1 all round
    assert advice.piece.bar_mm == pytest.approx((102.0, 22.0))
    assert advice.piece.grow_mm == pytest.approx(1.0 - advice.present.clearance.value_mm)
    larger = steel.buffer(advice.piece.grow_mm, quad_segs=256)
    blank = advice.present.pose.shape(rectangle({"length": 100.0, "width": 20.0}))
    assert Site(larger).region.clearance(blank).value_mm >= 1.0 - 1e-3


def test_what_fits_need_not_give() -> None:
    advice = asked(box(0, 0, 300, 40))
    assert advice.answer == "fits"
    assert (advice.ways, advice.short, advice.piece) == ((), (), None)
    assert advice.present.clearance.value_mm >= 1.0


def test_values_that_cannot_be_drawn_are_passed_over() -> None:
    def refusing(values: Mapping[str, float]) -> Polygon:
        if 14.0 < values["width"] < 19.0 or values["width"] < 12.0:
            raise InputError("such a width does not go.")
        return rectangle(values)

    # 18.75 leaves 16.75, but from 14 to 19 there is none.
    advice = advise(Site(box(0, 0, 300, 18.75)), refusing, measures(), margin_mm=1.0)
    [way] = advice.ways
    assert dict(way.values) == {"width": 14.0}
    assert way.beside_answer == "cannot be drawn"
    # 12.5 leaves 10.5: below 12 there is none either
    assert advise(Site(box(0, 0, 300, 12.5)), refusing, measures(), margin_mm=1.0).ways == ()


def test_a_present_value_between_steps_and_at_the_end_of_its_range() -> None:
    at_end = [Measure(key="width", value=10.04, low=10.0, high=30.0, step=0.1)]
    advice = advise(
        Site(box(0, 0, 300, 12.02)),
        lambda values: box(0, 0, 100, values["width"]),
        at_end,
        margin_mm=1.0,
    )
    [way] = advice.ways
    assert (way.values, way.beside) == ((("width", 10.0),), (("width", 10.04),))


def test_one_more_may_be_what_helps() -> None:
    # A block with a bite lies round a post when the bite grows: more of a measure, not less.
    def bitten(values: Mapping[str, float]) -> Polygon:
        bite = values["bite"]
        return box(0, 0, 60, 30).difference(box(30 - bite / 2, 10, 30 + bite / 2, 31))

    post = box(0, 0, 64, 34).difference(box(28, 14, 36, 35))
    growing = [Measure(key="bite", value=6.0, low=2.0, high=30.0, step=0.5)]
    # The post is 8 wide: with 1 on either side 10, to be met by the middle of the bite.
    advice = advise(Site(post), bitten, growing, margin_mm=1.0, mirror=False)
    assert told(advice)[0]["bite"] == pytest.approx(10.0, abs=0.5)
    assert told(advice)[0]["bite"] >= 10.0


def test_a_family_in_a_bar_that_is_narrower_by_a_known_amount() -> None:
    family = family_named("full_tang_spear_point")

    def outline_at(values: Mapping[str, float]) -> Polygon:
        return family.outline(values).polygon(0.02)

    of_family = [
        Measure(key=each.key, value=each.default, low=each.low, high=each.high, step=0.1)
        for each in family.parameters
        if each.unit == "mm"
    ]
    outline = outline_at({})
    bar = box(0, 0, 400, width_of(outline) + 2.0 - 1.0)  # 1 mm too narrow for the margin
    advice = advise(Site(bar), outline_at, of_family, margin_mm=1.0)
    assert advice.answer == "does not fit"
    assert advice.present.clearance.value_mm == pytest.approx(0.5, abs=0.01)
    assert advice.ways
    present = {each.key: each.value for each in of_family}
    for way in advice.ways:
        changed = outline_at({**present, **dict(way.values)})
        assert width_of(changed) <= width_of(outline) - 1.0 + 1e-3
        placed = way.pose.shape(changed)
        assert Site(bar).region.clearance(placed).value_mm == way.clearance.value_mm >= 1.0
        if way.beside_answer == "does not fit":
            before = outline_at({**present, **dict(way.beside)})
            assert width_of(before) > width_of(outline) - 1.0 - 1e-3


def width_of(outline: Polygon) -> float:
    """Return the least width, by the second method: turning by hundredths of a degree."""
    hull = shapely.get_coordinates(shapely.convex_hull(outline).exterior)
    turns = np.radians(np.arange(0.0, 180.0, 0.01))
    across = np.column_stack([np.cos(turns), np.sin(turns)])
    return float(np.ptp(hull @ across.T, axis=0).min())


def test_it_stops_when_told() -> None:
    asked_for = 0

    def stop() -> bool:
        nonlocal asked_for
        asked_for += 1
        return asked_for > 20

    with pytest.raises(Cancelled):
        asked(box(0, 0, 90, 18), stop=stop)


def test_without_time_or_decisions_it_says_that_it_is_not_complete() -> None:
    bar = box(0, 0, 300, 18.75)
    hasty = asked(bar, most_decisions=0)
    assert not hasty.complete
    assert [way.beside_answer for way in hasty.ways] == ["not looked at"]
    assert dict(hasty.ways[0].values) == {"width": 16.7}
    late = asked(bar, seconds=0.0)
    assert not late.complete
    assert late.ways == ()


def test_progress_only_grows() -> None:
    shares: list[float] = []
    asked(box(0, 0, 90, 18), progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0


def test_a_negative_margin_is_refused() -> None:
    with pytest.raises(InputError, match="margin"):
        asked(box(0, 0, 90, 18), margin_mm=-1.0)


def test_on_a_leftover_every_way_fits_as_plain_geometry_says(shared: Path) -> None:
    given = json.loads((shared / "fits" / "f22_ell_leftover.json").read_text(encoding="utf-8"))
    steel = Polygon(given["region"]["outer"], given["region"]["holes"])
    family = family_named("full_tang_drop_point")

    def outline_at(values: Mapping[str, float]) -> Polygon:
        return family.outline(values).polygon(0.02)

    lengths = [
        Measure(key=each.key, value=each.default, low=each.low, high=each.high, step=0.1)
        for each in family.parameters
        if each.key in ("blade_length", "handle_length")
    ]
    advice = advise(Site(steel), outline_at, lengths, margin_mm=1.0)
    assert advice.complete
    assert {tuple(dict(way.values)) for way in advice.ways} == {
        ("blade_length",),
        ("handle_length",),
        ("blade_length", "handle_length"),
    }
    for way in advice.ways:
        blank = way.pose.shape(outline_at(dict(way.values)))
        assert steel.contains(blank)
        assert shapely.distance(blank.exterior, steel.boundary) >= 1.0

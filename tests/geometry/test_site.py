"""Searches over all parts of the steel, their bounds, and how they end."""

import math
from collections.abc import Callable

import pytest
import shapely
from shapely import MultiPolygon, Polygon, box

from geometry.errors import Cancelled, InputError
from geometry.pose import Pose
from geometry.report import Report
from geometry.site import GAP_MM, Site, Target
from tests.geometry.shapes import knife, moved, regular, wavy

PARTS = MultiPolygon([box(0, 0, 200, 40), box(0, 41, 200, 91), box(0, 100, 60, 160)])
BLANK = box(0, 0, 150, 26)


def report() -> Report:
    return Report(None, None)


def test_the_bound_is_that_of_the_roomiest_part() -> None:
    # Least width: (50 - 26) / 2 = 12 mm in the second part, 7 in the first; the third is too short.
    for parts in (PARTS, MultiPolygon(list(PARTS.geoms)[::-1])):
        found = Site(parts).search(Target(BLANK), report(), mirror=True)
        assert found.closed
        assert found.best is not None
        assert found.best.value_mm == pytest.approx(12.0, abs=1e-3)
        assert 12.0 - 1e-6 <= found.bound_mm <= 12.0 + GAP_MM + 1e-3
        assert found.boxes > 0


def test_a_site_is_asked_again_and_answers_the_same() -> None:
    site = Site(wavy(250, 70, 100, 11, 0.03))
    answers = [site.search(Target(knife()), report(), mirror=False) for _ in range(2)]
    assert answers[0] == answers[1]
    small = site.search(Target(knife()), report(), mirror=False, scales=(0.5, 0.5))
    assert small.best is not None
    assert answers[0].best is not None
    assert small.best.pose.scale == 0.5
    assert small.best.value_mm > answers[0].best.value_mm


@pytest.mark.parametrize(("enough_mm", "fits"), [(11.9, True), (12.05, False), (0.0, True)])
def test_enough_room_in_any_part(enough_mm: float, fits: bool) -> None:
    found = Site(PARTS).search(Target(BLANK), report(), mirror=False, enough_mm=enough_mm)
    assert found.closed
    assert (found.best is not None and found.best.value_mm >= enough_mm) == fits
    if not fits:
        assert found.bound_mm < enough_mm


def test_a_pose_known_already_is_kept_or_bettered() -> None:
    start = Pose(x_mm=25, y_mm=52.5)  # 11.5 mm of room, the best has 12
    found = Site(PARTS).search(Target(BLANK), report(), mirror=False, start=start, seconds=-1.0)
    assert found.best is not None
    assert found.best.value_mm >= 11.5
    assert found.bound_mm >= 12.0 - 1e-6
    assert not found.closed


@pytest.mark.parametrize("seconds", [-1.0, 0.0, 0.02])
def test_out_of_time_the_bound_is_still_one(seconds: float) -> None:
    outline, steel = moved(knife(), 9, 9, 9), moved(knife(), 70, -40, 125).buffer(1.5)
    found = Site(steel).search(Target(outline), report(), mirror=True, seconds=seconds)
    assert found.best is not None
    assert found.bound_mm >= 1.499  # it was cut from there, and grown by arcs of 8 chords
    assert found.bound_mm >= found.best.value_mm


def stop_after(calls: int) -> Callable[[], bool]:
    """Return a question that is answered by yes from some call on."""
    asked = iter(range(10_000_000))
    return lambda: next(asked) >= calls


def test_stopped_at_any_time_it_gives_a_bound_or_says_that_it_was_stopped() -> None:
    """Stopped while it proves, it has a pose and a bound; before there is any pose, neither."""
    steel = wavy(250, 80, 100, 11, 0.03).difference(moved(regular(24, 4), 20, 4, 0))
    whole = Site(steel).search(Target(knife()), report(), mirror=True)
    assert whole.best is not None
    kept = 0
    for calls in range(12):
        try:
            found = Site(steel).search(
                Target(knife()), Report(None, stop_after(calls)), mirror=True
            )
        except Cancelled:
            continue
        kept += 1
        assert found.best is not None
        assert found.bound_mm >= whole.best.value_mm
    assert kept > 0
    with pytest.raises(Cancelled):
        Site(steel).search(Target(knife()), Report(None, lambda: True), mirror=True)


def calls_until_kept(steel: MultiPolygon) -> int:
    """Return after how many calls a stop no longer loses the poses found."""
    for calls in range(60):
        try:
            Site(steel).search(Target(BLANK), Report(None, stop_after(calls)), mirror=True)
        except Cancelled:
            continue
        return calls
    raise AssertionError("stopped, it never kept anything")


def test_stopped_in_a_later_part_it_keeps_the_poses_of_the_first() -> None:
    alone = calls_until_kept(MultiPolygon([PARTS.geoms[0]]))
    assert calls_until_kept(PARTS) <= alone


def test_the_share_done_only_grows() -> None:
    shares: list[float] = []
    Site(PARTS).search(Target(BLANK), Report(shares.append, None), mirror=True)
    assert shares == sorted(shares)
    assert 0.0 <= shares[0] <= shares[-1] <= 1.0


def test_what_is_no_clean_area_is_refused() -> None:
    bow = Polygon([(0, 0), (10, 10), (10, 0), (0, 10)])
    with pytest.raises(InputError, match="outline"):
        Target(bow)
    with pytest.raises(InputError, match="steel"):
        Site(bow)


def test_a_small_outline_has_finer_discs() -> None:
    assert Target(box(0, 0, 1, 2)).slack_mm < Target(box(0, 0, 100, 200)).slack_mm
    for size_mm in (0.5, 5.0, 500.0):
        target = Target(box(0, 0, size_mm, size_mm))
        depth = shapely.distance(
            target.outline.exterior,
            shapely.points(target.discs.places_mm + target.discs.centre_mm),
        )
        assert (target.discs.radii_mm <= depth + 1e-9 * size_mm).all()


def test_no_bound_is_given_where_a_pose_with_enough_ends_the_search() -> None:
    found = Site(PARTS).search(Target(BLANK), report(), mirror=True, enough_mm=1.0)
    assert found.bound_mm == math.inf

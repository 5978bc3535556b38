"""Closed proofs against thousands of poses that never saw them."""

import math
import time

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from geometry.clearance import UsableRegion
from geometry.contacts import Fitting
from geometry.disc_gaps import DiscGaps, OutlineDiscs
from geometry.errors import Cancelled
from geometry.local_fit import roomier
from geometry.no_steel import NoSteel
from geometry.pose import Pose
from geometry.pose_proof import Best, PoseSearch
from tests.geometry.poses import random_pose
from tests.geometry.rough_shapes import KINDS, rough_shape
from tests.geometry.shapes import knife, moved, regular, wavy

UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # a search takes a while
GAP_MM = 0.06
WAVY = wavy(230, 66, 90, 13, 0.03).difference(moved(regular(16, 3), 40, 6, 0))


def searcher(
    outline: Polygon,
    steel: Polygon,
    *,
    climbs: bool = True,
    mirror: bool = True,
    enough_mm: float | None = None,
    scales: tuple[float, float] = (1.0, 1.0),
) -> PoseSearch:
    """Return a search whose poses are measured exactly, and bettered only if asked for."""
    region = UsableRegion(steel)
    fitting = Fitting(outline, steel, cell_mm=2.0, scale=scales[1])

    def measure(pose: Pose) -> Best:
        end = roomier(fitting, pose)[0] if climbs else pose
        return max(
            (
                Best(pose=one, value_mm=region.clearance(one.shape(outline)).value_mm)
                for one in (pose, end)
            ),
            key=lambda one: one.value_mm,
        )

    gaps = DiscGaps(OutlineDiscs(outline, slack_mm=0.01), NoSteel(steel, slack_mm=0.015))
    return PoseSearch(
        gaps, measure, mirror=mirror, scales=scales, gap_mm=GAP_MM, enough_mm=enough_mm
    )


def silent(share: float) -> None:
    """Take note of no progress."""


def climbed_mm(outline: Polygon, steel: Polygon, *, count: int, seed: int) -> float:
    """Return the best of many random poses, the first of them climbed from."""
    random = np.random.default_rng(seed)
    region, fitting = UsableRegion(steel), Fitting(outline, steel, cell_mm=2.0)
    poses = [random_pose(random, steel, outline) for _ in range(count)]
    poses += [roomier(fitting, pose)[0] for pose in poses[: count // 10]]
    return max(region.clearance(pose.shape(outline)).value_mm for pose in poses)


@given(seed=st.integers(0, 10_000), steel=st.sampled_from(KINDS), size_mm=st.floats(15, 60))
@settings(max_examples=3, phases=UNSHRUNK)
def test_no_pose_beats_a_bound(seed: int, steel: str, size_mm: float) -> None:
    outline, piece = rough_shape("star", seed, size_mm), rough_shape(steel, seed + 1)
    search = searcher(outline, piece)
    search.start(None, silent)
    proof = search.prove(time.monotonic() + 0.3, silent)
    assert proof.best is not None
    assert proof.best.value_mm <= proof.bound_mm
    if proof.closed:
        assert proof.bound_mm <= proof.best.value_mm + GAP_MM + 1e-9
    assert climbed_mm(outline, piece, count=150, seed=seed) <= proof.bound_mm + 1e-3


def test_a_bound_holds_whatever_the_climbs_missed() -> None:
    """A search that measures badly placed poses only still knows that better ones may exist."""
    outline = knife()
    search = searcher(outline, WAVY, climbs=False)
    bad = Best(pose=Pose(x_mm=60.0), value_mm=-30.0)
    search.best = bad
    # Never started: the boxes are asked nothing but whether a pose beats this one.
    good = searcher(outline, WAVY)
    good.start(None, silent)
    assert good.best is not None
    search.start(bad, silent)
    search.best = bad
    proof = search.prove(time.monotonic() + 0.05, silent)
    assert proof.bound_mm >= good.best.value_mm


@pytest.mark.parametrize("seconds", [-1.0, 0.03, 0.2, 20.0])
def test_the_bound_at_any_deadline_is_one_and_only_sinks(seconds: float) -> None:
    outline = moved(knife(), 12, 4, 30)
    search = searcher(outline, WAVY)
    search.start(None, silent)
    assert search.best is not None
    start = time.monotonic()
    proof = search.prove(start + seconds, silent)
    assert proof.bound_mm >= search.best.value_mm
    assert proof.best is not None
    assert proof.closed == (proof.bound_mm <= proof.best.value_mm + GAP_MM)
    if seconds > 10.0:
        assert proof.closed
    if seconds < 0.0:
        assert not proof.closed


def test_stopped_it_keeps_what_it_has() -> None:
    search = searcher(knife(), WAVY)
    search.start(None, silent)

    def stop(share: float) -> None:
        raise Cancelled

    proof = search.prove(time.monotonic() + 10.0, stop)
    assert not proof.closed
    assert proof.best == search.best
    assert proof.best is not None
    assert math.isfinite(proof.bound_mm)
    assert proof.bound_mm >= proof.best.value_mm


@pytest.mark.parametrize(("enough_mm", "fits"), [(6.9, True), (7.1, False), (0.0, True)])
def test_whether_any_pose_has_enough(enough_mm: float, fits: bool) -> None:
    # Least width: (40 - 26) / 2 = 7 mm at best.
    search = searcher(box(0, 0, 150, 26), box(0, 0, 200, 40), enough_mm=enough_mm)
    search.start(None, silent)
    proof = search.prove(time.monotonic() + 10.0, silent)
    assert proof.closed
    assert search.found_enough() == fits
    if fits:
        assert proof.best is not None
        assert proof.best.value_mm >= enough_mm
    else:
        assert proof.bound_mm < enough_mm


def test_no_pose_of_any_scale_between_two_beats_a_bound() -> None:
    outline, steel = box(0, 0, 40, 10), box(0, 0, 60, 30)
    search = searcher(outline, steel, scales=(0.8, 2.0))
    search.start(None, silent)
    proof = search.prove(time.monotonic() + 10.0, silent)
    # The smallest has most room: (30 - 8) / 2 mm.
    assert proof.closed
    assert proof.best is not None
    assert proof.best.value_mm == pytest.approx(11.0, abs=GAP_MM)
    assert proof.bound_mm >= 11.0 - 1e-6


def test_the_same_search_gives_the_same_proof() -> None:
    proofs = []
    for _ in range(2):
        search = searcher(knife(), WAVY)
        search.start(None, silent)
        proofs.append(search.prove(time.monotonic() + 20.0, silent))
    assert proofs[0] == proofs[1]

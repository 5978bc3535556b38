"""What holds of the roomiest pose whatever the shapes, and that every search ends."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box

from geometry.clearance import UsableRegion
from geometry.placement import PROVEN_GAP_MM, Placement, roomiest
from geometry.pose import Pose
from tests.geometry.poses import random_pose
from tests.geometry.shapes import moved, regular, wavy

UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # a search takes a while
BAR = box(0, 0, 200, 40)
ELL = Polygon([(0, 0), (160, 0), (160, 60), (70, 60), (70, 150), (0, 150)])
NECKED = shapely.union_all([box(0, 0, 90, 60), box(80, 25, 140, 35), box(130, 0, 220, 60)])
DRILLED = wavy(230, 80, 60, 7, 0.03).difference(moved(regular(12, 4), 45, 8, 0))
STEELS = {"bar": BAR, "ell": ELL, "necked": NECKED, "drilled": DRILLED}
BLANK = Polygon([(0, 0), (60, -4), (78, 6), (60, 17), (0, 14)])  # a shape without symmetry


def is_sound(found: Placement, outline: Polygon, steel: Polygon | MultiPolygon) -> None:
    """Check that a claim is exact, and its bound one that is reached if it says so."""
    exact = UsableRegion(steel).clearance(found.pose.shape(outline))
    assert found.clearance == exact
    assert exact.value_mm <= found.upper_bound_mm
    if found.proven:
        assert found.upper_bound_mm - exact.value_mm <= PROVEN_GAP_MM


def same(one: Placement, other: Placement) -> None:
    """Check that two proofs of the same question can both be right."""
    assert one.proven
    assert other.proven
    assert one.clearance.value_mm <= other.upper_bound_mm
    assert other.clearance.value_mm <= one.upper_bound_mm


@given(
    steel=st.sampled_from(sorted(STEELS)),
    x_mm=st.floats(-900, 900),
    y_mm=st.floats(-900, 900),
    angle_deg=st.floats(-180, 180),
)
@settings(max_examples=4, phases=UNSHRUNK)
def test_moving_the_billet_changes_nothing(
    steel: str, x_mm: float, y_mm: float, angle_deg: float
) -> None:
    carried = moved(STEELS[steel], x_mm, y_mm, angle_deg)
    still, there = roomiest(BLANK, STEELS[steel]), roomiest(BLANK, carried)
    is_sound(there, BLANK, carried)
    same(still, there)


@given(x_mm=st.floats(-300, 300), y_mm=st.floats(-300, 300), angle_deg=st.floats(-180, 180))
@settings(max_examples=3, phases=UNSHRUNK)
def test_where_the_outline_is_drawn_changes_nothing(
    x_mm: float, y_mm: float, angle_deg: float
) -> None:
    same(roomiest(BLANK, ELL), roomiest(moved(BLANK, x_mm, y_mm, angle_deg), ELL))


@given(steel=st.sampled_from(["ell", "necked"]), d_mm=st.floats(0.1, 8))
@settings(max_examples=3, phases=UNSHRUNK)
def test_dilating_the_billet_adds_as_much(steel: str, d_mm: float) -> None:
    """Every pose gains d; the drawn arcs of 32 chords a quarter lie within the true ones."""
    found, grown = (
        roomiest(BLANK, STEELS[steel], seconds=2.0),
        STEELS[steel].buffer(d_mm, quad_segs=32),
    )
    chords_mm = d_mm * (1.0 - math.cos(math.pi / 128))
    after = roomiest(BLANK, grown, seconds=2.0)
    is_sound(after, BLANK, grown)
    assert after.upper_bound_mm >= found.clearance.value_mm + d_mm - chords_mm
    assert after.clearance.value_mm >= found.clearance.value_mm + d_mm - PROVEN_GAP_MM


@given(seed=st.integers(0, 10_000), room_mm=st.sampled_from([0.0, 0.3, 2.0]))
@settings(max_examples=5, phases=UNSHRUNK)
def test_a_blank_cut_from_the_billet_always_fits(seed: int, room_mm: float) -> None:
    """The billet holds the blank in a pose nobody names, grown by some room, and more steel."""
    random = np.random.default_rng(seed)
    pose = random_pose(random, box(-100, -100, 100, 100), BLANK)
    held = pose.shape(BLANK)
    held = held.buffer(room_mm, quad_segs=32) if room_mm else held
    x_mm, y_mm = held.centroid.coords[0]
    steel = shapely.union_all([held, moved(box(0, 0, 70, 9), x_mm, y_mm, 40 * seed)])
    found = roomiest(BLANK, steel)
    is_sound(found, BLANK, steel)
    least_mm = room_mm * math.cos(math.pi / 128)
    assert found.upper_bound_mm >= least_mm - 1e-9
    assert found.clearance.value_mm >= least_mm - 0.02


@given(seed=st.integers(0, 10_000), steel=st.sampled_from(sorted(STEELS)))
@settings(max_examples=5, phases=UNSHRUNK)
def test_no_pose_beats_the_bound(seed: int, steel: str) -> None:
    random, region = np.random.default_rng(seed), UsableRegion(STEELS[steel])
    size = float(random.uniform(0.5, 1.4))
    outline = shapely.transform(BLANK, lambda points: points * size)
    found = roomiest(outline, STEELS[steel], seconds=1.0)
    is_sound(found, outline, STEELS[steel])
    poses = [random_pose(random, STEELS[steel], outline) for _ in range(150)]
    best_mm = max(region.clearance(pose.shape(outline)).value_mm for pose in poses)
    assert best_mm <= found.upper_bound_mm + 1e-3


def test_mirrored_ties_end() -> None:
    """A blank with an axis in a bar with two: four poses and their slides, all as good."""
    kite = Polygon([(0, 0), (60, -10), (100, 0), (60, 10)])
    found = roomiest(kite, BAR)
    is_sound(found, kite, BAR)
    assert found.proven
    assert not found.pose.mirrored


def test_a_blank_that_turns_freely_ends() -> None:
    steel, disc = regular(180, 50), regular(120, 20)
    found = roomiest(disc, steel)
    is_sound(found, disc, steel)
    assert found.proven
    # The circle in the one less that round the other, to what the corners of both leave open.
    assert found.clearance.value_mm == pytest.approx(50 * math.cos(math.pi / 180) - 20, abs=0.03)


def test_a_neck_too_narrow_to_pass_is_no_matter() -> None:
    """10 mm of neck, 21 mm of blank: each end is searched, and is as roomy as if alone."""
    found, alone = roomiest(BLANK, NECKED), roomiest(BLANK, box(0, 0, 90, 60), seconds=2.0)
    assert found.proven
    assert found.clearance.value_mm >= alone.clearance.value_mm - PROVEN_GAP_MM


def test_a_sheet_of_holes_leaves_one_place() -> None:
    """Holes on a grid of 40 mm, but for one: there the square of 20 mm has room to the next."""
    holes = [
        moved(regular(8, 10, 22.5), 40 * i, 40 * j, 0)
        for i in range(-2, 3)
        for j in range(-2, 3)
        if (i, j) != (1, 0)
    ]
    sheet = box(-100, -100, 100, 100).difference(shapely.union_all(holes))
    square = moved(box(-10, -10, 10, 10), 5, 5, 12)
    found = roomiest(square, sheet)
    is_sound(found, square, sheet)
    assert found.proven
    assert found.pose.shape(square).centroid.distance(shapely.Point(40, 0)) < 1.0


def test_a_hole_cannot_be_covered() -> None:
    """A hole of 3 mm in the middle of a square: covered it sticks out 3, beside it little less."""
    plate = box(-30, -30, 30, 30).difference(regular(64, 3))
    found = roomiest(box(0, 0, 58, 58), plate)
    assert found.clearance.value_mm < 0.0
    assert found.upper_bound_mm < 0.0


@pytest.mark.parametrize("size_mm", [1.0, 1000.0])
def test_small_and_large_pieces_end_alike(size_mm: float) -> None:
    grow = size_mm / 200.0
    outline = shapely.transform(BLANK, lambda points: points * grow)
    steel = shapely.transform(ELL, lambda points: points * grow)
    found = roomiest(outline, steel)
    is_sound(found, outline, steel)
    assert found.proven


def test_a_margin_of_nothing_touches_and_ends() -> None:
    """The billet is the blank itself: it fits by touching all round, and not by more."""
    steel = moved(BLANK, 31, -17, 77)
    found = roomiest(BLANK, steel)
    is_sound(found, BLANK, steel)
    assert found.clearance.value_mm == pytest.approx(0.0, abs=2e-3)
    assert -1e-9 <= found.upper_bound_mm <= PROVEN_GAP_MM
    over = Pose(x_mm=31, y_mm=-17, theta_rad=math.radians(77)).shape(BLANK)
    assert UsableRegion(steel).clearance(over).value_mm == pytest.approx(0.0, abs=1e-3)


def test_repeated_and_straight_points_change_nothing() -> None:
    corners = shapely.get_coordinates(ELL)[:-1]
    middles = (corners + np.roll(corners, -1, axis=0)) / 2.0
    doubled = Polygon(np.stack([corners, corners, middles, middles], axis=1).reshape(-1, 2))
    same(roomiest(BLANK, ELL), roomiest(BLANK, doubled))


def test_proven_means_that_the_pose_given_reaches_the_bound() -> None:
    """Where nothing fits, a hole is rather left than covered: by less room, and so said."""
    steel = box(0, 0, 100, 40).difference(box(20, 19, 80, 21))
    outline = box(0, 0, 96, 36)
    is_sound(roomiest(outline, steel), outline, steel)

"""Bounds over boxes of poses, against the exact clearance of poses in them."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from geometry.box_program import box_bounds
from geometry.clearance import UsableRegion
from geometry.disc_gaps import DiscGaps, OutlineDiscs, Rows
from geometry.no_steel import NoSteel
from geometry.pose_boxes import PoseBoxes
from geometry.segments import Floats
from tests.geometry.poses import exact_mm, places_in_boxes, pose_at, random_boxes
from tests.geometry.rough_shapes import KINDS, rough_shape
from tests.geometry.shapes import knife, moved, regular, wavy

DRILLED = wavy(220, 80, 90, 9, 0.05).difference(moved(regular(16, 6), 30, 5, 0))
ROUNDING_MM = 1e-9


def gaps_of(outline: Polygon, steel: Polygon) -> DiscGaps:
    return DiscGaps(OutlineDiscs(outline, slack_mm=0.02), NoSteel(steel, slack_mm=0.03))


def bounds_at(rows: Rows, at: Floats) -> Floats:
    """Return (B,) what the rows' linear forms leave at a point of each box."""
    linear = rows.values + rows.slopes @ at
    return np.maximum(linear, rows.floor).min(axis=1)


def program_bounds(rows: Rows, most: int) -> Floats:
    """Return (B,) what the rows together leave in each box."""
    found = box_bounds(rows.values, rows.slopes, enough=-np.inf, most=most)
    return np.maximum(found.greatest, rows.floor.max(axis=1))


def check_boxes(
    gaps: DiscGaps, outline: Polygon, boxes: PoseBoxes, random: np.random.Generator
) -> None:
    """Compare every bound of boxes with poses in them."""
    region = UsableRegion(gaps.no_steel.steel)
    every = np.arange(len(gaps.discs.radii_mm))
    some = random.integers(0, len(every), (len(boxes.face), 5))
    lots = [gaps.rows(boxes, every), gaps.rows(boxes, some, sharp=True), gaps.telling(boxes)]
    for at in places_in_boxes(random, 5):
        poses = [
            pose_at(middle + at * half, face, gaps.discs.centre_mm)
            for middle, half, face in zip(*boxes, strict=True)
        ]
        exact = np.array([exact_mm(region, outline, pose) for pose in poses])
        for rows in lots:
            assert (rows.most.min(axis=1) >= exact - ROUNDING_MM).all()
            assert (bounds_at(rows, at) >= exact - ROUNDING_MM).all()
            for most in (0, 2, 12):
                assert (program_bounds(rows, most) >= exact - ROUNDING_MM).all()
            if not at.any():
                assert (rows.middle.min(axis=1) >= exact - ROUNDING_MM).all()


@given(seed=st.integers(0, 100_000), scales=st.sampled_from([(1.0, 1.0), (0.4, 1.3)]))
@settings(max_examples=6)
def test_no_pose_of_a_box_has_more_than_its_bounds(seed: int, scales: tuple[float, float]) -> None:
    random = np.random.default_rng(seed)
    outline = moved(knife(), 40, -25, 20)
    gaps = gaps_of(outline, DRILLED)
    check_boxes(gaps, outline, random_boxes(random, DRILLED, 100, 12, scales=scales), random)


@given(seed=st.integers(0, 100_000), outline=st.sampled_from(KINDS), steel=st.sampled_from(KINDS))
@settings(max_examples=12)
def test_so_for_shapes_of_every_kind(seed: int, outline: str, steel: str) -> None:
    random = np.random.default_rng(seed)
    small = rough_shape(outline, seed, float(random.choice([1.0, 20.0, 80.0])))
    gaps = gaps_of(small, rough_shape(steel, seed + 1))
    boxes = random_boxes(random, gaps.no_steel.steel, gaps.discs.rim_mm, 10, scales=(0.7, 1.4))
    check_boxes(gaps, small, boxes, random)


@given(seed=st.integers(0, 100_000))
@settings(max_examples=5)
def test_so_near_the_best_pose_where_bounds_are_sharp(seed: int) -> None:
    """The outline was cut from the steel: about its place a bound lies close to the clearance."""
    random = np.random.default_rng(seed)
    outline = moved(knife(), 3, 8, 65)
    gaps = gaps_of(outline, outline.buffer(1.5))
    count = 30
    middle = np.tile([*gaps.discs.centre_mm, 0.0, 1.0], (count, 1))
    half = np.array([1.0, 1.0, 0.01, 0.01]) * 10.0 ** random.uniform(-3, 0.5, (count, 1))
    middle += half * random.uniform(-1, 1, (count, 4))
    boxes = PoseBoxes(middle, half, np.ones(count))
    check_boxes(gaps, outline, boxes, random)
    tight = PoseBoxes(middle, half * 1e-4, np.ones(count))
    region = UsableRegion(gaps.no_steel.steel)
    every = np.arange(len(gaps.discs.radii_mm))
    bounds = gaps.rows(tight, every, sharp=True).most.min(axis=1)
    for bound, numbers in zip(bounds, middle, strict=True):
        exact = exact_mm(region, outline, pose_at(numbers, 1.0, gaps.discs.centre_mm))
        if exact >= 0.0:
            assert bound <= exact + 4.0 * (0.02 + 0.03)  # both slacks, more in sharp corners


def test_a_covered_hole_is_shown() -> None:
    gaps = gaps_of(box(-40, -10, 40, 10), box(-100, -40, 100, 40).difference(regular(48, 4)))
    over = PoseBoxes(np.array([[3.0, 1.0, 0.3, 1.0]]), np.full((1, 4), 1e-6), np.ones(1))
    # As deep as the circle in a regular 48-gon of corner radius 4.
    bound = float(program_bounds(gaps.telling(over), 12)[0])
    assert bound == pytest.approx(-4 * np.cos(np.pi / 48), abs=0.03)


def test_far_outside_it_is_shown_how_far() -> None:
    gaps = gaps_of(regular(30, 5), box(0, 0, 100, 40))
    away = np.array([[200.0, 20.0, 0.0, 1.0], [50.0, -30.0, 1.0, 1.0]])
    boxes = PoseBoxes(away, np.full((2, 4), 1e-6), np.ones(2))
    # The far side of the disc: 100 + 5 mm from the right end, 30 + 5 mm below.
    np.testing.assert_allclose(program_bounds(gaps.telling(boxes), 12), [-105, -35], atol=0.2)


def test_the_outlines_discs_lie_in_it_and_their_leaders_all_over_it() -> None:
    discs = OutlineDiscs(knife(), slack_mm=0.02)
    places = discs.places_mm + discs.centre_mm
    depth = shapely.distance(knife().exterior, shapely.points(places))
    assert (discs.radii_mm <= depth + 1e-9).all()
    assert discs.rim_mm == pytest.approx(shapely.minimum_bounding_radius(knife()))
    assert len(np.unique(discs.leaders)) == len(discs.leaders)
    leading = places[discs.leaders]
    apart = np.linalg.norm(places[:, None, :] - leading, axis=2).min(axis=1)
    assert apart.max() < knife().length / len(discs.leaders)


def test_an_outlines_holes_do_not_count() -> None:
    hole = moved(regular(24, 4), 20, 0, 0)
    drilled = Polygon(knife().exterior, [hole.exterior])
    one, other = OutlineDiscs(drilled, slack_mm=0.02), OutlineDiscs(knife(), slack_mm=0.02)
    np.testing.assert_array_equal(one.places_mm, other.places_mm)

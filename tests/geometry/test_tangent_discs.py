"""Discs lie where they say, whatever the shape, and reach up to its edge."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from geometry.segments import Floats
from geometry.tangent_discs import Discs, discs_in, discs_outside
from tests.geometry.rough_shapes import KINDS, rough_shape
from tests.geometry.shapes import knife, regular

ROUNDING = 1e-9  # of the shape's size
ABOUT = 4.0  # slacks: in a sharp corner a stretch no longer than one is not looked at again
SIZES_MM = st.sampled_from([1.0, 100.0, 1000.0])


def beyond_mm(shape: Polygon, discs: Discs, *, inside: bool) -> Floats:
    """Return (N,) how far each disc reaches over the edge of its side; negative: not at all."""
    distance = shapely.distance(shape.boundary, shapely.points(discs.centres_mm))
    held = shapely.intersects_xy(shape, *discs.centres_mm.T)
    beyond: Floats = discs.radii_mm - np.where(held == inside, distance, -distance)
    return beyond


def uncovered_mm(places: Floats, discs: Discs) -> Floats:
    """Return (N,) how far each place lies from the nearest disc, 0 in one."""
    away = np.linalg.norm(places[:, None, :] - discs.centres_mm, axis=2) - discs.radii_mm
    return np.maximum(away.min(axis=1), 0.0)


@given(kind=st.sampled_from(KINDS), seed=st.integers(0, 10_000), size_mm=SIZES_MM)
@settings(max_examples=25)
def test_every_disc_lies_on_its_side_of_the_edge(kind: str, seed: int, size_mm: float) -> None:
    shape = rough_shape(kind, seed, size_mm)
    slack_mm = 5e-4 * size_mm
    within = discs_in(shape, slack_mm=slack_mm, largest_mm=size_mm)
    beyond = discs_outside(shape, slack_mm=slack_mm, largest_mm=50.0 * size_mm)
    assert len(within.radii_mm)
    assert len(beyond.radii_mm)
    assert beyond_mm(shape, within, inside=True).max() <= ROUNDING * size_mm
    assert beyond_mm(shape, beyond, inside=False).max() <= 50.0 * ROUNDING * size_mm
    for discs in (within, beyond):
        assert np.isfinite(discs.centres_mm).all()
        assert (discs.radii_mm >= 0.0).all()


@given(kind=st.sampled_from(KINDS), seed=st.integers(0, 10_000), size_mm=SIZES_MM)
@settings(max_examples=15)
def test_they_cover_the_edge_from_both_sides(kind: str, seed: int, size_mm: float) -> None:
    shape = rough_shape(kind, seed, size_mm)
    slack_mm = 5e-4 * size_mm
    edge = shapely.get_coordinates(shape.boundary.segmentize(0.01 * size_mm))
    for discs in (
        discs_in(shape, slack_mm=slack_mm, largest_mm=size_mm),
        discs_outside(shape, slack_mm=slack_mm, largest_mm=50.0 * size_mm),
    ):
        assert uncovered_mm(edge, discs).max() <= ABOUT * slack_mm


def test_the_discs_of_a_bar_are_as_wide_as_it() -> None:
    discs = discs_in(box(0, 0, 100, 10), slack_mm=0.01, largest_mm=60.0)
    middle = np.abs(discs.centres_mm[:, 0] - 50) < 40
    # A place of a long side touches the disc in the middle of the bar, 5 mm from either.
    assert np.abs(discs.radii_mm[middle] - 5.0).max() < 0.02
    np.testing.assert_allclose(discs.centres_mm[middle, 1], 5.0, atol=0.02)


def test_a_straight_edge_is_nearly_a_half_plane() -> None:
    discs = discs_outside(box(0, 0, 100, 100), slack_mm=0.01, largest_mm=5000.0)
    on_side = (np.abs(discs.feet_mm[:, 0]) < 1e-9) & (np.abs(discs.feet_mm[:, 1] - 50) < 49)
    assert on_side.any()
    straight = on_side & (np.abs(discs.centres_mm[:, 1] - discs.feet_mm[:, 1]) < 1e-6)
    assert discs.radii_mm[straight].min() == pytest.approx(5000.0)


def test_no_disc_is_larger_than_allowed() -> None:
    for largest_mm in (0.5, 3.0, 40.0):
        assert discs_in(knife(), slack_mm=0.02, largest_mm=largest_mm).radii_mm.max() <= (
            largest_mm + 1e-9
        )


def test_a_corner_that_points_out_has_a_fan_and_one_that_points_in_has_none() -> None:
    """All that lies beyond a corner of 90 degrees is nearest to it, in every direction between."""
    ell = Polygon([(0, 0), (60, 0), (60, 30), (30, 30), (30, 60), (0, 60)])
    discs = discs_outside(ell, slack_mm=0.01, largest_mm=1000.0)
    large = discs.radii_mm > 1.0

    def directions_deg(corner: tuple[float, float]) -> Floats:
        at = large & (np.abs(discs.feet_mm - corner).max(axis=1) < 1e-9)
        away = discs.centres_mm[at] - discs.feet_mm[at]
        return np.sort(np.degrees(np.arctan2(away[:, 1], away[:, 0])) % 360.0)

    fan = directions_deg((60, 0))
    assert np.diff(np.r_[270.0, fan[(fan > 270.5) & (fan < 359.5)], 360.0]).max() <= 6.0 + 1e-9
    assert len(directions_deg((30, 30))) == 0


def test_a_hole_is_outside() -> None:
    ring = regular(48, 30).difference(regular(48, 5))
    discs = discs_outside(ring, slack_mm=0.01, largest_mm=1000.0)
    in_hole = np.hypot(*discs.centres_mm.T) < 5.0
    # The circle in a regular 48-gon of corner radius 5.
    assert discs.radii_mm[in_hole].max() == pytest.approx(5 * np.cos(np.pi / 48), abs=0.01)
    hole = shapely.get_coordinates(ring.interiors[0].segmentize(0.1))
    assert uncovered_mm(hole, discs).max() <= ABOUT * 0.01


def test_the_discs_fill_an_outline_but_for_the_slack() -> None:
    discs = discs_in(knife(), slack_mm=0.02, largest_mm=100.0)
    circles = shapely.points(discs.centres_mm).tolist()
    drawn = [one.buffer(r, quad_segs=64) for one, r in zip(circles, discs.radii_mm, strict=True)]
    rest = knife().difference(shapely.union_all(drawn))
    assert rest.area <= 0.02 * knife().length
    assert rest.buffer(-ABOUT * 0.02).is_empty


@pytest.mark.parametrize(
    "slack_mm",
    [
        0.01,
        0.001,
        1e-4,
    ],
)
def test_a_bar_takes_no_more_discs_than_its_sides_need(slack_mm: float) -> None:
    """Of radius r, each covers 2 sqrt(2 r slack) of a side, to the slack; halving takes up to 2."""
    discs = discs_in(box(0, 0, 20, 1), slack_mm=slack_mm, largest_mm=10.0)
    needed = 2 * 20.0 / (2.0 * np.sqrt(2 * 0.5 * slack_mm))
    assert len(discs.radii_mm) < 4.0 * needed + 100.0

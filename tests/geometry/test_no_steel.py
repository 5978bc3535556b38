"""Discs that are no steel: none reaches into it, and one that tells is found at any place."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from geometry.no_steel import NoSteel
from geometry.segments import Floats, Ints
from tests.geometry.rough_shapes import KINDS, rough_shape
from tests.geometry.shapes import moved, regular

THIN = {"sliver"}  # as thin as the grid is coarse


def shown_mm(no_steel: NoSteel, places: Floats, disc: Ints) -> Floats:
    """Return (N,) what a disc shows each place to be from what is no steel, at most."""
    away = np.linalg.norm(places - no_steel.centres_mm[disc], axis=1)
    shown: Floats = away - no_steel.radii_mm[disc]
    return shown


def signed_mm(no_steel: NoSteel, places: Floats) -> Floats:
    """Return (N,) signed distances to the steel's edge, inside positive."""
    points = shapely.points(places)
    distance = shapely.distance(no_steel.steel.boundary, points)
    signed: Floats = np.where(shapely.contains(no_steel.steel, points), distance, -distance)
    return signed


@given(
    kind=st.sampled_from(KINDS),
    seed=st.integers(0, 10_000),
    size_mm=st.sampled_from([1.0, 100.0, 1000.0]),
)
@settings(max_examples=15)
def test_none_reaches_into_the_steel_and_none_shows_too_little(
    kind: str, seed: int, size_mm: float
) -> None:
    no_steel = NoSteel(rough_shape(kind, seed, size_mm), slack_mm=5e-4 * size_mm)
    room = shapely.distance(no_steel.steel, shapely.points(no_steel.centres_mm))
    assert (no_steel.radii_mm <= room + 1e-7 * size_mm).all()
    x1, y1, x2, y2 = no_steel.steel.bounds
    pad_mm = 0.6 * size_mm
    random = np.random.default_rng(seed)
    places = random.uniform((x1 - pad_mm, y1 - pad_mm), (x2 + pad_mm, y2 + pad_mm), (300, 2))
    signed = signed_mm(no_steel, places)
    for find in (no_steel.near, no_steel.nearest):
        assert (shown_mm(no_steel, places, find(*places.T)) >= signed - 1e-7 * size_mm).all()


@given(kind=st.sampled_from(KINDS), seed=st.integers(0, 10_000))
@settings(max_examples=8)
def test_looking_around_tells_more_and_is_sharp_along_the_edge(kind: str, seed: int) -> None:
    no_steel = NoSteel(rough_shape(kind, seed), slack_mm=0.02)
    edge = shapely.get_coordinates(no_steel.steel.boundary.segmentize(1.0))
    near = shown_mm(no_steel, edge, no_steel.near(*edge.T))
    sharp = shown_mm(no_steel, edge, no_steel.nearest(*edge.T))
    assert (sharp <= near + 1e-9).all()
    assert np.median(sharp) <= 0.02  # the slack at most places
    if kind not in THIN:
        assert sharp.mean() < 0.1


def test_places_far_off_are_shown_to_be_far_off() -> None:
    no_steel = NoSteel(box(0, 0, 100, 40), slack_mm=0.015)
    places = np.array([[300.0, 20.0], [-50.0, 10.0], [50.0, 500.0], [50.0, -7.0]])
    shown = shown_mm(no_steel, places, no_steel.nearest(*places.T))
    np.testing.assert_allclose(shown, [-200.0, -50.0, -460.0, -7.0], rtol=0.02)


def test_the_middle_of_a_hole_is_as_deep_as_its_circle() -> None:
    no_steel = NoSteel(
        box(0, 0, 100, 40).difference(moved(regular(48, 6), 31, 22, 5)), slack_mm=0.02
    )
    middle = np.array([[31.0, 22.0]])
    shown = float(shown_mm(no_steel, middle, no_steel.nearest(*middle.T))[0])
    assert shown == pytest.approx(-6 * np.cos(np.pi / 48), abs=0.03)


def test_places_of_any_shape() -> None:
    no_steel = NoSteel(box(0, 0, 100, 40), slack_mm=0.015)
    x_mm, y_mm = np.random.default_rng(3).uniform(-20, 120, (2, 3, 4))
    for find in (no_steel.near, no_steel.nearest):
        assert find(x_mm, y_mm).shape == (3, 4)
        np.testing.assert_array_equal(find(x_mm, y_mm).ravel(), find(x_mm.ravel(), y_mm.ravel()))


@pytest.mark.parametrize(("width_mm", "height_mm"), [(90, 60), (92, 93), (200, 40)])
def test_inside_straight_edges_the_disc_found_tells_about_the_most(
    width_mm: float, height_mm: float
) -> None:
    """One large disc covers a long side: it tells most also of places far from its foot."""
    no_steel = NoSteel(box(0, 0, width_mm, height_mm), slack_mm=0.015)
    random = np.random.default_rng(1)
    places = random.uniform((0, 0), (width_mm, height_mm), (3000, 2))
    shown = shown_mm(no_steel, places, no_steel.nearest(*places.T))
    away = np.linalg.norm(places[:, None, :] - no_steel.centres_mm, axis=2)
    most = (away - no_steel.radii_mm).min(axis=1)
    assert (shown - most).max() < 0.1

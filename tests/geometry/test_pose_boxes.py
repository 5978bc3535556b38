"""Boxes of poses: the first cover all, and halving loses none and adds none."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.pose_boxes import PoseBoxes, first_boxes, halved
from geometry.segments import Floats

RIM_MM = 50.0


def in_boxes(boxes: PoseBoxes, places: Floats, face: float) -> np.ndarray:
    """Return (N, B) which poses lie in which boxes, their sides included."""
    away = np.abs(places[:, None, :] - boxes.middle)
    inside = (away <= boxes.half + 1e-12 * (1.0 + np.abs(boxes.middle))).all(axis=2)
    return inside & (boxes.face == face)


@given(
    width_mm=st.floats(1, 900),
    height_mm=st.floats(1, 900),
    rim_mm=st.floats(0.5, 300),
    mirror=st.booleans(),
    grow=st.floats(1, 3),
    seed=st.integers(0, 999),
)
@settings(max_examples=12)
def test_the_first_boxes_cover_every_pose_once(
    width_mm: float, height_mm: float, rim_mm: float, mirror: bool, grow: float, seed: int
) -> None:
    bounds = (-20.0, 30.0, width_mm - 20.0, height_mm + 30.0)
    boxes = first_boxes(bounds, rim_mm, mirror=mirror, scales=(0.5, 0.5 * grow))
    low = np.array([bounds[0], bounds[1], 0.0, 0.5])
    high = np.array([bounds[2], bounds[3], 2 * np.pi, 0.5 * grow])
    random = np.random.default_rng(seed)
    places = random.uniform(low, high, (20, 4))
    places[:4] = np.where(random.random((4, 4)) < 0.5, low, high)  # corners of it all
    faces = [1.0, -1.0] if mirror else [1.0]
    for face in faces:
        assert in_boxes(boxes, places, face).any(axis=1).all()
    volume = (2.0 * boxes.half[:, :3]).prod(axis=1).sum()
    assert volume == pytest.approx((high - low)[:3].prod() * len(faces), rel=1e-9)
    assert set(boxes.face) == set(faces)
    assert len(boxes.face) < 130_000


@given(seed=st.integers(0, 100_000), count=st.integers(0, 20))
@settings(max_examples=40)
def test_the_halves_cover_each_box_exactly(seed: int, count: int) -> None:
    random = np.random.default_rng(seed)
    middle = random.normal(size=(count, 4)) * 100.0
    half = 10.0 ** random.uniform(-4, 1, (count, 4))
    half[:, 3] *= random.integers(0, 2, count)  # often there is one scale only
    boxes = PoseBoxes(middle, half, random.choice([-1.0, 1.0], count))
    lean = random.exponential(size=(count, 4)) * random.integers(0, 2, (count, 4)) * (half > 0.0)
    parts, whole = halved(boxes, lean, RIM_MM)
    assert len(whole) == len(parts.face) >= 2 * count
    np.testing.assert_array_equal(parts.face, boxes.face[whole])
    # No part reaches out of its box; together they are as large; every pose lies in one.
    reach = np.abs(parts.middle - boxes.middle[whole]) + parts.half
    assert (reach <= boxes.half[whole] * (1.0 + 1e-9) + 1e-12).all()
    sides = np.where(parts.half > 0.0, parts.half, 1.0).prod(axis=1)
    sums = np.bincount(whole, sides, minlength=count)
    np.testing.assert_allclose(sums, np.where(half > 0.0, half, 1.0).prod(axis=1))
    for number in range(count):
        own = parts.kept(whole == number)
        places = middle[number] + random.uniform(-1, 1, (20, 4)) * half[number]
        assert in_boxes(own, places, boxes.face[number]).any(axis=1).all()


def test_what_a_bound_owes_most_to_is_halved() -> None:
    boxes = PoseBoxes(
        np.array([[0.0, 0.0, 0.0, 1.0]]), np.array([[2.0, 2.0, 0.04, 0.0]]), np.ones(1)
    )
    parts, _ = halved(boxes, np.array([[0.0, 9.0, 0.0, 0.0]]), RIM_MM)
    np.testing.assert_allclose(parts.half, [[2.0, 1.0, 0.04, 0.0]] * 2)
    np.testing.assert_allclose(sorted(parts.middle[:, 1]), [-1.0, 1.0])
    parts, _ = halved(boxes, np.array([[5.0, 5.0, 5.0, 0.0]]), RIM_MM)
    assert len(parts.face) == 8


def test_a_bound_that_owes_nothing_still_halves_the_widest() -> None:
    boxes = PoseBoxes(
        np.array([[0.0, 0.0, 0.0, 1.0]]), np.array([[0.1, 8.0, 0.01, 0.0]]), np.ones(1)
    )
    parts, _ = halved(boxes, np.zeros((1, 4)), RIM_MM)
    np.testing.assert_allclose(parts.half, [[0.1, 4.0, 0.01, 0.0]] * 2)


def test_boxes_move_in_their_own_measure() -> None:
    boxes = PoseBoxes(
        np.array([[1.0, 2.0, 3.0, 1.0]]), np.array([[4.0, 2.0, 0.1, 0.0]]), -np.ones(1)
    )
    moved = boxes.moved(np.array([[0.5, -1.0, 1.0, 1.0]]), 0.25)
    np.testing.assert_allclose(moved.middle, [[3.0, 0.0, 3.1, 1.0]])
    np.testing.assert_allclose(moved.half, [[1.0, 0.5, 0.025, 0.0]])
    assert moved.face[0] == -1.0

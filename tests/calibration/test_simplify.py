import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.simplify import CLAIM_MM, MAX_VERTICES, simplified, vertex_count
from calibration.top_face import largest


def wavy(seed, roughness, count=4000):
    rng = np.random.default_rng(seed)
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    radius = 60 + 12 * np.cos(3 * turn) + rng.normal(0, roughness, count)
    outer = np.column_stack([radius * np.cos(turn), 0.5 * radius * np.sin(turn)])
    hole = np.column_stack([4 * np.cos(turn[::20]), 4 * np.sin(turn[::20])])
    return largest(shapely.make_valid(shapely.Polygon(outer, [hole])))


def comb(teeth, depth):
    """Return a bar with more teeth than vertices are allowed."""
    across = np.linspace(0, 200, 4 * teeth)
    up = 40 + depth * (np.arange(4 * teeth) % 4 < 2)
    return shapely.Polygon([(0, 0), *zip(across, up, strict=True), (200, 0)])


def pierced(rows):
    """Return a plate with so many holes that they alone take all vertices."""
    x, y = np.meshgrid(np.arange(4 * rows) * 5.0 + 3, np.arange(rows) * 5.0 + 3)
    holes = [[(a, b), (a + 2, b), (a + 1, b + 2)] for a, b in zip(x.flat, y.flat, strict=True)]
    return shapely.Polygon(shapely.box(0, 0, 20 * rows + 3, 5 * rows + 3).exterior, holes)


ROUGH = st.one_of(
    st.builds(
        wavy,
        st.integers(0, 1000),
        st.sampled_from([0.0, 0.01, 0.03, 0.06, 0.3, 1.0, 3.0]),
        st.sampled_from([300, 2000, 4000]),
    ),
    st.builds(comb, st.integers(100, 900), st.floats(0.05, 20.0)),
    st.builds(pierced, st.integers(3, 9)),
)


@settings(max_examples=40, deadline=None)
@given(ROUGH)
def test_no_steel_is_claimed_that_is_not_there(measured):
    simple = simplified(measured)
    assert simple.is_valid
    assert not simple.is_empty
    assert simple.exterior.is_ccw
    assert vertex_count(simple) < MAX_VERTICES
    allowed = measured.buffer(1.015 * CLAIM_MM, quad_segs=32)  # buffers are up to 1 % short
    assert simple.difference(allowed).area < 1e-9
    beyond = shapely.difference(simple, measured)
    reach = shapely.distance(shapely.points(shapely.get_coordinates(beyond)), measured)
    assert reach.max(initial=0.0) <= CLAIM_MM + 1e-9


def test_round_a_notch_of_a_ragged_edge_no_more_is_claimed():
    # drawn in by 2 mm, an arc of chords of 22.5 degrees comes 2 (1 - cos 11.25) = 0.038 mm too near
    for seed in range(3):
        rough = wavy(seed, 3.0, 2000)
        beyond = shapely.get_coordinates(simplified(rough).difference(rough))
        assert shapely.distance(shapely.points(beyond), rough).max(initial=0.0) <= CLAIM_MM + 1e-9


def test_a_smooth_outline_loses_next_to_nothing():
    measured = wavy(1, 0.0)
    simple = simplified(measured)
    assert len(simple.interiors) == 1
    assert simple.area == pytest.approx(measured.area, rel=2e-4)


def test_vertices_of_holes_count():
    ring = shapely.Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(3, 3), (6, 3), (6, 6)]])
    assert vertex_count(ring) == 7

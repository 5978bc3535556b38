import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.simplify import CLAIM_MM, MAX_VERTICES, simplified, vertex_count


def wavy(seed, roughness, count=4000):
    rng = np.random.default_rng(seed)
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    radius = 60 + 12 * np.cos(3 * turn) + rng.normal(0, roughness, count)
    outer = np.column_stack([radius * np.cos(turn), 0.5 * radius * np.sin(turn)])
    hole = np.column_stack([4 * np.cos(turn[::20]), 4 * np.sin(turn[::20])])
    return shapely.make_valid(shapely.Polygon(outer, [hole]))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 1000), st.sampled_from([0.0, 0.01, 0.03, 0.06]))
def test_no_steel_is_claimed_that_is_not_there(seed, roughness):
    measured = wavy(seed, roughness)
    simple = simplified(measured)
    assert simple.is_valid
    assert simple.exterior.is_ccw
    assert vertex_count(simple) < MAX_VERTICES
    beyond = shapely.difference(simple, measured)
    reach = shapely.distance(shapely.points(shapely.get_coordinates(beyond)), measured)
    assert reach.max(initial=0.0) <= CLAIM_MM + 1e-9


def test_a_smooth_outline_loses_next_to_nothing():
    measured = wavy(1, 0.0)
    simple = simplified(measured)
    assert len(simple.interiors) == 1
    assert simple.area == pytest.approx(measured.area, rel=2e-4)


def test_vertices_of_holes_count():
    ring = shapely.Polygon([(0, 0), (9, 0), (9, 9), (0, 9)], [[(3, 3), (6, 3), (6, 6)]])
    assert vertex_count(ring) == 7

"""Lines and arcs in the place of true pieces of steel, traced by an unsteady hand."""

import json
from pathlib import Path

import numpy as np
import pytest
import shapely

from geometry.arc_fit import fitted_ring
from geometry.curves import flatten_chain

NAMES = ["p01", "p02", "p05", "p08", "p12"]  # a bar, a trapezoid, laminated, gaps, the steel


@pytest.mark.parametrize("name", NAMES)
def test_a_traced_piece_is_few_lines_and_arcs(shared: Path, name: str) -> None:
    """A hand's slow wobble of 0.05 mm: a quarter of the vertices or fewer, and within 0.1 mm."""
    found = sorted((shared / "photos").glob(f"{name}*.truth.json"))
    if not found:
        pytest.skip("the photos with known truth are not in 'shared'")
    steel = shapely.Polygon(json.loads(found[0].read_text())["steel"])
    line = shapely.segmentize(shapely.simplify(steel, 0.01).exterior, 1.0)
    ring = shapely.get_coordinates(line)[:-1]
    ring = ring if shapely.LinearRing(ring).is_ccw else ring[::-1]
    reached = np.append(0.0, np.cumsum(np.hypot(*np.diff(ring, axis=0).T)))
    random = np.random.default_rng(8)
    for wave_mm in (4.0, 9.0, 23.0):
        phase = reached / wave_mm * 2 * np.pi + random.uniform(0, 6)
        ring = ring + 0.04 * np.column_stack([np.cos(phase), np.sin(phase)])
    chain = fitted_ring(ring)
    assert len(chain) <= len(ring) / 4
    drawn = shapely.LinearRing(flatten_chain(chain, 1e-4))
    assert drawn.is_simple
    for one, other in ((drawn, shapely.LinearRing(ring)), (shapely.LinearRing(ring), drawn)):
        spots = shapely.get_coordinates(shapely.segmentize(one, 0.1))
        assert shapely.distance(other, shapely.points(spots)).max() <= 0.1 + 2e-4
    beyond = shapely.Polygon(drawn).difference(shapely.Polygon(ring).buffer(0.0205))
    assert beyond.area < 1e-6

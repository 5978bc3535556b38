"""Few lines and arcs in the place of a dense edge, within what is promised."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.arc_fit import as_arcs, circle_of, fitted_path, fitted_ring, strayed_mm
from geometry.curves import Arc, Chain, Cubic, Line, chain_area_mm2, flatten_chain
from geometry.errors import InputError
from tests.geometry.shapes import knife, regular, wavy

FINE_MM = 1e-4


def ring_of(shape: Polygon) -> np.ndarray:
    return shapely.get_coordinates(orient(shape).exterior)[:-1]


def dense(shape: Polygon, step_mm: float) -> np.ndarray:
    return shapely.get_coordinates(shapely.segmentize(orient(shape).exterior, step_mm))[:-1]


def kinds(chain: Chain) -> tuple[int, int]:
    arcs = sum(isinstance(piece, Arc) for piece in chain)
    return len(chain) - arcs, arcs


def check(chain: Chain, ring: np.ndarray, tolerance_mm: float, claim_mm: float) -> None:
    """What is promised, by other means: GEOS's own distance, and a polygon grown by the claim."""
    for piece, after in zip(chain, [*chain[1:], chain[0]], strict=True):
        assert piece.end == after.start
    flat = flatten_chain(chain, FINE_MM)
    drawn, given_ring = shapely.LinearRing(flat), shapely.LinearRing(ring)
    assert drawn.is_simple
    apart_mm = shapely.hausdorff_distance(drawn, given_ring, 0.02)
    assert apart_mm <= tolerance_mm + FINE_MM
    steel = Polygon(ring)
    if given_ring.is_ccw:
        over = Polygon(flat).difference(steel.buffer(claim_mm + 3 * FINE_MM, quad_segs=64))
    else:
        over = steel.buffer(-claim_mm - 3 * FINE_MM, quad_segs=64).difference(Polygon(flat))
    assert over.area < 1e-6
    assert drawn.is_ccw == given_ring.is_ccw


def test_a_circle_is_one() -> None:
    chain = fitted_ring(ring_of(regular(300, 40.0)))
    found = circle_of(chain)
    assert found is not None
    assert found[0] == pytest.approx((0.0, 0.0), abs=1e-9)
    assert found[1] == pytest.approx(40.0, abs=1e-9)
    check(chain, ring_of(regular(300, 40.0)), 0.1, 0.02)


def test_a_drilled_hole_traced_round_is_a_circle_and_never_smaller() -> None:
    angles = np.arange(60) * 2 * math.pi / 60
    wobble = 3.2 + 0.04 * np.sin(3 * angles)
    hole = (np.column_stack([np.cos(angles), np.sin(angles)]) * wobble[:, None])[::-1]
    hole = np.add(hole, (50.0, 20.0))
    chain = fitted_ring(hole)
    found = circle_of(chain)
    assert found is not None
    assert found[0] == pytest.approx((50.0, 20.0), abs=0.01)
    assert 3.24 - 0.02 - 1e-3 <= found[1] <= 3.24
    check(chain, hole, 0.1, 0.02)


def test_a_stadium_is_two_lines_and_two_arcs() -> None:
    stadium = shapely.LineString([(0, 0), (100, 0)]).buffer(15, quad_segs=64)
    chain = fitted_ring(ring_of(stadium))
    assert kinds(chain) == (2, 2)
    radii = [piece.radius_mm for piece in chain if isinstance(piece, Arc)]
    assert radii == pytest.approx([15.0, 15.0], abs=0.02)
    check(chain, ring_of(stadium), 0.1, 0.02)


def test_a_rounded_rectangle_is_four_lines_and_four_arcs() -> None:
    plate = shapely.box(4, 4, 96, 36).buffer(4, quad_segs=32)
    chain = fitted_ring(ring_of(plate))
    assert kinds(chain) == (4, 4)
    assert chain_area_mm2(chain) == pytest.approx(100 * 40 - (4 - math.pi) * 16, abs=0.5)
    check(chain, ring_of(plate), 0.1, 0.02)


def test_corners_stay_where_they_are() -> None:
    knife_ring = dense(shapely.box(0, 0, 120, 30), 0.7)
    chain = fitted_ring(knife_ring, tolerance_mm=0.3)
    assert kinds(chain) == (4, 0)
    assert {piece.start for piece in chain} == {(0, 0), (120, 0), (120, 30), (0, 30)}


def test_corners_stay_under_noise() -> None:
    ring = dense(shapely.box(0, 0, 120, 30), 0.7)
    noise = np.random.default_rng(2).uniform(-0.03, 0.03, ring.shape)
    chain = fitted_ring(ring + noise, tolerance_mm=0.15)
    breaks = shapely.MultiPoint([piece.start for piece in chain])
    for corner in [(0, 0), (120, 0), (120, 30), (0, 30)]:
        assert breaks.distance(shapely.Point(corner)) < 0.03 * math.sqrt(2) + 1e-9
    check(chain, ring + noise, 0.15, 0.02)


@pytest.mark.parametrize("tolerance_mm", [0.05, 0.1, 0.3])
def test_noise_smaller_than_the_band_costs_few_pieces(tolerance_mm: float) -> None:
    """Noise of a third of the tolerance: no more than twice the eight pieces of the plate."""
    plate = shapely.box(4, 4, 56, 26).buffer(4, quad_segs=32)
    ring = dense(plate, 0.5)
    size = tolerance_mm / 3
    noisy = ring + np.random.default_rng(1).uniform(-size, size, ring.shape)
    chain = fitted_ring(noisy, tolerance_mm=tolerance_mm)
    check(chain, noisy, tolerance_mm, 0.02)
    if size <= 0.02:  # more noise than may be claimed outside cannot be ruled straight
        assert len(chain) <= 16


def test_the_wider_the_tolerance_the_fewer_the_pieces() -> None:
    ring = ring_of(wavy(200, 60, 400, 9, 0.03))
    counts = [len(fitted_ring(ring, tolerance_mm=t)) for t in (0.03, 0.1, 0.3, 1.0)]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] < 200
    assert counts[-1] < 40


def test_turning_changes_nothing() -> None:
    ring = ring_of(knife())
    cos, sin = math.cos(1.1), math.sin(1.1)
    turned = ring @ np.array([[cos, sin], [-sin, cos]]) + (300.0, -50.0)
    one, other = fitted_ring(ring), fitted_ring(turned)
    assert kinds(one) == kinds(other)
    assert chain_area_mm2(one) == pytest.approx(chain_area_mm2(other), rel=1e-4)


@given(
    waves=st.integers(2, 12),
    depth=st.floats(0.0, 0.08),
    count=st.integers(30, 200),
    tolerance_mm=st.sampled_from([0.03, 0.1, 0.4]),
    claim_mm=st.sampled_from([0.005, 0.02]),
    hole=st.booleans(),
)
@settings(max_examples=40, deadline=None)
def test_what_is_promised_holds(
    waves: int, depth: float, count: int, tolerance_mm: float, claim_mm: float, hole: bool
) -> None:
    ring = ring_of(wavy(60, 25, count, waves, depth))
    ring = ring[::-1] if hole else ring
    chain = fitted_ring(ring, tolerance_mm=tolerance_mm, claim_mm=claim_mm)
    assert len(chain) <= len(ring)
    check(chain, ring, tolerance_mm, claim_mm)
    apart_mm, claimed_mm = strayed_mm(chain, ring)
    assert apart_mm <= tolerance_mm
    assert claimed_mm <= claim_mm + 0.002 * tolerance_mm


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(3, 14))
@settings(max_examples=40, deadline=None)
def test_any_star_is_fitted(seed: int, count: int) -> None:
    """Sharp, flat and re-entrant corners of any kind; tips too thin for any band."""
    random = np.random.default_rng(seed)
    angles = np.sort(random.uniform(0, 2 * math.pi, count))
    radii = random.uniform(1, 30, count)
    ring = np.column_stack([np.cos(angles), np.sin(angles)]) * radii[:, None]
    if not shapely.LinearRing(ring).is_simple or Polygon(ring).area < 1.0:
        return
    ring = ring if shapely.LinearRing(ring).is_ccw else ring[::-1]
    chain = fitted_ring(ring)
    check(chain, ring, 0.1, 0.02)
    assert len(chain) <= count


def test_a_cubic_becomes_few_arcs_within_the_tolerance() -> None:
    curve = Cubic(start=(0.0, 0.0), control1=(30.0, 0.0), control2=(60.0, 20.0), end=(80.0, 30.0))
    chain = as_arcs((curve,), tolerance_mm=0.005)
    assert len(chain) < 15
    assert chain[0].start == curve.start
    assert chain[-1].end == curve.end
    fine = np.vstack([flatten_chain(chain, 1e-4), curve.end])
    there = shapely.LineString(curve.at(np.linspace(0, 1, 2001)))
    assert shapely.hausdorff_distance(shapely.LineString(fine), there) <= 0.005 + 2e-4


def test_lines_and_arcs_stay_as_they_are() -> None:
    chain = (
        Line(start=(0.0, 0.0), end=(10.0, 0.0)),
        Arc(start=(10.0, 0.0), end=(0.0, 0.0), sweep_rad=math.pi),
    )
    assert as_arcs(chain, tolerance_mm=0.01) == chain


def test_a_straight_path_is_one_line() -> None:
    points = np.column_stack([np.linspace(0, 50, 40), np.zeros(40)])
    assert fitted_path(points, tolerance_mm=0.01) == (Line(start=(0.0, 0.0), end=(50.0, 0.0)),)


@pytest.mark.parametrize(
    ("ring", "tolerance_mm", "words"),
    [
        ([(0, 0), (10, 0)], 0.1, "no ring"),
        ([(0, 0), (10, 10), (10, 0), (0, 10)], 0.1, "no ring"),
        ([(0, 0), (10, 0), (10, 10)], 0.0, "cannot be kept"),
        ([(0, 0), (10, 0), (10, 10)], float("nan"), "cannot be kept"),
    ],
)
def test_what_cannot_be_fitted_is_refused(
    ring: list[tuple[float, float]], tolerance_mm: float, words: str
) -> None:
    with pytest.raises(InputError, match=words):
        fitted_ring(ring, tolerance_mm=tolerance_mm)

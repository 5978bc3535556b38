"""Few lines and arcs in the place of a dense line, within a stated distance of it.

Breakpoints are chosen among the vertices of the dense line by dynamic programming, so that the
number of lines and arcs is the least for them; among as few, the closest. After Drysdale, Rote and
Sturm, Approximation of an open polygonal curve with a minimum number of circular arcs and biarcs,
2008 (from memory); the band there is a tolerance to both sides, here it may be narrower outside,
since an edge that lies outside the measured one claims steel that is not there.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike

from geometry.arc_breaks import breaks_beside, corners_of, fewest_closed, fewest_open
from geometry.arc_spans import Band, Floats
from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment, flatten_chain
from geometry.errors import InputError

TOLERANCE_MM = 0.1
CLAIM_MM = 0.02  # how far a fitted edge may lie outside, as for simplified contours
THIN_SHARE = 0.05  # of the tolerance, spent on leaving out vertices that tell nothing
CURVE_SHARE = 0.2  # of the tolerance, spent on the points that a curve is drawn by
THIN_CLAIM = 0.25  # of the claim, at most
TRIES, SMALLER = 5, 0.7  # a fit that fails its proof is made again, narrower
PROOF_SHARE = 0.002  # of the tolerance: how finely a fit is proved
PROOF_STEP_MM = 0.1


def fitted_ring(
    ring_mm: ArrayLike, *, tolerance_mm: float = TOLERANCE_MM, claim_mm: float = CLAIM_MM
) -> Chain:
    """Return a closed chain of lines and arcs in the place of a ring.

    Parameters
    ----------
    ring_mm : array_like, (N, 2)
        The dense edge with the steel on its left: an exterior counter-clockwise, a hole clockwise.
        The first point is not repeated.
    tolerance_mm : float
        No point of the chain is farther from the ring, and none of the ring from the chain, > 0.
    claim_mm : float
        No point of the chain lies farther outside the steel, >= 0.

    Returns
    -------
    tuple of Line and Arc
        Closed, not crossing itself, travelled as the ring is. A ring that is round within the
        tolerance becomes two arcs of one circle. At worst, the ring itself.

    Raises
    ------
    InputError
        If the ring is none, or a tolerance cannot be kept.
    """
    ring = np.asarray(ring_mm, float)
    _check(ring, tolerance_mm, claim_mm)
    for attempt in range(TRIES):
        within = tolerance_mm * SMALLER**attempt
        band = Band(right_mm=min(claim_mm, within), left_mm=within)
        for fit in (_circle, _fewest):
            chain = fit(ring, band)
            if chain and _fits(chain, ring, tolerance_mm, claim_mm):
                return chain
    return _straight(np.vstack([ring, ring[:1]]))


def fitted_path(points_mm: ArrayLike, *, tolerance_mm: float) -> Chain:
    """Return a chain of lines and arcs from the first to the last point of a dense line.

    Its corners are not looked for: give smooth lines. Within the tolerance, to both sides alike.
    """
    points = np.asarray(points_mm, float)
    for attempt in range(TRIES):
        within = tolerance_mm * SMALLER**attempt
        thin = THIN_SHARE * within
        line = _thinned(shapely.LineString(points), thin)
        chain = fewest_open(line, Band(right_mm=within - thin, left_mm=within - thin))
        if _apart_mm(chain, shapely.LineString(points), tolerance_mm)[0] <= tolerance_mm:
            return chain
    return _straight(points)


def as_arcs(chain: Chain, *, tolerance_mm: float) -> Chain:
    """Return a chain with its cubic curves as lines and arcs within a tolerance."""
    pieces: list[Segment] = []
    for segment in chain:
        if isinstance(segment, Cubic):
            dense = segment.flattened(CURVE_SHARE * tolerance_mm)
            points = np.vstack([dense, segment.end])
            pieces += fitted_path(points, tolerance_mm=tolerance_mm * (1 - CURVE_SHARE))
        else:
            pieces.append(segment)
    return tuple(pieces)


def circle_of(chain: Chain) -> tuple[Point, float] | None:
    """Return the centre and radius of a closed chain that is one circle in two halves."""
    if len(chain) != 2 or not all(isinstance(half, Arc) for half in chain):
        return None
    one, other = chain
    assert isinstance(one, Arc)
    assert isinstance(other, Arc)
    if one.sweep_rad != other.sweep_rad or abs(one.sweep_rad) != math.pi:
        return None
    (x0, y0), (x1, y1) = one.start, one.end
    return ((x0 + x1) / 2, (y0 + y1) / 2), math.dist(one.start, one.end) / 2


def strayed_mm(chain: Chain, ring_mm: ArrayLike) -> tuple[float, float]:
    """Return how far a closed chain and a ring are apart, and how far it lies on the right of it.

    The first is the greatest distance of a point of either from the other; with the steel on the
    left, the second is the steel that is claimed beyond the ring.
    """
    ring = np.asarray(ring_mm, float)
    closed = shapely.LinearRing(ring)
    apart_mm, points, distances = _apart_mm(chain, closed, TOLERANCE_MM)
    inside = shapely.contains_xy(shapely.Polygon(closed), *points.T)
    claimed = distances[inside != closed.is_ccw]
    return apart_mm, float(claimed.max(initial=0.0))


def _fits(chain: Chain, ring: Floats, tolerance_mm: float, claim_mm: float) -> bool:
    """Return whether a chain keeps what is promised; measured on points, dense on both."""
    flat = flatten_chain(chain, PROOF_SHARE * tolerance_mm)
    if len(flat) < 3 or not shapely.LinearRing(flat).is_simple:
        return False
    apart_mm, claimed_mm = strayed_mm(chain, ring)
    return apart_mm <= tolerance_mm and claimed_mm <= claim_mm + PROOF_SHARE * tolerance_mm


def _apart_mm(
    chain: Chain, line: shapely.LineString, tolerance_mm: float
) -> tuple[float, Floats, Floats]:
    """Return the distance of a chain and a line, and the chain's points with their distances."""
    flat = flatten_chain(chain, PROOF_SHARE * tolerance_mm)
    flat = np.vstack([flat, chain[-1].end])
    drawn = shapely.LineString(flat)
    points = shapely.get_coordinates(shapely.segmentize(drawn, PROOF_STEP_MM))
    there = shapely.get_coordinates(shapely.segmentize(line, PROOF_STEP_MM))
    shapely.prepare([line, drawn])
    to_line = np.asarray(shapely.distance(line, shapely.points(points)))
    to_chain = np.asarray(shapely.distance(drawn, shapely.points(there)))
    return float(max(to_line.max(), to_chain.max())), points, to_line


def _fewest(ring: Floats, band: Band) -> Chain:
    """Return the chain of fewest pieces, its breaks on the ring or in the middle of the band."""
    thin = min(THIN_SHARE * band.left_mm, THIN_CLAIM * band.right_mm)
    line = _thinned(shapely.LinearRing(ring), thin)
    narrow = Band(right_mm=band.right_mm - thin, left_mm=band.left_mm - thin)
    corners = corners_of(line, band.left_mm)
    middle_mm = (narrow.left_mm - narrow.right_mm) / 2
    on_it, beside = (
        fewest_closed(line, breaks_beside(line, corners, inset_mm), corners, narrow)
        for inset_mm in (0.0, max(middle_mm, 0.0))
    )
    return beside if 0 < len(beside) < len(on_it) else on_it


def _circle(ring: Floats, band: Band) -> Chain:
    """Return the circle that is nearest a ring within a band, as two halves; empty if none is.

    Notes
    -----
    Kasa's algebraic fit for the centre (from memory): linear, and exact where the ring is round.
    """
    middle = ring.mean(axis=0)
    x, y = (ring - middle).T
    solved = np.linalg.lstsq(np.column_stack([x, y, np.ones(len(x))]), x * x + y * y, rcond=None)
    centre = middle + solved[0][:2] / 2
    radius = np.hypot(*(ring - centre).T)
    least = shapely.LinearRing(ring).distance(shapely.Point(centre))
    ccw = shapely.LinearRing(ring).is_ccw
    outward, inward = (band.right_mm, band.left_mm) if ccw else (band.left_mm, band.right_mm)
    low, high = float(radius.max()) - inward, least + outward
    if not 0.0 < low <= high:
        return ()
    r = min(max(float(radius.mean()), low), high)
    west, east = ((float(centre[0]) + side * r, float(centre[1])) for side in (-1, 1))
    half = math.pi if ccw else -math.pi
    return (
        Arc(start=west, end=east, sweep_rad=half),
        Arc(start=east, end=west, sweep_rad=half),
    )


def _thinned(line: shapely.LineString, thin_mm: float) -> Floats:
    """Return the vertices of a line or ring that tell more than `thin_mm`, a ring's once each."""
    points = shapely.get_coordinates(shapely.simplify(line, thin_mm))
    return points[:-1] if isinstance(line, shapely.LinearRing) else points


def _straight(points: Floats) -> Chain:
    places: list[Point] = [(x, y) for x, y in points.tolist()]
    return tuple(Line(start=a, end=b) for a, b in pairwise(places))


def _check(ring: Floats, tolerance_mm: float, claim_mm: float) -> None:
    if not (tolerance_mm > 0.0 and claim_mm >= 0.0 and math.isfinite(tolerance_mm + claim_mm)):
        raise InputError(
            f"a tolerance of {tolerance_mm:g} mm cannot be kept.",
            where="Tolerance",
            remedy="Give a length above zero.",
        )
    if ring.ndim != 2 or len(ring) < 3 or not shapely.LinearRing(ring).is_simple:
        raise InputError(
            "the edge to fit is no ring.",
            where="Edge",
            remedy="Give one closed edge that does not cross itself.",
        )

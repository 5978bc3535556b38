"""The centroid inside a closed chain, from integrals along its edge."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from geometry.along import motion
from geometry.curves import Arc, Chain, Point, Segment, chain_area_mm2
from geometry.features import Hole

# 32 nodes are exact for a cubic (its integrand has degree 8), and to the last figures for an arc.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)


def centroid_mm(edge: Chain, cutouts: Iterable[Chain], holes: Iterable[Hole]) -> Point:
    """Return the centroid of a closed edge with its openings taken out, mm.

    Notes
    -----
    Green's theorem: the integral of x over a region is that of ``x^2 / 2 dy`` along its edge, that
    of y is ``-y^2 / 2 dx``. Lengths are taken from the edge's first point, so that a place far
    from the origin costs no figures.
    """
    origin = np.array(edge[0].start)
    area, moment = chain_area_mm2(edge), _moment(edge, origin)
    for cutout in cutouts:
        area -= chain_area_mm2(cutout)
        moment = moment - _moment(cutout, origin)
    for hole in holes:
        hole_mm2 = math.pi / 4 * hole.diameter_mm**2
        area -= hole_mm2
        moment = moment - hole_mm2 * (np.array([hole.x_mm, hole.y_mm]) - origin)
    x, y = (origin + moment / area).tolist()
    return x, y


def _moment(chain: Chain, origin: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the first moments (of x, of y) of the inside of a chain about a point, mm3."""
    moments: NDArray[np.float64] = np.sum([_piece(segment, origin) for segment in chain], axis=0)
    return moments


def _piece(segment: Segment, origin: NDArray[np.float64]) -> NDArray[np.float64]:
    # A large arc is cut in two, each well within what the nodes resolve.
    parts = 2 if isinstance(segment, Arc) else 1
    starts = np.arange(parts) / parts
    t = (starts[:, None] + (_NODES + 1) / (2 * parts)).ravel()
    points, velocity = motion(segment, t)
    x, y = (points - origin).T
    weights = np.tile(_WEIGHTS, parts) / (2 * parts)
    dx, dy = velocity.T
    return np.array([(x * x * dy) @ weights, -(y * y * dx) @ weights]) / 2

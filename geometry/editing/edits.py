"""A measured billet with all that was changed by hand, and what that claims beyond the measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
import shapely

from geometry.billet import Billet
from geometry.curves import Point
from geometry.editing.cut import Cut
from geometry.editing.edges import Floats, rings_of
from geometry.editing.flaws import AddFlaw, RemoveFlaw
from geometry.editing.redraw import Redraw
from geometry.errors import InputError
from geometry.overhang import deepest_point
from geometry.segments import Segments

Edit: TypeAlias = Redraw | Cut | AddFlaw | RemoveFlaw

CLAIM_STEP_MM = 0.5  # along the edge, at which it is looked at
LEAST_CLAIM_MM = 1e-3  # less is taken for none


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """Steel that was drawn in by hand where none was measured.

    Parameters
    ----------
    beyond_mm : float
        How far the changed edge lies outside the measured one at most, > 0.
    point_mm : tuple of float
        Where.
    """

    beyond_mm: float
    point_mm: Point


def edited(measured: Billet, edits: Sequence[Edit]) -> Billet:
    """Return a billet with changes applied in order; without any, the very same billet.

    Where its edge then claims steel that was not measured, it is as doubtful as it claims: two
    standard deviations reach back to the measured edge, and two of that edge's own beyond.

    Raises
    ------
    InputError
        If a change cannot be made; it names which.
    """
    billet = measured
    for number, edit in enumerate(edits, start=1):
        try:
            billet = edit.applied(billet)
        except InputError as error:
            raise InputError(
                error.message, where=f"Change {number} ({edit.name})", remedy=error.remedy
            ) from error
    return _doubted(measured, billet) if edits else measured


def _doubted(measured: Billet, changed: Billet) -> Billet:
    """Return a changed billet, its vertices no surer than what they claim."""
    beyond_mm = np.concatenate(
        [_beyond_mm(ring.points_mm, measured) for ring in rings_of(changed)],
    )
    claims = beyond_mm > LEAST_CLAIM_MM
    if not claims.any():
        return changed
    sigma = np.array(changed.vertex_sigma_mm or [0.0] * len(claims))
    from_mm = measured.edge_sigma_mm(changed.vertices_mm()[claims])
    sigma[claims] = np.maximum(sigma[claims], from_mm + beyond_mm[claims] / 2.0)
    return replace(changed, vertex_sigma_mm=tuple(sigma.tolist()))


def _beyond_mm(ring: Floats, measured: Billet) -> Floats:
    """Return (N,) how far the pieces next to each vertex of a ring leave the measured steel."""
    after = np.roll(ring, -1, axis=0)
    counts = np.ceil(np.hypot(*(after - ring).T) / CLAIM_STEP_MM).astype(int) + 1
    piece = np.repeat(np.arange(len(ring)), counts)
    first = np.cumsum(counts) - counts
    share = (np.arange(len(piece)) - first[piece]) / (counts[piece] - 1)
    points = ring[piece] + share[:, None] * (after - ring)[piece]
    off = np.zeros(len(points))
    outside = ~shapely.contains_xy(measured.shape, points)
    off[outside] = shapely.distance(measured.shape, shapely.points(points[outside]))
    beyond = np.maximum.reduceat(off, first)
    return np.maximum(beyond, np.roll(beyond, 1))


def claim(measured: Billet, changed: Billet) -> Claim | None:
    """Return where a changed billet reaches farthest beyond the measured one; None if nowhere.

    Notes
    -----
    To `LEAST_CLAIM_MM`: less is taken for none.
    """
    beyond = shapely.difference(changed.shape, measured.shape)
    if beyond.area == 0.0:
        return None
    worst = deepest_point(beyond, Segments(measured.shape))
    return (
        Claim(beyond_mm=worst.depth_mm, point_mm=worst.point_mm)
        if worst.depth_mm > LEAST_CLAIM_MM
        else None
    )

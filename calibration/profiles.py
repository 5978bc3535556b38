"""Profiles across lines and edges: sampling them, and the smooth curve most of them agree on."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

SEED = 7  # of the random picks; the same picture always gives the same lines
TRIALS = 100  # random triples: with half of the points wrong, 1 - (7/8)^100 finds a right one


def smooth_curve(
    offsets_px: Points, first_px: float, least_px: float = 0.25
) -> tuple[Points, NDArray[np.bool_]]:
    """Return a parabola through evenly spaced offsets, and which of them follow it.

    The parabola that most offsets are near to is found over random triples, whatever the rest
    say; then those near it settle it by least squares.

    Parameters
    ----------
    offsets_px : ndarray, shape (n,)
        nan where nothing was seen.
    first_px : float
        Distance within which an offset counts for a trial curve.
    least_px : float
        Distance within which an offset is never left out.

    Returns
    -------
    curve : ndarray, shape (n,)
    kept : ndarray of bool, shape (n,)
        None true if there is no such curve.
    """
    t = np.linspace(-1.0, 1.0, len(offsets_px))
    basis = np.column_stack([np.ones_like(t), t, t * t])
    none = np.zeros(len(t), bool)
    best = _agreed(t, basis, offsets_px, first_px)
    if best is None:
        return np.zeros(len(t)), none
    limit = first_px
    kept = none
    for _ in range(6):
        errors = np.abs(basis @ best - offsets_px)
        kept = np.isfinite(offsets_px) & (errors < limit)
        if kept.sum() < 8:
            return np.asarray(basis @ best, float), none
        best = np.asarray(np.linalg.lstsq(basis[kept], offsets_px[kept], rcond=None)[0], float)
        spread = 1.4826 * float(np.median(errors[kept]))
        limit = float(np.clip(3.5 * spread, least_px, first_px))
    return np.asarray(basis @ best, float), kept


def _agreed(t: Points, basis: Points, offsets_px: Points, near_px: float) -> Points | None:
    """Return the coefficients of the trial parabola that most offsets are near to."""
    known = np.flatnonzero(np.isfinite(offsets_px))
    if len(known) < 12:
        return None
    rng = np.random.default_rng(SEED)
    picks = known[rng.integers(0, len(known), (TRIALS, 3))]
    picks = picks[np.abs(np.linalg.det(basis[picks])) > 0.02]
    if not len(picks):
        return None
    trials = np.linalg.solve(basis[picks], offsets_px[picks][..., None])[..., 0]
    trials = trials[np.abs(trials[:, 2]) < 0.02 * len(t) + 2.0]  # lenses bow lines no more
    if not len(trials):
        return None
    errors = np.abs(trials @ basis[known].T - offsets_px[known])
    best: Points = trials[int(np.argmin(np.minimum(errors, near_px).sum(axis=1)))]
    return best


def line_through(points: Points) -> Points:
    """Return the line (nx, ny, c), n.p = c, nearest to (N, 2) points in the least squares."""
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    turn = 0.5 * math.atan2(2.0 * float(x @ y), float(x @ x - y @ y))
    normal = np.array([-math.sin(turn), math.cos(turn)])
    return np.array([*normal, normal @ middle])


def crossing(a: Points, b: Points) -> Points:
    """Return the place where two lines (nx, ny, c) meet."""
    return np.asarray(np.linalg.solve(np.array([a[:2], b[:2]]), np.array([a[2], b[2]])), float)

"""Sections across an outline: the lowest and highest point of the edge at an x."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.errors import InputError

Indices: TypeAlias = NDArray[np.intp]
TOUCH_MM = 1e-6  # an x this close to the outermost point is at it


def sections_mm(ring: NDArray[np.float64], x_mm: ArrayLike) -> NDArray[np.float64]:
    """Return the lowest and highest y of a ring at many x.

    Parameters
    ----------
    ring : (M, 2) array
        A closed edge, mm, its last point not repeated.
    x_mm : array_like, (N,)
        Where to look, mm.

    Returns
    -------
    (N, 2) array
        The edge's y and the spine's y, mm; not a number where the ring does not reach.
    """
    places = np.asarray(x_mm, float).reshape(-1)
    order = np.argsort(places)
    ahead = places[order]
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    first, last = np.minimum(x0, x1), np.maximum(x0, x1)
    over = _pairs(np.searchsorted(ahead, first), np.searchsorted(ahead, last))
    touch = _pairs(
        np.searchsorted(ahead, x0 - TOUCH_MM), np.searchsorted(ahead, x0 + TOUCH_MM, side="right")
    )
    slope = (y1 - y0) / np.where(x1 == x0, 1.0, x1 - x0)
    edge, at = over
    y = np.concatenate([y0[edge] + (ahead[at] - x0[edge]) * slope[edge], y0[touch[0]]])
    where = order[np.concatenate([at, touch[1]])]
    found = np.tile([np.inf, -np.inf], (len(places), 1))
    np.minimum.at(found[:, 0], where, y)
    np.maximum.at(found[:, 1], where, y)
    return np.where(np.isfinite(found), found, np.nan)


def _pairs(first: Indices, last: Indices) -> tuple[Indices, Indices]:
    """Return (K,) which edge and which place, for edges that reach from a place up to another."""
    counts = np.maximum(last - first, 0)
    edge = np.repeat(np.arange(len(first)), counts)
    number = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts)
    return edge, first[edge] + number


def section_mm(ring: NDArray[np.float64], x_mm: float) -> tuple[float, float]:
    """Return the lowest and highest y of a ring at an x, mm; InputError when it is not there."""
    [[low, high]] = sections_mm(ring, [x_mm]).tolist()
    if not low <= high:
        raise InputError(
            f"it does not reach x {x_mm:.1f} mm.", where="Family", remedy="Change the lengths."
        )
    return low, high

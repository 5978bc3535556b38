"""Sections across an outline: the lowest and highest point of the edge at an x."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.errors import InputError

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
    places = np.asarray(x_mm, float).reshape(-1, 1)
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    over = (x0 <= places) != (x1 <= places)
    run = np.where(x1 == x0, 1.0, x1 - x0)
    y = y0 + (places - x0) / run * (y1 - y0)
    at = np.abs(x0 - places) <= TOUCH_MM
    low = np.minimum(_least(y, over), _least(np.broadcast_to(y0, at.shape), at))
    high = -np.minimum(_least(-y, over), _least(np.broadcast_to(-y0, at.shape), at))
    found = np.column_stack([low, high])
    return np.where(np.isfinite(found), found, np.nan)


def _least(values: NDArray[np.float64], where: NDArray[np.bool_]) -> NDArray[np.float64]:
    least: NDArray[np.float64] = np.where(where, values, np.inf).min(axis=1)
    return least


def section_mm(ring: NDArray[np.float64], x_mm: float) -> tuple[float, float]:
    """Return the lowest and highest y of a ring at an x, mm; InputError when it is not there."""
    [[low, high]] = sections_mm(ring, [x_mm]).tolist()
    if not low <= high:
        raise InputError(
            f"it does not reach x {x_mm:.1f} mm.", where="Family", remedy="Change the lengths."
        )
    return low, high

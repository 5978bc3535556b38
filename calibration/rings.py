"""Closed lines of many points, and values along them."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Values = NDArray[np.float64]
Field = NDArray[np.float32]

MOST_ROWS = 32000  # remap refuses sides above 32767


def ring_area(points: Points) -> float:
    """Return the area within a ring, (N, 2); positive where x turns toward y."""
    x, y = points.T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def resampled(points: Points, step: float) -> Points:
    """Return a ring at even steps; the first point is kept."""
    closed = np.vstack([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(8, round(along[-1] / step))
    at = np.linspace(0.0, along[-1], count, endpoint=False)
    return np.column_stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)])


def ring_normals(ring: Points, *, reach: int = 3) -> Points:
    """Return unit normals that point out of a ring, taken over `reach` points to each side."""
    along = np.roll(ring, -reach, axis=0) - np.roll(ring, reach, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    sign = 1.0 if ring_area(ring) > 0 else -1.0
    return sign * np.column_stack([along[:, 1], -along[:, 0]])


def smoothed_ring(values: Values, window: int) -> Values:
    """Return running means along the first axis of a ring; `window` is odd."""
    window = min(window, (len(values) - 1) // 2 * 2 + 1)
    half = window // 2
    if half == 0:
        return values
    rows = np.asarray(values, np.float64).reshape(len(values), -1)
    wrapped = np.concatenate([rows[-half:], rows, rows[:half]])
    mean = cv2.blur(wrapped, (1, window))[half:-half]
    return np.asarray(mean.reshape(values.shape), np.float64)


def median_along(values: Values, *, reach: int = 15, stride: int = 4, step: int = 4) -> Values:
    """Return running medians of values along a ring, smoothed: outliers give way to neighbours.

    The median is taken over `2 reach + 1` values, `stride` points apart, at each `step`-th point.
    """
    places = np.arange(0, len(values), step)
    shifts = np.arange(-reach, reach + 1) * stride
    windows = np.partition(values[(places[:, None] + shifts) % len(values)], reach, axis=1)
    middle = np.interp(np.arange(len(values)), places, windows[:, reach], period=len(values))
    return smoothed_ring(middle, 2 * stride + 1)


def across_ring(field: Field, ring: Points, outward: Points, across: Values) -> Values:
    """Return a field's values between its pixels at steps across a line, (N, T).

    Parameters
    ----------
    field : ndarray, (h, w)
        Outside of it the nearest rim pixel counts.
    ring, outward : ndarray, (N, 2)
        Places and the directions across.
    across : ndarray, (T,)
        How far along those, px.
    """
    values = np.empty((len(ring), len(across)), np.float64)
    for top in range(0, len(ring), MOST_ROWS):
        part = slice(top, top + MOST_ROWS)
        x, y = (
            (ring[part, axis, None] + across * outward[part, axis, None]).astype(np.float32)
            for axis in (0, 1)
        )
        values[part] = cv2.remap(field, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return values


def sampled(field: Field, points: Points) -> Values:
    """Return a field's values between its pixels, for points of any shape (..., 2).

    Outside of it the nearest rim pixel counts.
    """
    places = points.reshape(-1, 2)
    columns = 1024  # remap refuses sides above 32767
    maps = np.zeros((2, -(-len(places) // columns) * columns), np.float32)
    maps[:, : len(places)] = places.T
    map_x, map_y = maps.reshape(2, -1, columns)
    values = cv2.remap(field, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(values.ravel()[: len(places)].reshape(points.shape[:-1]), np.float64)

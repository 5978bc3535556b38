"""Which closed loops lie within which."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from app.files.strokes import Points


def polygons_of(loops: Sequence[Points]) -> NDArray[np.object_]:
    """Return loops of (N, 2) points as polygons, which may cross themselves."""
    return np.array(shapely.polygons([shapely.LinearRing(points) for points in loops]))


def apart(polygons: NDArray[np.object_], usable: NDArray[np.bool_]) -> list[int]:
    """Return which loops do not touch each other or lie in each other, taking the largest first.

    Parameters
    ----------
    polygons : (N,) array of Polygon
    usable : (N,) array of bool
        Those that count; another one that crosses itself never does.

    Returns
    -------
    list of int
        The largest first.
    """
    tree, free = shapely.STRtree(polygons), usable & shapely.is_valid(polygons)
    kept = []
    for number in np.argsort(-shapely.area(polygons), kind="stable").tolist():
        if free[number]:
            kept.append(number)
            free[tree.query(polygons[number], predicate="intersects")] = False
    return kept

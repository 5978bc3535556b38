"""Pieces to change by hand, and changes carried with the piece."""

import math
from dataclasses import fields, replace
from typing import Any

import numpy as np
import shapely
from hypothesis import strategies as st
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.billet import Billet
from geometry.editing import Edit
from tests.geometry.shapes import wavy


def lengths(least: float, most: float) -> st.SearchStrategy[float]:
    """Numbers of millimetres as hands and files give them; below 1e-300 division gives infinity."""
    return st.floats(least, most, allow_subnormal=False)


def bar() -> Billet:
    """A bar of 100 x 40 mm with a square hole, each vertex 0.05 mm more doubtful than the last."""
    hole = [(70.0, 15.0), (70.0, 25.0), (80.0, 25.0), (80.0, 15.0)]
    shape = Polygon([(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)], [hole])
    sigmas = tuple(0.05 * (number + 1) for number in range(8))
    return Billet(shape=orient(shape), vertex_sigma_mm=sigmas, thickness_mm=4.0)


def forging() -> Billet:
    """A waved piece with a drilled hole, 180 vertices and more."""
    shape = wavy(200.0, 60.0, 180, 11, 0.03).difference(shapely.Point(40.0, 5.0).buffer(4.0))
    assert isinstance(shape, Polygon)
    shape = orient(shape)
    return Billet(shape=shape, vertex_sigma_mm=(0.08,) * (len(shapely.get_coordinates(shape)) - 2))


def carried(points: object, angle_deg: float, x_mm: float, y_mm: float) -> Any:
    """Points turned about the origin and shifted."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    there: np.ndarray = np.asarray(points) @ np.array([[cos, sin], [-sin, cos]]) + (x_mm, y_mm)
    return there


def billet_carried(billet: Billet, *move: float) -> Billet:
    shape = shapely.transform(billet.shape, lambda points: carried(points, *move))
    flaws = tuple(shapely.transform(f, lambda points: carried(points, *move)) for f in billet.flaws)
    return replace(billet, shape=shape, flaws=flaws)


def edit_carried(edit: Edit, *move: float) -> Edit:
    """A change with each of its places carried; lengths stay."""
    changes: dict[str, Any] = {}
    for field in fields(edit):
        value = getattr(edit, field.name)
        if isinstance(value, tuple) and value:
            there = carried(value, *move).tolist()
            nested = isinstance(there[0], list)
            changes[field.name] = tuple(map(tuple, there)) if nested else tuple(there)
    return replace(edit, **changes)

"""Shapes that are hard on geometry: notched, spiked, thin, drilled, with points set down twice."""

import numpy as np
import shapely
from shapely import Polygon

from tests.geometry.shapes import moved, regular

KINDS = ["star", "notches", "spikes", "sliver", "drilled", "steps", "repeats", "comb"]


def rough_shape(kind: str, seed: int, size_mm: float = 100.0) -> Polygon:
    """Return a valid shape of a kind, about as large as asked, turned and shifted at random."""
    random = np.random.default_rng(seed)
    shape = _shape(kind, random)
    x_mm, y_mm, angle_deg = random.uniform(-1, 1, 3) * (60, 40, 180)
    placed = moved(shape, x_mm, y_mm, angle_deg)
    grown = shapely.transform(placed, lambda points: points * (size_mm / 100.0))
    assert grown.is_valid
    return grown


def _shape(kind: str, random: np.random.Generator) -> Polygon:
    if kind == "star":
        return _round(random.uniform(15, 50, 24))
    if kind in ("notches", "spikes"):
        radii = np.full(60, 30.0)
        radii[random.choice(60, 5, replace=False)] = 8.0 if kind == "notches" else 60.0
        return _round(radii)
    if kind == "sliver":
        return Polygon([(0, 0), (100, 0), (100, random.uniform(0.02, 1)), (0, random.uniform(1))])
    if kind == "drilled":
        plate = _round(40.0 + random.uniform(-2, 2, 80))
        for x_mm, y_mm in random.uniform(-22, 22, (4, 2)):
            plate = plate.difference(moved(regular(12, random.uniform(0.5, 5)), x_mm, y_mm, 0))
        return max(shapely.get_parts(plate), key=lambda part: part.area)
    if kind == "steps":  # right angles only, as of pixels
        cells = np.array(np.nonzero(random.random((9, 9)) < 0.75)).T * 9.0
        whole = shapely.union_all(shapely.box(*cells.T, *(cells + 9.0).T)).buffer(0)
        return max(shapely.get_parts(whole), key=lambda part: part.area)
    if kind == "repeats":  # points set down twice, and more on the straight between two
        corners = shapely.get_coordinates(_round(random.uniform(25, 45, 12)))[:-1]
        middles = (corners + np.roll(corners, -1, axis=0)) / 2.0
        return Polygon(np.stack([corners, corners, middles, middles], axis=1).reshape(-1, 2))
    teeth = [(x, y) for x in range(0, 80, 8) for y in ((0, 30) if x % 16 else (30, 0))]
    return Polygon([*teeth, (80, 40), (0, 40)])


def _round(radii: np.ndarray) -> Polygon:
    angles = np.arange(len(radii)) * 2.0 * np.pi / len(radii)
    return Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]))

"""Random photographed plates, each decided by its number."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Polygon, affinity

from tests.calibration.render import Camera
from tests.calibration.steel_render import CREAM, GREY, KRAFT, SHEETS, WHITE, SteelScene, Surface

SURFACES = {
    "ground": Surface(base=(0.27, 0.27, 0.28), streaks=0.15, mottle=0.08, side=0.5),
    "bright": Surface(base=(0.42, 0.42, 0.43), streaks=0.12, mottle=0.06, glints=4, side=0.4),
    "forged": Surface(dark_patches=0.1, glints=25, mottle=0.25, bright_rim=0.04),
    "rusty": Surface(base=(0.11, 0.11, 0.12), rust=0.25, dark_patches=0.08, glints=10),
    "scale": Surface(base=(0.06, 0.06, 0.065), mottle=0.15, dark_patches=0.2, side=0.7),
}
PAPERS = {"white": WHITE, "cream": CREAM, "grey": GREY, "kraft": KRAFT}


def plate(rng: np.random.Generator, sheet_mm: tuple[float, float], holes: int) -> Polygon:
    """Return a bar, a trapezoid, a torn or a bitten piece, with holes drilled through it."""
    length, width = rng.uniform(90, 160), rng.uniform(28, 50)
    kind = rng.choice(["bar", "trapezoid", "bite", "torn"])
    shape = shapely.box(-length / 2, -width / 2, length / 2, width / 2)
    if kind == "trapezoid":
        slant = rng.uniform(3, 14, 2)
        right, left = length / 2 - slant[0], slant[1] - length / 2
        low = [(-length / 2, -width / 2), (length / 2, -width / 2)]
        shape = Polygon([*low, (right, width / 2), (left, width / 2)])
    if kind == "bite":
        radius = rng.uniform(35, 80)
        deep = rng.uniform(0.25, 0.5) * width
        centre = (rng.uniform(-0.2, 0.2) * length, width / 2 + radius - deep)
        shape = shape.difference(shapely.Point(centre).buffer(radius, quad_segs=64))
    if kind == "torn":
        x = np.linspace(length / 2 - 25, length / 2 + 1, 9)
        y = np.linspace(width / 2 + 1, width / 2 - 0.6 * width, 9) + rng.uniform(-2, 2, 9)
        cut = Polygon([*zip(x, y, strict=True), (length, width)])
        shape = shape.difference(shapely.make_valid(cut))
    waves = 0.4 if kind == "bar" else 0.08
    shape = _hammered(max(shapely.get_parts(shape), key=lambda part: part.area), rng, waves)
    shape = _drilled(shape, rng, holes)
    middle = (0.5 * sheet_mm[0], 0.62 * sheet_mm[1])
    return affinity.translate(affinity.rotate(shape, rng.uniform(-12, 12), origin=(0, 0)), *middle)


def _hammered(shape: Polygon, rng: np.random.Generator, waves_mm: float) -> Polygon:
    """Return a plate whose corners are rounded and whose rim waves a little."""
    ring = shapely.get_coordinates(
        shapely.segmentize(shape.buffer(-0.5).buffer(0.5).exterior, 0.5)
    )[:-1]
    along = np.arange(len(ring)) / len(ring) * 2 * np.pi
    off = sum(
        rng.normal(0, waves_mm / 3) * np.sin(k * along + rng.uniform(0, 6)) for k in range(9, 40, 3)
    )
    out = ring - ring.mean(axis=0)
    return Polygon(ring + off[:, None] * out / np.linalg.norm(out, axis=1, keepdims=True)).buffer(0)


def _drilled(shape: Polygon, rng: np.random.Generator, holes: int) -> Polygon:
    for _ in range(holes):
        radius = rng.uniform(1.5, 5.0)
        left, low, right, high = shape.bounds
        for _ in range(60):
            place = shapely.Point(rng.uniform(left, right), rng.uniform(low, high))
            if shape.contains(place.buffer(radius + 3.0)):
                shape = shape.difference(place.buffer(radius, quad_segs=32))
                break
    return shape


def scene(seed: int) -> SteelScene:
    """Return one of many scenes, all of it decided by its number."""
    rng = np.random.default_rng(1000 + seed)
    sheet = SHEETS["a4" if rng.random() < 0.5 else "letter"]
    surface = SURFACES[list(SURFACES)[seed % len(SURFACES)]]
    paper = PAPERS[list(PAPERS)[seed // len(SURFACES) % len(PAPERS)]]
    camera = _camera(rng, sheet)
    bright_paper = float(np.mean(paper)) > 0.5
    return SteelScene(
        plate=plate(rng, sheet, int(rng.integers(0, 4))),
        thickness_mm=float(rng.uniform(3, 10)),
        camera=camera,
        surface=surface,
        sheet_mm=sheet,
        paper=paper,
        bench=(0.16, 0.11, 0.07) if bright_paper else (0.05, 0.07, 0.065),
        line_mm=float(rng.choice([76.2, 100.0, 150.0])),
        lamp_deg=rng.uniform(45, 80),
        lamp_azimuth_deg=rng.uniform(0, 360),
        shadow=rng.uniform(0.2, 0.6),
        blur_px=rng.uniform(0.6, 1.2),
        noise=rng.uniform(0.003, 0.01),
        jpeg=int(rng.integers(82, 95)),
        seed=seed,
    )


def _camera(rng: np.random.Generator, sheet_mm: tuple[float, float]) -> Camera:
    """Return a phone's camera above a sheet, leaning by up to 20 degrees."""
    size = (2000, 1500)
    focal = 26.0 / math.hypot(36.0, 24.0) * math.hypot(*size)
    return Camera(
        size_px=size,
        focal_px=focal,
        aim_mm=(sheet_mm[0] / 2, sheet_mm[1] / 2),
        distance_mm=focal * sheet_mm[0] / (rng.uniform(0.62, 0.75) * size[0]),
        tilt_deg=rng.uniform(0, 20),
        azimuth_deg=rng.uniform(0, 360),
        roll_deg=rng.uniform(-8, 8),
    )

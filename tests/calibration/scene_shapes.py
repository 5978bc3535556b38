"""Random pieces of steel and the strokes that a hand draws round them, millimetres."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, translate

STEP_MM = 0.4  # between points of a stroke
HAND_MM = 0.045  # how far a hand strays from the steel, one standard deviation
MOST_HAND_MM = 0.12


def random_piece(random: np.random.Generator) -> tuple[str, Polygon]:
    """Return the name of a shape and its outline round the origin, 120 to 260 mm long."""
    kind = str(random.choice(["bar", "trapezoid", "forging", "bite", "notched", "torn"]))
    length, width = random.uniform(120, 260), random.uniform(32, 72)
    outline = _outline(kind, length, width, random)
    if random.random() < 0.5:
        r = random.uniform(0.5, 4.0)
        outline = outline.buffer(-r).buffer(2 * r).buffer(-r)
    if random.random() < 0.4:
        outline = _hammered(outline, random)
    return kind, translate(outline, *(-np.array(outline.centroid.coords[0])))


def _outline(kind: str, length: float, width: float, random: np.random.Generator) -> Polygon:
    box = shapely.box(0, 0, length, width)
    if kind == "trapezoid":
        cut, lean = random.uniform(5, 40), random.uniform(-20, 20)
        return Polygon([(0, 0), (length, 0), (length - cut, width), (max(lean, 0), width)])
    if kind == "forging":
        x = np.linspace(0, length, 200)
        tang = random.uniform(0.25, 0.4) * length
        blade = np.clip((x - tang) / 12.0, 0, 1) ** 2 * (3 - 2 * np.clip((x - tang) / 12.0, 0, 1))
        tip = np.sqrt(np.clip(1 - ((x - tang) / (length - tang)).clip(0) ** 4, 0, 1))
        high = width * (0.45 + 0.15 * blade) * np.maximum(tip, 0.04)
        low = -width * (0.10 + 0.30 * blade) * np.maximum(tip, 0.04)
        return Polygon([*zip(x, high, strict=True), *zip(x[::-1], low[::-1], strict=True)])
    if kind == "bite":
        r = random.uniform(0.4, 0.8) * width
        middle = (random.uniform(0.3, 0.8) * length, width + 0.5 * r)
        return box.difference(Point(middle).buffer(r, quad_segs=64))
    if kind == "notched":
        a, b = random.uniform(0.3, 0.6) * length, random.uniform(0.3, 0.6) * width
        return box.difference(shapely.box(a, b, length + 1, width + 1))
    if kind == "torn":
        x = np.linspace(length, 0.55 * length, 9)
        y = np.linspace(0.35 * width, width, 9) + random.uniform(-3, 3, 9)
        torn = [*zip(x, y, strict=True)]
        return Polygon([(0, 0), (length, 0), *torn[:-1], (0.55 * length, width), (0, width)])
    return box


def _hammered(outline: Polygon, random: np.random.Generator) -> Polygon:
    """Return an outline whose edge wavers by a few tenths over centimetres."""
    ring = dense(outline.exterior)
    off = _smooth_noise(len(ring), random, (25.0, 60.0)) * 0.4
    moved = Polygon(ring + off[:, None] * outward(ring))
    return moved if moved.is_valid else outline


def dense(ring, step: float = STEP_MM) -> np.ndarray:
    """Return points evenly along a counter-clockwise ring, open."""
    ring = ring if ring.is_ccw else ring.reverse()
    count = max(16, round(ring.length / step))
    at = np.linspace(0, ring.length, count, endpoint=False)
    return shapely.get_coordinates(shapely.line_interpolate_point(ring, at))


def outward(ring: np.ndarray) -> np.ndarray:
    """Return unit normals that point out of a counter-clockwise ring."""
    along = np.roll(ring, -2, axis=0) - np.roll(ring, 2, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    return np.column_stack([along[:, 1], -along[:, 0]])


def _smooth_noise(count: int, random: np.random.Generator, waves_mm) -> np.ndarray:
    """Return noise of one standard deviation round a ring, of these wavelengths."""
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    round_mm = count * STEP_MM
    orders = np.rint(round_mm / random.uniform(*waves_mm, 12)).clip(1)
    phases = random.uniform(0, 2 * np.pi, 12)
    return np.sin(orders[:, None] * turn + phases[:, None]).sum(axis=0) / math.sqrt(6.0)


def hand_ring(steel: Polygon, pen_mm: float, random: np.random.Generator) -> np.ndarray:
    """Return the middle of a pen's closed stroke, led along the steel by a hand."""
    ring = dense(steel.buffer(pen_mm / 2, quad_segs=16).exterior)
    off = _smooth_noise(len(ring), random, (8.0, 60.0)) * HAND_MM
    return ring + np.clip(off, -MOST_HAND_MM, MOST_HAND_MM)[:, None] * outward(ring)


def strokes(
    ring: np.ndarray, pen_mm: float, random: np.random.Generator, *, gaps: int
) -> tuple[list[LineString], list[tuple[float, float]]]:
    """Return a closed stroke with gaps of up to 5 mm of bare paper, and the gaps' middles."""
    count = len(ring)
    if gaps == 0:
        return [LineString(np.vstack([ring, ring[:2]]))], []
    starts = (random.integers(count) + np.arange(gaps) * count // gaps) % count
    bare = random.uniform(1.5, 4.8, gaps)
    steps = np.floor((bare + pen_mm) / STEP_MM).astype(int)
    order = np.argsort(starts)
    starts, steps = starts[order], steps[order]
    pieces, middles = [], []
    for k in range(gaps):
        first = starts[k] + steps[k]
        last = starts[(k + 1) % gaps] + (count if k == gaps - 1 else 0)
        pieces.append(LineString(ring[np.arange(first, last + 1) % count]))
        middles.append(tuple(ring[(starts[k] + steps[k] // 2) % count]))
    return pieces, middles


def overrun(ring: np.ndarray, random: np.random.Generator) -> LineString:
    """Return a stroke that leaves the ring in its own direction, a little to either side."""
    k = int(random.integers(len(ring)))
    ahead = ring[(k + 2) % len(ring)] - ring[k - 2]
    turn = math.atan2(ahead[1], ahead[0]) + random.choice([-1, 1]) * random.uniform(0.2, 0.6)
    stop = ring[k] + random.uniform(3, 11) * np.array([math.cos(turn), math.sin(turn)])
    return LineString([ring[k], stop])


def drawn_twice(ring: np.ndarray, random: np.random.Generator) -> LineString:
    """Return a stretch of the ring once more, a little outside."""
    count = int(random.uniform(15, 50) / STEP_MM)
    places = (int(random.integers(len(ring))) + np.arange(count)) % len(ring)
    off = random.uniform(0.2, 1.2) * np.sin(np.linspace(0, np.pi, count))
    return LineString(ring[places] + off[:, None] * outward(ring)[places])


LETTERS = {  # polylines on a unit square; invented
    "A": [[(0, 0), (0.4, 1), (0.8, 0)], [(0.15, 0.4), (0.65, 0.4)]],
    "E": [[(0.7, 0), (0, 0), (0, 1), (0.7, 1)], [(0, 0.5), (0.5, 0.5)]],
    "H": [[(0, 0), (0, 1)], [(0.7, 0), (0.7, 1)], [(0, 0.5), (0.7, 0.5)]],
    "K": [[(0, 0), (0, 1)], [(0.7, 1), (0, 0.45), (0.7, 0)]],
    "P": [[(0, 0), (0, 1), (0.55, 1), (0.65, 0.75), (0.55, 0.5), (0, 0.5)]],
    "0": [[(0.35 + 0.3 * math.cos(t), 0.5 + 0.5 * math.sin(t)) for t in np.linspace(0, 6.4, 17)]],
    "4": [[(0.5, 0), (0.5, 1), (0, 0.35), (0.7, 0.35)]],
    "7": [[(0, 1), (0.7, 1), (0.25, 0)]],
}


def writing(random: np.random.Generator, *, height_mm: float, count: int) -> list[LineString]:
    """Return hand-written letters in a row, from the origin, slightly turned."""
    lines = []
    for k in range(count):
        for stroke in LETTERS[str(random.choice(sorted(LETTERS)))]:
            points = np.array(stroke) + random.normal(0, 0.03, (len(stroke), 2)) + [1.05 * k, 0]
            lines.append(LineString(points * height_mm))
    turn = random.uniform(-12, 12)
    return [rotate(line, turn, origin=(0, 0)) for line in lines]


def shortened(line: LineString, share: float) -> LineString:
    """Return a line without a share of its length at each end."""
    ends = shapely.line_interpolate_point(line, [share, 1 - share], normalized=True)
    return LineString(ends)

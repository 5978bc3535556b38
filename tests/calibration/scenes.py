"""Random scenes of a traced piece of steel: sheet, ink, clutter, light and camera."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from tests.calibration.render import Camera
from tests.calibration.scene_camera import cut_off, random_camera
from tests.calibration.scene_inks import BLACK, BLUE, GREEN, LEAD, PAPERS, PENS, RED, RULES
from tests.calibration.scene_picture import Layer, Look, SheetPicture
from tests.calibration.scene_score import TracedScene, rigid
from tests.calibration.scene_shapes import (
    drawn_twice,
    hand_ring,
    overrun,
    random_piece,
    shortened,
    strokes,
    writing,
)

A4, A3, LETTER, TABLOID = (297.0, 210.0), (420.0, 297.0), (279.4, 215.9), (431.8, 279.4)


def random_scene(seed: int) -> TracedScene:
    """Return one scene; the same for the same seed."""
    random = np.random.default_rng([seed, 2026])
    for _ in range(60):
        scene = _Drawing(random).scene(seed)
        if scene is not None:
            return scene
    raise AssertionError("no scene fits")


class _Drawing:
    """One sheet being filled: what is on it, and where there is room."""

    def __init__(self, random: np.random.Generator) -> None:
        self.random = random
        self.layers: list[Layer] = []
        self.words: list[str] = []
        self.taken: list[BaseGeometry] = []

    def scene(self, seed: int) -> TracedScene | None:
        random = self.random
        kind, steel = random_piece(random)
        long = steel.bounds[2] - steel.bounds[0] > 225
        self.sheet = [A3, TABLOID][random.integers(2)] if long else [A4, LETTER][random.integers(2)]
        placed = self._placed(steel, margin_mm=14.0, turn_deg=25.0)
        if placed is None:
            return None
        pen, self.pen_mm, self.ink = self._pen()
        paper = self._paper()
        self._stains()
        steel, gaps = self._trace(placed)
        self.taken.append(placed.buffer(6.0 + self.pen_mm))
        if self._chance(0.2):
            self._printed(placed)
        line_mm = self._line()
        if line_mm is None:
            return None
        self._clutter()
        picture = self._picture(paper, seed)
        words = [kind, pen, paper, f"tilt {picture.camera.tilt_deg:.0f}", *self.words]
        return TracedScene(
            name=f"{seed:03d} {', '.join(words)}",
            picture=picture,
            steel=steel,
            line_mm=line_mm,
            gaps_mm=tuple(gaps),
        )

    def _chance(self, share: float) -> bool:
        return bool(self.random.random() < share)

    def _pen(self) -> tuple[str, float, tuple[float, float, float]]:
        pen = str(self.random.choice(sorted(PENS)))
        thin, thick, inks = PENS[pen]
        ink = inks[self.random.integers(len(inks))]
        colour = {BLACK: "black", BLUE: "blue", RED: "red", GREEN: "green", LEAD: "grey"}[ink]
        return f"{colour} {pen}", float(self.random.uniform(thin, thick)), ink

    def _paper(self) -> str:
        paper = str(self.random.choice(sorted(PAPERS)))
        width, height = self.sheet
        if paper in ("ruled", "grid"):
            step = 8.0 if paper == "ruled" else 5.0
            rules = [LineString([(0, y), (width, y)]) for y in np.arange(step, height, step)]
            if paper == "grid":
                rules += [LineString([(x, 0), (x, height)]) for x in np.arange(step, width, step)]
            shape = shapely.union_all([rule.buffer(0.09, cap_style="flat") for rule in rules])
            self.layers.append(Layer(shape=shape, takes=RULES))
        return paper

    def _placed(self, shape, *, margin_mm: float, turn_deg: float):
        """Return a shape turned and shifted to where there is room on the sheet, or None."""
        sheet = shapely.box(0, 0, *self.sheet).buffer(-margin_mm)
        for _ in range(60):
            turned = rotate(shape, self.random.uniform(-turn_deg, turn_deg), origin=(0, 0))
            low, high = np.array(turned.bounds).reshape(2, 2)
            space = np.array(self.sheet) - 2 * margin_mm - (high - low)
            if space.min() < 0:
                continue
            moved = translate(turned, *(margin_mm - low + self.random.random(2) * space))
            if moved.within(sheet) and not any(moved.intersects(each) for each in self.taken):
                return moved
        return None

    def _trace(self, placed: Polygon) -> tuple[Polygon, list[tuple[float, float]]]:
        random = self.random
        ring = hand_ring(placed, self.pen_mm, random)
        count = int(random.choice([0, 0, 1, 2, 3]))
        lines, gaps = strokes(ring, self.pen_mm, random, gaps=count)
        if count:
            self.words.append(f"{count} gaps")
        if self._chance(0.3):
            lines.append(overrun(ring, random))
            self.words.append("overrun")
        if self._chance(0.25):
            lines.append(drawn_twice(ring, random))
            self.words.append("drawn twice")
        holes = self._holes(placed) if self._chance(0.3) and self.pen_mm < 1.5 else []
        for hole, radius in holes:
            lines.append(hole.buffer(radius - self.pen_mm / 2, quad_segs=32).exterior)
        if holes:
            self.words.append(f"{len(holes)} holes")
        self._ink(lines)
        if self._chance(0.35):
            self._write_within(placed, [hole.buffer(radius + 8) for hole, radius in holes])
        drilled = [hole.buffer(radius, quad_segs=64) for hole, radius in holes]
        return placed.difference(shapely.union_all(drilled)), gaps

    def _holes(self, placed: Polygon) -> list[tuple[Point, float]]:
        found: list[tuple[Point, float]] = []
        for _ in range(30):
            radius = self.random.uniform(3.0, 6.5)
            x, y = self.random.uniform(*np.array(placed.bounds).reshape(2, 2))
            hole = Point(x, y)
            free = all(hole.distance(other) > radius + r + 8 for other, r in found)
            if free and hole.buffer(radius + 7).within(placed):
                found.append((hole, radius))
            if len(found) == 2:
                break
        return found

    def _ink(self, lines, *, width_mm: float | None = None, takes=None) -> None:
        width, grain = width_mm or self.pen_mm, 0.5 if self.ink == LEAD else 0.1
        shape = shapely.union_all([line.buffer(width / 2, quad_segs=8) for line in lines])
        self.layers.append(Layer(shape=shape, takes=takes or self.ink, grain=grain))

    def _write_within(self, placed: Polygon, keep_off: list[Polygon]) -> None:
        text = writing(self.random, height_mm=self.random.uniform(4, 8), count=5)
        box = shapely.union_all(text).convex_hull
        for _ in range(40):
            x, y = self.random.uniform(*np.array(placed.bounds).reshape(2, 2))
            there = translate(box, x, y)
            clear = not any(there.intersects(each) for each in keep_off)
            if clear and there.within(placed.buffer(-3)):
                self._ink([translate(line, x, y) for line in text], width_mm=0.5)
                self.words.append("written inside")
                return

    def _line(self) -> float | None:
        """Draw the reference, with or without ticks, in the trace's ink."""
        for length in self.random.permutation([50.0, 76.2, 100.0, 101.6, 120.0, 152.4]):
            line = LineString([(0, 0), (float(length), 0)])
            ticks = [LineString([(x, -2.5), (x, 2.5)]) for x in (0.0, float(length))]
            parts = [line, *ticks] if self._chance(0.75) else [line]
            room = shapely.box(-2, -4, length + 2, 4)
            turn = float(self.random.choice([0.0, 0.0, 90.0]))
            placed = self._placed(rotate(room, turn, origin=(0, 0)), margin_mm=9, turn_deg=6)
            if placed is None:
                continue
            corners = np.array(placed.exterior.coords)[:4]
            start, ahead = _frame(corners, np.array(room.exterior.coords)[:4])
            drawn = [
                LineString(start + np.array(part.coords) @ np.array([ahead, [-ahead[1], ahead[0]]]))
                for part in parts
            ]
            self.pen_mm, kept = min(self.pen_mm, 1.0), self.pen_mm
            if len(parts) == 1:  # its tips are what is measured
                drawn = [shortened(drawn[0], self.pen_mm / 2 / length)]
            self._ink(drawn)
            self.pen_mm = kept
            self.taken.append(placed.buffer(3))
            self.needed = [self.taken[0], placed]
            return float(length)
        return None

    def _stains(self) -> None:
        width, height = self.sheet
        if self._chance(0.3):
            x, y, r = self.random.random() * width, self.random.random() * height, 22.0
            shape = Point(x, y).buffer(r).difference(Point(x, y).buffer(r - 3))
            sheet = shapely.box(1, 1, width - 1, height - 1)
            self.layers.append(Layer(shape=shape & sheet, takes=(0.06, 0.10, 0.18), soft_mm=0.8))
            self.words.append("stain")
        if self._chance(0.3):
            y0, y1 = self.random.uniform(0.2, 0.8, 2) * height
            line = LineString([(0, y0), (width, y1)])
            for off, takes in ((-0.5, 0.08), (0.5, -0.05)):
                self.layers.append(
                    Layer(
                        shape=translate(line, 0, off).buffer(0.5, cap_style="flat"),
                        takes=(takes,) * 3,
                        soft_mm=0.4,
                    )
                )
            self.words.append("crease")

    def _clutter(self) -> None:
        if self._chance(0.4):
            text = writing(self.random, height_mm=self.random.uniform(4, 8), count=7)
            box = shapely.union_all(text).convex_hull.buffer(2)
            there = self._placed(box, margin_mm=6, turn_deg=0.0)
            if there is not None:
                dx, dy = np.array(there.bounds[:2]) - box.bounds[:2]
                self._ink([translate(line, dx, dy) for line in text], width_mm=0.5)
                self.taken.append(there)
                self.words.append("label")
        if self._chance(0.25):
            size = [(150, 25), (120, 8), (40, 20)][self.random.integers(3)]
            thing = shapely.box(0, 0, *size)
            there = self._placed(thing, margin_mm=-30.0, turn_deg=90.0)
            if there is not None:
                shade = translate(there, 1.5, -1.5).buffer(1.0)
                self.layers.append(Layer(shape=shade, takes=(0.4,) * 3, soft_mm=1.0))
                grey = float(self.random.choice([0.08, 0.3, 0.45]))
                self.layers.append(Layer(shape=there, takes=(grey,) * 3, covers=True))
                self.words.append("object")

    def _printed(self, placed: Polygon) -> None:
        """Print a form: a frame round the sheet's field, or lines near the trace."""
        low, high = np.array(placed.bounds).reshape(2, 2)
        room = np.minimum(low, np.array(self.sheet) - high).min()
        if self._chance(0.5):
            inset = self.random.uniform(4.0, max(4.5, min(8.0, room - 4.0)))
            lines = [shapely.box(0, 0, *self.sheet).buffer(-inset, join_style="mitre").exterior]
            self.words.append("frame")
        else:
            y = low[1] - self.random.uniform(3.0, 6.0)
            lines = [LineString([(6, y), (self.sheet[0] - 6, y)])]
            self.words.append("form line")
        self._ink(lines, width_mm=0.35, takes=(0.7, 0.7, 0.7))
        self.taken += [line.buffer(2.0) for line in lines]

    def _picture(self, paper: str, seed: int) -> SheetPicture:
        random = self.random
        camera = self._camera()
        turn = random.uniform(0, 2 * np.pi)
        shadow = float(random.uniform(0.55, 0.85)) if self._chance(0.3) else 1.0
        if shadow < 1.0:
            self.words.append("shadow")
        grey = random.uniform(0.03, 0.12)
        look = Look(
            paper=PAPERS[paper],
            texture=0.025 if paper == "kraft" else 0.006,
            bench=(1.4 * grey, grey, 0.7 * grey),
            gradient=tuple(random.uniform(-0.3, 0.3, 2)),
            shadow=shadow,
            shadow_line=(math.cos(turn), math.sin(turn), random.uniform(-0.2, 0.2)),
            shadow_soft=random.uniform(0.003, 0.02),
            blur_px=random.uniform(0.5, 2.0),
            sharpened=float(random.choice([0.0, 0.0, 0.0, 0.5])),
            noise=random.uniform(0.5, 4.0),
            quality=int(random.integers(75, 96)),
            focal_told=random.uniform(0.98, 1.02),
        )
        pitch = camera.distance_mm / camera.focal_px
        self.words += [f"{pitch:.2f} mm/px", f"blur {look.blur_px:.1f}"]
        if look.sharpened:
            self.words.append("sharpened")
        return SheetPicture(
            sheet_mm=self.sheet, camera=camera, layers=self.layers, look=look, seed=seed
        )

    def _camera(self) -> Camera:
        """Return a camera that sees the sheet, or all but a strip on one side."""
        camera = random_camera(self.random, self.sheet)
        if self._chance(0.25):
            need = np.vstack([shapely.get_coordinates(each.buffer(-3)) for each in self.needed])
            moved = cut_off(self.random, camera, need)
            if moved is not None:
                self.words.append("cut off")
                return moved
        return camera


def _frame(seen: np.ndarray, own: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the origin and the x direction of a turned and shifted rectangle."""
    moved = rigid(own, seen)(np.array([[0.0, 0.0], [1.0, 0.0]]))
    return moved[0], moved[1] - moved[0]

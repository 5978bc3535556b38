"""Phone photos of our own printed mat: its real PDF rasterised, traced in, and seen by a camera.

The camera is that of `tests.calibration.render`, a second method beside `calibration.sheet_map`.
Millimetres on the sheet, y up, from the page's lower left corner.
"""

from __future__ import annotations

import datetime
import functools
import math
from dataclasses import dataclass, field, fields

import cv2
import numpy as np
import pypdfium2
import shapely

from app.document.mat import mat_drawing
from app.document.paper import paper_named
from app.exports.pdf import page_bytes
from calibration.mat import mat_layout
from calibration.photo import Photo
from tests.calibration.render import Camera

DPI = 400
FINER = 3  # rasterised so much finer: boxes are drawn to whole pixels only
PX_PER_MM = DPI / 25.4
PAPER = np.array([0.82, 0.81, 0.78], np.float32)  # linear light
TONER = np.array([0.045, 0.045, 0.045], np.float32)
BENCH = np.array([0.14, 0.10, 0.07], np.float32)
PEN = np.array([0.06, 0.06, 0.09], np.float32)
BOARD = np.array([0.35, 0.33, 0.30], np.float32)
STEEL = np.array([0.17, 0.17, 0.18], np.float32)
WARM = np.array([1.0, 0.92, 0.78], np.float32)
PEN_MM = 0.5
NODE_PX = 8


@functools.cache
def page(paper: str) -> np.ndarray:
    """Share of bare paper of the printed page, rows from the top."""
    data = page_bytes(
        mat_drawing(mat_layout(paper), datetime.date(2026, 1, 2)), paper=paper_named(paper)
    )
    fine = pypdfium2.PdfDocument(data)[0].render(scale=FINER * DPI / 72, grayscale=True)
    bare = np.asarray(fine.to_numpy())[..., 0] if fine.to_numpy().ndim == 3 else fine.to_numpy()
    rows, columns = (size // FINER for size in bare.shape[:2])
    coarse = cv2.resize(bare, (columns, rows), interpolation=cv2.INTER_AREA)
    return coarse.astype(np.float32) / 255.0


@dataclass(frozen=True, kw_only=True)
class BowedCamera(Camera):
    """The same over a sheet that bows up in its middle, as a parabola across it or along it.

    Places on the sheet are those of its printing, as if it were laid flat again.
    """

    rise_mm: float
    length_mm: float  # of the sheet, the way it bows
    axis: int  # 0 across, 1 along

    def to_mm(self, points_px) -> np.ndarray:
        flat = Camera.to_mm(self, points_px)
        lens, places = self.lens_mm(), flat.copy()
        for _ in range(12):
            share = np.clip(places[:, self.axis] / self.length_mm, -0.1, 1.1)
            height = 4.0 * self.rise_mm * share * (1.0 - share)
            places = flat + (height / lens[2])[:, None] * (lens[:2] - flat)
        middle, bend = 0.5 * self.length_mm, 8.0 * self.rise_mm / self.length_mm**2
        off = places[:, self.axis] - middle
        places[:, self.axis] = middle + off + bend**2 * off**3 / 6.0  # along the arc
        return places


def bowed(camera: Camera, paper: str, rise_mm: float, axis: int) -> BowedCamera:
    """The camera over the same sheet, bowed."""
    sizes = (mat_layout(paper).width_mm, mat_layout(paper).height_mm)
    known = {each.name: getattr(camera, each.name) for each in fields(camera)}
    return BowedCamera(**known, rise_mm=rise_mm, length_mm=sizes[axis], axis=axis)


def over(paper: str, fill: float = 0.8, **options) -> Camera:
    """A 12-megapixel kind of camera, in small, whose picture the mat fills to a share."""
    layout = mat_layout(paper)
    size = options.pop("size_px", (2000, 1500))
    focal = 26.0 / math.hypot(36.0, 24.0) * math.hypot(*size)
    distance = focal * layout.height_mm / (fill * max(size))
    options.setdefault("roll_deg", 90.0)  # the page's long side along the picture's
    aim = (layout.width_mm / 2, layout.height_mm / 2)
    return Camera(size_px=size, focal_px=focal, aim_mm=aim, distance_mm=distance, **options)


@dataclass(frozen=True, kw_only=True)
class MatScene:
    """A printed mat on a bench, traced in, partly covered."""

    paper: str = "letter"
    camera: Camera
    outline: shapely.Polygon | None = None  # of the steel; the pen ran round it
    marks: list[shapely.Polygon] = field(default_factory=list)  # further strokes of the pen
    covers: list[shapely.Polygon] = field(default_factory=list)  # boards that lie on the sheet
    steel: shapely.Polygon | None = None  # lies there itself, flat
    printed: tuple[float, float] = (1.0, 1.0)  # over asked, across and up
    blur_px: float = 0.8
    noise: float = 0.006
    shade: float = 0.25
    vignetting: float = 0.25
    turned_over: bool = False  # the picture mirrored, as some front cameras store it
    seed: int = 1

    def photo(self, *, focal: bool = True) -> Photo:
        light = self._seen(self._sheet())
        light = cv2.GaussianBlur(light, (0, 0), self.blur_px)
        rng = np.random.default_rng(self.seed)
        light = light * self._lamp()
        light += rng.normal(0.0, self.noise, light.shape).astype(np.float32)
        light = np.clip(light, 0.0, 1.0)
        encoded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        rgb = np.rint(encoded * 255).astype(np.uint8)
        rgb = rgb[:, ::-1] if self.turned_over else rgb
        told = self.camera.focal_px if focal else None
        return Photo(rgb=np.ascontiguousarray(rgb), focal_px=told, name="rendered")

    def _sheet(self) -> np.ndarray:
        """Light of the sheet at `PX_PER_MM`, rows from the top of the paper."""
        bare = page(self.paper)
        rows = bare.shape[0]
        sx, sy = self.printed
        move = np.array([[sx, 0, 0], [0, sy, (1 - sy) * rows]], np.float64)  # about the lower left
        bare = cv2.warpAffine(bare, move, bare.shape[::-1], borderValue=1.0)[..., None]
        light = TONER + bare * (PAPER - TONER)
        if self.outline is not None:
            stroke = self.outline.buffer(PEN_MM, quad_segs=32).difference(self.outline)
            light = self._painted(light, stroke, PEN)
        for mark in self.marks:
            light = self._painted(light, mark, PEN)
        for cover in self.covers:
            for part in shapely.get_parts(cover):
                light = self._painted(light, part, BOARD)
        if self.steel is not None:
            light = self._painted(light, self.steel, STEEL)
        return light

    def _painted(self, light: np.ndarray, area: shapely.Polygon, colour: np.ndarray) -> np.ndarray:
        """Paint an area of the sheet, in place."""
        height_mm = mat_layout(self.paper).height_mm
        rings = [
            (shapely.get_coordinates(ring) * [1, -1] + [0, height_mm]) * PX_PER_MM - 0.5
            for ring in (area.exterior, *area.interiors)
        ]
        low = np.maximum(np.floor(rings[0].min(axis=0)).astype(int) - 2, 0)
        high = np.ceil(rings[0].max(axis=0)).astype(int) + 3
        part = light[low[1] : high[1], low[0] : high[0]]
        outlines = [np.rint(((ring - low + 0.5) * 4 - 0.5) * 16).astype(np.int32) for ring in rings]
        fine = np.zeros((4 * part.shape[0], 4 * part.shape[1]), np.uint8)  # drawn 0.5 px too large
        cv2.fillPoly(fine, outlines, 255, cv2.LINE_8, 4)
        share = cv2.resize(fine, part.shape[1::-1], interpolation=cv2.INTER_AREA)
        part += (share[..., None] / np.float32(255)) * (colour - part)
        return light

    def _seen(self, sheet: np.ndarray) -> np.ndarray:
        """Light in the picture, each pixel the mean of four places."""
        width, height = self.camera.size_px
        pitch = self.camera.distance_mm / self.camera.focal_px * PX_PER_MM  # sheet px per pixel
        if pitch > 3.0:
            sheet = cv2.GaussianBlur(sheet, (0, 0), pitch / 6.0)
        total = np.zeros((height, width, 3), np.float32)
        nodes = self._nodes(width, height)
        for step_x in (-0.25, 0.25):
            for step_y in (-0.25, 0.25):
                across, down = _between(width, step_x), _between(height, step_y)
                x, y = (down @ (each @ across.T) for each in nodes)
                total += cv2.remap(
                    sheet,
                    x,
                    y,
                    cv2.INTER_LINEAR,
                    borderMode=cv2.BORDER_CONSTANT,
                    borderValue=BENCH.tolist(),
                )
        return total / 4.0

    def _nodes(self, width: int, height: int) -> np.ndarray:
        """Pixels of the sheet seen at every eighth pixel, one more beyond each side.

        Between them the map bends by less than 0.001 mm.
        """
        x = np.arange(-NODE_PX, width + 2 * NODE_PX, NODE_PX, dtype=float)
        y = np.arange(-NODE_PX, height + 2 * NODE_PX, NODE_PX, dtype=float)
        nodes = np.stack(np.meshgrid(x, y), axis=-1)
        places = self.camera.to_mm(nodes.reshape(-1, 2)).reshape(nodes.shape)
        foot = np.array([0.0, mat_layout(self.paper).height_mm])
        pixels = (foot + places * [1, -1]) * PX_PER_MM - 0.5
        return np.moveaxis(pixels, -1, 0).astype(np.float32)

    def _lamp(self) -> np.ndarray:
        """Warm light that falls off across the picture and toward its corners."""
        width, height = self.camera.size_px
        x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
        level = (1.0 - self.shade * (0.5 + 0.3 * x + 0.2 * y)) * (
            1.0 - self.vignetting * 0.5 * (x**2 + y**2)
        )
        return level[..., None].astype(np.float32) * WARM


def _between(count: int, step: float) -> np.ndarray:
    """The shares of the nodes at each pixel of a row, moved by a step, (count, nodes)."""
    at = (np.arange(count) + step) / NODE_PX + 1.0
    nodes = np.arange(-NODE_PX, count + 2 * NODE_PX, NODE_PX)
    shares = np.maximum(1.0 - np.abs(at[:, None] - np.arange(len(nodes))), 0.0)
    return shares.astype(np.float32)


def piece(layout, share: float = 0.7) -> shapely.Polygon:
    """A forged kind of outline in the middle of the field, along it."""
    left, bottom, right, top = layout.field_mm
    half_y, half_x = share * (top - bottom) / 2, 0.28 * share * (right - left)
    turn = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    x = np.sign(np.cos(turn)) * np.abs(np.cos(turn)) ** 0.3 * half_x
    y = np.sign(np.sin(turn)) * np.abs(np.sin(turn)) ** 0.3 * half_y
    x = x * (1.0 + 0.12 * np.sin(y / 17.0)) + 0.05 * y
    centre = ((left + right) / 2, (bottom + top) / 2)
    return shapely.Polygon(np.column_stack([x, y]) + centre)


def off_mm(found: shapely.Polygon, true: shapely.Polygon) -> np.ndarray:
    """Distances from the found edge to the true one, after the best turn and shift."""
    points = shapely.get_coordinates(shapely.segmentize(found.exterior, 1.0))[:-1]
    line = true.exterior
    for _ in range(12):
        onto = shapely.get_coordinates(
            [shapely.line_interpolate_point(line, line.project(shapely.Point(p))) for p in points]
        )
        a, b = points - points.mean(axis=0), onto - onto.mean(axis=0)
        u, _, vt = np.linalg.svd(a.T @ b)
        points = a @ u @ vt + onto.mean(axis=0)
    return shapely.distance(shapely.points(points), line)

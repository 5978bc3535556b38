"""A plain renderer of sheets with drawn lines: known camera, known lines, light, blur and noise.

It has its own camera formulas, so that it is a second method beside `calibration.sheet_map`.
Everything is given in millimetres on the sheet, y up, origin at its lower left corner.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import cv2
import numpy as np

from calibration.photo import Photo

BLACK = (0.92, 0.92, 0.90)  # share of the paper's light that ink takes, red green blue
BLUE = (0.80, 0.72, 0.35)
PENCIL = (0.50, 0.50, 0.48)
RULE = (0.22, 0.12, 0.05)


@dataclass(frozen=True, kw_only=True)
class Camera:
    """A lens over a sheet: aimed at `aim_mm`, `distance_mm` away, leaning by `tilt_deg`."""

    size_px: tuple[int, int] = (1400, 1050)
    focal_px: float = 1050.0
    aim_mm: tuple[float, float] = (140.0, 108.0)
    distance_mm: float = 330.0
    tilt_deg: float = 0.0
    azimuth_deg: float = 0.0
    roll_deg: float = 0.0
    k1: float = 0.0
    height_mm: float = 0.0  # of the plane that is looked at
    offset_px: tuple[float, float] = (0.0, 0.0)

    def axes(self) -> np.ndarray:
        """Rows: the camera's right, down and forward in the sheet's frame."""
        tilt, azimuth, roll = np.radians([self.tilt_deg, self.azimuth_deg, self.roll_deg])
        forward = np.array(
            [
                math.sin(tilt) * math.cos(azimuth),
                math.sin(tilt) * math.sin(azimuth),
                -math.cos(tilt),
            ]
        )
        right = np.cross(forward, [0.0, 1.0, 0.0])
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        return np.array(
            [
                math.cos(roll) * right + math.sin(roll) * down,
                -math.sin(roll) * right + math.cos(roll) * down,
                forward,
            ]
        )

    def lens_mm(self) -> np.ndarray:
        return np.array([*self.aim_mm, 0.0]) - self.distance_mm * self.axes()[2]

    def centre_px(self) -> np.ndarray:
        return (np.array(self.size_px) - 1.0) / 2.0 + self.offset_px

    def to_px(self, points_mm) -> np.ndarray:
        flat = np.asarray(points_mm, float).reshape(-1, 2)
        seen = (
            np.column_stack([flat, np.full(len(flat), self.height_mm)]) - self.lens_mm()
        ) @ self.axes().T
        a = seen[:, :2] / seen[:, 2:]
        a = a * (1.0 + self.k1 * (a**2).sum(axis=1, keepdims=True))
        return self.centre_px() + self.focal_px * a

    def to_mm(self, points_px) -> np.ndarray:
        a = (np.asarray(points_px, float).reshape(-1, 2) - self.centre_px()) / self.focal_px
        seen = a[:, 0] ** 2 + a[:, 1] ** 2  # squares of the radii: a lens bends only these
        free = seen
        for _ in range(30 if self.k1 else 0):
            before, free = free, seen / (1.0 + self.k1 * free) ** 2
            if np.abs(free - before).max(initial=0.0) < 1e-15:
                break
        free = a / (1.0 + self.k1 * free)[:, None]
        rays = np.column_stack([free, np.ones(len(free))]) @ self.axes()
        lens = self.lens_mm()
        return lens[:2] + (self.height_mm - lens[2]) * rays[:, :2] / rays[:, 2:]


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A drawn polyline."""

    points_mm: tuple[tuple[float, float], ...]
    width_mm: float = 0.6
    takes: tuple[float, float, float] = BLACK


def ruled_line(a, b, *, tick_mm=4.0, width_mm=0.6, takes=BLACK) -> list[Mark]:
    """A line with a tick across each end; without ticks for `tick_mm=0`."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    marks = [Mark(points_mm=(tuple(a), tuple(b)), width_mm=width_mm, takes=takes)]
    if tick_mm:
        half = 0.5 * tick_mm * np.array([a[1] - b[1], b[0] - a[0]]) / math.dist(a, b)
        marks += [
            Mark(points_mm=(tuple(e - half), tuple(e + half)), width_mm=width_mm, takes=takes)
            for e in (a, b)
        ]
    return marks


def wavy_ring(centre, half_x, half_y, *, wave_mm=0.8, width_mm=0.6, takes=BLACK) -> Mark:
    """A closed hand-drawn round-cornered box, as the trace of a bar."""
    turn = np.linspace(0.0, 2.0 * np.pi, 240)
    power = 0.25
    x = np.sign(np.cos(turn)) * np.abs(np.cos(turn)) ** power * half_x
    y = np.sign(np.sin(turn)) * np.abs(np.sin(turn)) ** power * half_y
    y = y + wave_mm * np.sin(7.0 * turn) * np.abs(np.sin(turn))
    points = np.column_stack([x, y]) + centre
    return Mark(points_mm=tuple(map(tuple, points)), width_mm=width_mm, takes=takes)


@dataclass(frozen=True, kw_only=True)
class Scene:
    """A sheet on a bench."""

    sheet_mm: tuple[float, float] = (279.4, 215.9)
    marks: list[Mark] = field(default_factory=list)
    covers: list[tuple[tuple[float, float], ...]] = field(default_factory=list)  # grey things on it
    camera: Camera = field(default_factory=Camera)
    paper: tuple[float, float, float] = (0.80, 0.79, 0.76)
    bench: tuple[float, float, float] = (0.16, 0.11, 0.07)
    cover: tuple[float, float, float] = (0.30, 0.30, 0.31)
    fall_off: float = 0.15  # of the light from the left to the right
    blur_px: float = 0.8
    noise: float = 0.006
    seed: int = 1

    def light(self) -> np.ndarray:
        """Linear light of the picture before the lens blurs it, (h, w, 3)."""
        camera = self.camera
        width, height = camera.size_px
        x, y = np.meshgrid(np.arange(width, dtype=float), np.arange(height, dtype=float))
        places = camera.to_mm(np.column_stack([x.ravel(), y.ravel()])).reshape(height, width, 2)
        pitch = np.sqrt(np.abs(np.linalg.det(np.stack(
            [np.gradient(places, axis=1), np.gradient(places, axis=0)], axis=-1))))  # fmt: skip
        w, h = self.sheet_mm
        inside = np.minimum.reduce(
            [places[..., 0], w - places[..., 0], places[..., 1], h - places[..., 1]]
        )
        light = self._mixed(np.broadcast_to(self.bench, (height, width, 3)), self.paper,
                            np.clip(0.5 + inside / pitch, 0, 1))  # fmt: skip
        for mark in self.marks:
            covered = _ink(camera, places, pitch, mark) * np.clip(0.5 + inside / pitch, 0, 1)
            light = light * (1.0 - covered[..., None] * np.array(mark.takes))
        for cover in self.covers:
            outline = np.rint(camera.to_px(cover) * 16).astype(np.int32)
            mask = cv2.fillPoly(np.zeros((height, width)), [outline], 1.0, cv2.LINE_8, 4)
            light = self._mixed(light, self.cover, mask)
        return light * (1.0 - self.fall_off * x[..., None] / width)

    def photo(self, *, focal: bool = True) -> Photo:
        light = self.light()
        light = cv2.GaussianBlur(light, (0, 0), self.blur_px)
        rng = np.random.default_rng(self.seed)
        light = np.clip(light + rng.normal(0.0, self.noise, light.shape), 0.0, 1.0)
        encoded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        rgb = np.ascontiguousarray(np.rint(encoded * 255).astype(np.uint8))
        return Photo(rgb=rgb, focal_px=self.camera.focal_px if focal else None, name="rendered")

    @staticmethod
    def _mixed(under, over, share):
        return under + share[..., None] * (np.asarray(over) - under)


def _ink(camera, places, pitch, mark) -> np.ndarray:
    """Share of each pixel that a mark covers, round caps."""
    covered = np.zeros(places.shape[:2])
    points = np.asarray(mark.points_mm, float)
    reach = 0.5 * mark.width_mm + 1.0
    for a, b in itertools.pairwise(points):
        low, high = np.minimum(a, b) - reach, np.maximum(a, b) + reach
        around = camera.to_px([low, (low[0], high[1]), high, (high[0], low[1])])
        left, top = np.maximum(np.floor(around.min(axis=0)).astype(int) - 1, 0)
        right, bottom = np.ceil(around.max(axis=0)).astype(int) + 2
        box = np.s_[top : max(top, bottom), left : max(left, right)]
        p = places[box]
        along = np.clip(((p - a) @ (b - a)) / max((b - a) @ (b - a), 1e-12), 0.0, 1.0)
        off = np.linalg.norm(p - a - along[..., None] * (b - a), axis=2)
        share = np.clip(0.5 + (0.5 * mark.width_mm - off) / pitch[box], 0.0, 1.0)
        covered[box] = np.maximum(covered[box], share)
    return covered


def rigid_error(points_mm, true_mm) -> np.ndarray:
    """Distances left after the points are shifted and turned (no scale) onto the true ones."""
    points, true = np.asarray(points_mm, float), np.asarray(true_mm, float)
    a, b = points - points.mean(axis=0), true - true.mean(axis=0)
    u, _, vt = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, np.sign(np.linalg.det(u @ vt))])
    return np.hypot(*(a @ u @ flip @ vt - b).T)

"""A picture of a sheet with polygons of ink on it: each drawn finer than the pixels, light mixed
before it is blurred and encoded, noise and a JPEG's losses last.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from calibration.photo import Photo
from tests.calibration.render import Camera

FINE = 6


@dataclass(frozen=True, kw_only=True)
class Layer:
    """Something on the sheet: it takes a share of the light, or covers what is under it."""

    shape: BaseGeometry  # mm
    takes: tuple[float, float, float]  # share of the light; of a cover, its own light
    covers: bool = False
    soft_mm: float = 0.0
    grain: float = 0.0  # share of the ink missing here and there


@dataclass(frozen=True, kw_only=True)
class Look:
    """Light, lens and file."""

    paper: tuple[float, float, float] = (0.8, 0.79, 0.76)
    texture: float = 0.004
    bench: tuple[float, float, float] = (0.16, 0.11, 0.07)
    gradient: tuple[float, float] = (0.1, 0.0)  # over the picture's width and height
    shadow: float = 1.0  # share of the light that is left
    shadow_line: tuple[float, float, float] = (1.0, 0.0, 9.0)  # direction and place, of the width
    shadow_soft: float = 0.02  # of the width
    blur_px: float = 0.8
    sharpened: float = 0.0
    noise: float = 2.0  # of 255
    quality: int = 90
    focal_told: float = 1.0  # times the true one


@dataclass(frozen=True, kw_only=True)
class SheetPicture:
    """A sheet, what lies on it, and the camera over it."""

    sheet_mm: tuple[float, float]
    camera: Camera
    layers: Sequence[Layer]
    look: Look = field(default_factory=Look)
    seed: int = 0

    def photo(self) -> Photo:
        look, random = self.look, np.random.default_rng(self.seed)
        width, height = self.camera.size_px
        light = np.empty((height, width, 3), np.float32)
        grain = _cloud((height, width), 40, random)
        light[:] = np.float32(look.bench) * (1 + 0.15 * grain[..., None])
        paper = np.float32(look.paper) * (
            1 + look.texture * _cloud((height, width), 2, random)[..., None]
        )
        box, share = self._share(shapely.box(0, 0, *self.sheet_mm), 0.0)
        light[box] += share[..., None] * (paper[box] - light[box])
        for layer in self.layers:
            box, share = self._share(layer.shape, layer.soft_mm)
            if share.size == 0:
                continue
            if layer.grain:
                share = share * (1 - layer.grain * random.random(share.shape, np.float32))
            under = light[box]
            if layer.covers:
                under += share[..., None] * (np.float32(layer.takes) - under)
            else:
                under *= 1 - share[..., None] * np.float32(layer.takes)
        light *= self._shade()[..., None]
        return self._taken(light, random)

    def _share(self, shape: BaseGeometry, soft_mm: float) -> tuple[tuple[slice, slice], np.ndarray]:
        """Return a box of the picture and the share of each of its pixels that a shape covers."""
        width, height = self.camera.size_px
        seen = shapely.transform(shapely.segmentize(shape, 3.0), self.camera.to_px)
        seen = shapely.make_valid(seen) if not seen.is_valid else seen
        rim = shapely.buffer(seen, -0.5 / FINE, join_style="mitre")
        if rim.is_empty:
            return np.s_[0:0, 0:0], np.zeros((0, 0), np.float32)
        pitch = self.camera.distance_mm / self.camera.focal_px
        spare = int(3 * soft_mm / pitch) + 2
        low, high = np.array(rim.bounds).reshape(2, 2)
        left, top = np.clip(np.floor(low).astype(int) - spare, 0, [width, height])
        right, bottom = np.clip(np.ceil(high).astype(int) + spare + 1, 0, [width, height])
        box = np.s_[top:bottom, left:right]
        if right <= left or bottom <= top:
            return box, np.zeros((0, 0), np.float32)
        cover = np.zeros(((bottom - top) * FINE, (right - left) * FINE), np.uint8)
        for part in shapely.get_parts(rim):
            rings = [
                np.rint(
                    ((shapely.get_coordinates(ring) - [left, top] + 0.5) * FINE - 0.5) * 16
                ).astype(np.int32)
                for ring in (part.exterior, *part.interiors)
            ]
            cv2.fillPoly(cover, rings, 255, cv2.LINE_8, 4)
        small = cv2.resize(cover, (right - left, bottom - top), interpolation=cv2.INTER_AREA)
        share = small.astype(np.float32) / 255
        return box, cv2.GaussianBlur(share, (0, 0), soft_mm / pitch) if soft_mm else share

    def _shade(self) -> np.ndarray:
        """Return the light that falls on each pixel."""
        look, (width, height) = self.look, self.camera.size_px
        x, y = np.meshgrid(np.linspace(-0.5, 0.5, width), np.linspace(-0.5, 0.5, height))
        even = 1 + look.gradient[0] * x + look.gradient[1] * y
        along, across, place = look.shadow_line
        beyond = (along * x + across * y * height / width - place) / look.shadow_soft
        lit = 1 / (1 + np.exp(-np.clip(beyond, -30, 30)))
        return (even * (1 - (1 - look.shadow) * (1 - lit))).astype(np.float32)

    def _taken(self, light: np.ndarray, random: np.random.Generator) -> Photo:
        look = self.look
        light = cv2.GaussianBlur(light, (0, 0), look.blur_px)
        light = np.clip(light, 0, 1)
        encoded = 255 * np.where(
            light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055
        )
        if look.sharpened:
            wide = cv2.GaussianBlur(encoded, (0, 0), 1.2)
            encoded = encoded + look.sharpened * (encoded - wide)
        encoded += look.noise * random.standard_normal(encoded.shape, np.float32)
        picture = np.clip(np.rint(encoded), 0, 255).astype(np.uint8)
        done, data = cv2.imencode(
            ".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, look.quality]
        )
        assert done
        rgb = np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])
        focal_px = self.camera.focal_px * look.focal_told
        return Photo(rgb=rgb, focal_px=focal_px, name="scene")


def _cloud(shape: tuple[int, int], cell: int, random: np.random.Generator) -> np.ndarray:
    """Return smooth noise of about one standard deviation, `cell` pixels wide."""
    small = random.standard_normal((shape[0] // cell + 2, shape[1] // cell + 2), np.float32)
    return cv2.resize(small, shape[::-1], interpolation=cv2.INTER_LINEAR) * 1.5

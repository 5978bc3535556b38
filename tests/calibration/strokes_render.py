"""Small pictures of drawn strokes whose edges are known, made on a finer grid than a camera has.

Light is mixed before it is encoded, as a lens does: cover is drawn 8 times finer, averaged,
blurred, and only then turned into 8-bit values.
"""

from __future__ import annotations

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from calibration.photo import Photo

FINE = 8


class Sheet:
    """A sheet to draw on; places in pixels, pixel centres at integers."""

    def __init__(self, width: int, height: int) -> None:
        self.size = (height, width)
        self.taken = np.zeros((height, width, 3), np.float32)  # share of the paper's light

    def stroke(
        self,
        points: NDArray[np.float64],
        *,
        width: float,
        ink: tuple[float, float, float] = (0.9, 0.9, 0.9),
        closed: bool = False,
    ) -> Sheet:
        """Draw a line of this width along places (N, 2); `ink` is the light it takes."""
        line = shapely.LinearRing(points) if closed else shapely.LineString(points)
        return self._take(line.buffer(width / 2, quad_segs=32), ink)

    def fill(self, points: NDArray[np.float64], ink: tuple[float, float, float]) -> Sheet:
        """Cover a polygon."""
        return self._take(shapely.Polygon(points), ink)

    def _take(self, shape: shapely.Polygon, ink: tuple[float, float, float]) -> Sheet:
        rim = shape.buffer(-0.5 / FINE)  # filling takes the rim's own fine pixels in
        rings = [
            np.round(((shapely.get_coordinates(ring) + 0.5) * FINE - 0.5) * 16).astype(np.int32)
            for ring in (rim.exterior, *rim.interiors)
        ]
        cover = np.zeros((self.size[0] * FINE, self.size[1] * FINE), np.uint8)
        cv2.fillPoly(cover, rings, 255, cv2.LINE_8, 4)
        share = cv2.resize(cover, self.size[::-1], interpolation=cv2.INTER_AREA) / 255.0
        self.taken = np.maximum(self.taken, share[:, :, None] * np.float32(ink))
        return self

    def photo(
        self,
        *,
        blur: float = 0.8,
        noise: float = 1.5,
        paper: tuple[float, float, float] = (0.8, 0.8, 0.78),
        shade: NDArray[np.float64] | float = 1.0,
    ) -> Photo:
        """Return the picture; `shade` (h, w) dims the light."""
        light = np.float32(paper) * np.broadcast_to(shade, self.size)[:, :, None]
        light = cv2.GaussianBlur((light * (1.0 - self.taken)).astype(np.float32), (0, 0), blur)
        encoded = np.where(
            light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055
        )
        grain = np.random.default_rng(7).normal(0.0, noise, encoded.shape)
        rgb = np.clip(encoded * 255 + grain + 0.5, 0, 255).astype(np.uint8)
        return Photo(rgb=np.ascontiguousarray(rgb), focal_px=None, name="rendered")


def circle(x: float, y: float, radius: float, count: int = 720) -> NDArray[np.float64]:
    """Return places round a circle."""
    turn = np.linspace(0.0, 2 * np.pi, count, endpoint=False)
    return np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)])


def box(left: float, top: float, right: float, bottom: float) -> NDArray[np.float64]:
    """Return the corners of a rectangle."""
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]], float)

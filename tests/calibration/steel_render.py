"""Photos of a plate of steel that lies on a sheet: top, side faces, drilled holes, shadows, glints.

Each pixel's ray is followed from the plate's top plane down to the paper: it sees the top where it
meets that plane over steel, a side where it runs into steel farther down, else the paper in the
plate's shadow. The camera is that of `tests.calibration.render`. Millimetres on the sheet, y up.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from shapely import Polygon

from calibration.photo import Photo
from tests.calibration.render import Camera, Scene, ruled_line

FINE_MM = 0.05  # of the raster that tells where steel is
MARGIN_MM = 14.0  # round the plate: side faces, shadows
STEPS = 8  # heights at which a ray looks for a side face
WHITE, CREAM = (0.78, 0.78, 0.76), (0.78, 0.72, 0.58)
GREY, KRAFT = (0.44, 0.44, 0.45), (0.47, 0.34, 0.21)
SHEETS = {"letter": (279.4, 215.9), "a4": (297.0, 210.0)}


@dataclass(frozen=True, kw_only=True)
class Surface:
    """Light that steel returns: its mean, and how it changes from place to place."""

    base: tuple[float, float, float] = (0.10, 0.10, 0.105)
    streaks: float = 0.0  # along the grinding marks, share of the base
    mottle: float = 0.2
    dark_patches: float = 0.0  # share of the face under dark scale
    rust: float = 0.0  # share of the face under rust
    glints: int = 0  # clusters
    bright_rim: float = 0.0  # share of the rim that is broken to a shining chamfer
    side: float = 0.6  # light of the side faces over that of the top


@dataclass(frozen=True, kw_only=True)
class SteelScene:
    """A plate on a sheet that lies on a bench, with a line of known length beside it."""

    plate: Polygon
    thickness_mm: float
    camera: Camera
    surface: Surface = Surface()
    sheet_mm: tuple[float, float] = SHEETS["letter"]
    paper: tuple[float, float, float] = WHITE
    bench: tuple[float, float, float] = (0.16, 0.11, 0.07)
    line_mm: float = 100.0
    lamp_deg: float = 60.0  # over the paper
    lamp_azimuth_deg: float = 120.0
    shadow: float = 0.5  # share of the light that comes from the lamp
    blur_px: float = 0.8
    noise: float = 0.006
    jpeg: int = 90
    seed: int = 1

    def photo(self) -> Photo:
        start = (0.5 * (self.sheet_mm[0] - self.line_mm), 28.0)
        line = ruled_line(start, (start[0] + self.line_mm, start[1] + 2.0))
        under = Scene(
            sheet_mm=self.sheet_mm,
            marks=line,
            camera=self.camera,
            paper=self.paper,
            bench=self.bench,
            blur_px=0.01,
            noise=0.0,
        )
        return self._exposed(self._with_plate(under.light().astype(np.float32)))

    @property
    def length_mm(self) -> float:
        return math.hypot(self.line_mm, 2.0)

    def _exposed(self, light: np.ndarray) -> Photo:
        rng = np.random.default_rng(self.seed + 1)
        light = cv2.GaussianBlur(light, (0, 0), self.blur_px)
        light += rng.normal(0.0, self.noise, light.shape).astype(np.float32)
        light = np.clip(light, 0.0, 1.0)
        encoded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
        bgr = np.rint(encoded[..., ::-1] * 255).astype(np.uint8)
        _, packed = cv2.imencode(".jpg", bgr, [cv2.IMWRITE_JPEG_QUALITY, self.jpeg])
        rgb = np.ascontiguousarray(cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1])
        return Photo(rgb=rgb, focal_px=self.camera.focal_px, name="rendered")

    def _with_plate(self, light: np.ndarray) -> np.ndarray:
        """Return the light with the plate in it, each pixel the mean of nine places."""
        raster = _Raster.of(self)
        left, low, right, high = self.plate.buffer(MARGIN_MM).bounds
        around = self.camera.to_px([(left, low), (left, high), (right, low), (right, high)])
        x0, y0 = np.maximum(np.floor(around.min(axis=0)).astype(int), 0)
        x1, y1 = np.minimum(np.ceil(around.max(axis=0)).astype(int), self.camera.size_px)
        box = light[y0:y1, x0:x1]
        total = np.zeros_like(box)
        top = dataclasses.replace(self.camera, height_mm=self.thickness_mm)
        for dx in (-1 / 3, 0.0, 1 / 3):
            for dy in (-1 / 3, 0.0, 1 / 3):
                x, y = np.arange(x0, x1) + dx, np.arange(y0, y1) + dy
                total += raster.seen(_places(top, x, y), _places(self.camera, x, y), box)
        light[y0:y1, x0:x1] = total / 9.0
        return light


def _places(camera: Camera, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return the places on the camera's plane that rows and columns of pixels see, no lens bow."""
    corners = np.array([[x[i], y[j]] for i in (0, -1) for j in (0, -1)], np.float32)
    turn = cv2.getPerspectiveTransform(corners, camera.to_mm(corners).astype(np.float32))
    columns, rows = x.astype(np.float32)[None, :, None], y.astype(np.float32)[:, None, None]
    homogeneous = columns * turn[:, 0] + rows * turn[:, 1] + turn[:, 2]
    return homogeneous[..., :2] / homogeneous[..., 2:]


@dataclass(frozen=True, kw_only=True)
class _Raster:
    """What lies where, in rows from low to high, `FINE_MM` apart."""

    corner_mm: np.ndarray
    steel: np.ndarray  # share
    top: np.ndarray  # light of the top face
    shade: np.ndarray  # of the paper
    side: np.ndarray  # light of the sides

    @classmethod
    def of(cls, scene: SteelScene) -> _Raster:
        left, low, right, high = scene.plate.buffer(MARGIN_MM + 2.0).bounds
        shape = (math.ceil((high - low) / FINE_MM), math.ceil((right - left) / FINE_MM))
        corner = np.array([left, low])
        steel = _filled(scene.plate, corner, shape)
        rng = np.random.default_rng(scene.seed)
        return cls(
            corner_mm=corner,
            steel=steel,
            top=_face(scene.surface, steel, rng),
            shade=_shade(scene, steel),
            side=np.asarray(scene.surface.base, np.float32) * scene.surface.side,
        )

    def seen(self, above: np.ndarray, below: np.ndarray, paper: np.ndarray) -> np.ndarray:
        on_top = self._at(self.steel, above)[..., None]
        side = np.zeros(on_top.shape[:2], np.float32)
        for share in np.linspace(0.0, 1.0, STEPS + 1)[1:]:
            side = np.maximum(side, self._at(self.steel, above + share * (below - above)))
        under = paper * self._at(self.shade, below)[..., None]
        under = under + side[..., None] * (self.side - under)
        return under + on_top * (self._at(self.top, above) - under)

    def _at(self, field: np.ndarray, places: np.ndarray) -> np.ndarray:
        at = ((places - self.corner_mm) / FINE_MM - 0.5).astype(np.float32)
        return cv2.remap(
            field, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )


def _filled(plate: Polygon, corner: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    rim = plate.buffer(-0.5 * FINE_MM)  # filling takes the rim's own pixels in
    rings = [
        np.rint(((shapely.get_coordinates(ring) - corner) / FINE_MM - 0.5) * 256).astype(np.int32)
        for ring in (rim.exterior, *rim.interiors)
    ]
    return cv2.fillPoly(np.zeros(shape, np.float32), rings, 1.0, cv2.LINE_8, 8)


def _shade(scene: SteelScene, steel: np.ndarray) -> np.ndarray:
    """Return the share of light that reaches the paper: the lamp's, and that of the room."""
    by = 4
    small = cv2.resize(steel, None, fx=1 / by, fy=1 / by, interpolation=cv2.INTER_AREA)
    pitch = FINE_MM * by
    reach = scene.thickness_mm / math.tan(math.radians(scene.lamp_deg)) / pitch
    turn = math.radians(scene.lamp_azimuth_deg)
    blocked = np.zeros_like(small)
    for share in np.linspace(0.0, 1.0, 24):
        x, y = -share * reach * math.cos(turn), -share * reach * math.sin(turn)
        moved = cv2.warpAffine(small, np.array([[1, 0, x], [0, 1, y]]), small.shape[::-1])
        blocked = np.maximum(blocked, moved)
    blocked = cv2.GaussianBlur(blocked, (0, 0), max(0.12 * scene.thickness_mm / pitch, 0.5))
    room = cv2.GaussianBlur(small, (0, 0), 0.5 * scene.thickness_mm / pitch)
    left = 1.0 - scene.shadow * blocked - (1.0 - scene.shadow) * np.clip(1.1 * room, 0, 0.9)
    return cv2.resize(left, steel.shape[::-1], interpolation=cv2.INTER_LINEAR)


def _face(surface: Surface, steel: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return the light of the top face."""
    shape = steel.shape
    level = 1.0 + surface.mottle * _clouds(rng, shape, 1.5, 1.5)
    if surface.streaks:
        level += surface.streaks * _clouds(rng, shape, 12.0, 0.12)
    light = np.clip(level, 0.3, 2.5)[..., None] * np.float32(surface.base)
    light = _patched(light, rng, surface.dark_patches, np.float32([0.035, 0.035, 0.035]))
    light = _patched(light, rng, surface.rust, np.float32([0.16, 0.075, 0.035]))
    within = cv2.distanceTransform((steel > 0.5).astype(np.uint8), cv2.DIST_L2, 5) * FINE_MM
    if surface.bright_rim:
        clouds = _clouds(rng, shape, 3.0, 3.0)
        chamfer = (within < 0.35) & (clouds > np.quantile(clouds, 1.0 - surface.bright_rim))
        light[chamfer] = np.float32(0.5) + 0.3 * rng.random()
    return _with_glints(light, steel, surface.glints, rng)


def _with_glints(
    light: np.ndarray, steel: np.ndarray, clusters: int, rng: np.random.Generator
) -> np.ndarray:
    """Return light with clusters of shining facets, at the rim as anywhere else."""
    rows, columns = np.nonzero(steel[::8, ::8] > 0.5)
    for _ in range(clusters):
        pick = rng.integers(len(rows))
        for _ in range(rng.integers(3, 14)):
            place = np.array([columns[pick], rows[pick]]) * 8 + rng.normal(0, 1.2 / FINE_MM, 2)
            axes = np.rint(rng.uniform(0.1, 0.5, 2) / FINE_MM).astype(int).tolist()
            shine = float(rng.uniform(0.6, 1.0))
            cv2.ellipse(light, np.rint(place).astype(int).tolist(), axes,
                        float(rng.uniform(0, 180)), 0, 360, (shine,) * 3, -1)  # fmt: skip
    return light


def _patched(
    light: np.ndarray, rng: np.random.Generator, share: float, colour: np.ndarray
) -> np.ndarray:
    if not share:
        return light
    clouds = _clouds(rng, light.shape[:2], 3.0, 3.0) + 0.4 * _clouds(rng, light.shape[:2], 0.5, 0.5)
    patch = clouds > np.quantile(clouds, 1.0 - share)
    return np.where(patch[..., None], colour * (1.0 + 0.3 * clouds[..., None]), light)


def _clouds(
    rng: np.random.Generator, shape: tuple[int, int], along_mm: float, across_mm: float
) -> np.ndarray:
    """Return smooth noise of mean 0 and deviation 1."""
    by = [max(1, int(mm / FINE_MM / 2)) for mm in (along_mm, across_mm)]
    size = (math.ceil(shape[1] / by[0]), math.ceil(shape[0] / by[1]))
    noise = cv2.GaussianBlur(rng.normal(0.0, 1.0, size[::-1]).astype(np.float32), (0, 0), 2.0)
    noise = cv2.resize(noise, shape[::-1], interpolation=cv2.INTER_LINEAR)
    return (noise - noise.mean()) / noise.std()

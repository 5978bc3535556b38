"""Cameras of random scenes: how large the sheet is in it, how it leans, what is cut off."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from tests.calibration.render import Camera


def random_camera(random: np.random.Generator, sheet_mm: tuple[float, float]) -> Camera:
    """Return a camera that sees the whole sheet, leaning by up to 20 degrees."""
    width, height = sheet_mm
    pitch = math.exp(random.uniform(math.log(0.11), math.log(0.3)))
    long_px = round(1.15 * width / pitch)
    size = (long_px, round(max(0.75 * long_px, 1.15 * height / pitch)))
    focal = random.uniform(0.72, 0.85) * long_px
    camera = Camera(
        size_px=size,
        focal_px=focal,
        aim_mm=(width / 2, height / 2),
        distance_mm=focal * pitch,
        tilt_deg=random.uniform(0, 20),
        azimuth_deg=random.uniform(0, 360),
        roll_deg=random.uniform(-6, 6) + 180 * random.integers(2),
        k1=random.uniform(-0.03, 0.03),
    )
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)])
    for _ in range(30):
        camera, fits = _framed(camera, corners)
        if fits:
            break
    return camera


def cut_off(random: np.random.Generator, camera: Camera, needed_mm: np.ndarray) -> Camera | None:
    """Return a camera moved to one side, so that a strip is missing; None if it would lack more."""
    side = np.array([(1, 0), (-1, 0), (0, 1), (0, -1)])[random.integers(4)]
    moved = replace(camera, aim_mm=tuple(np.array(camera.aim_mm) + side * 32.0))
    px = moved.to_px(needed_mm)
    return moved if (px > 12).all() and (px < np.array(camera.size_px) - 12).all() else None


def _framed(camera: Camera, corners: np.ndarray) -> tuple[Camera, bool]:
    """Return a camera moved so that the corners fill 93 % of its picture, and if they do."""
    px = camera.to_px(corners)
    low, high = px.min(axis=0), px.max(axis=0)
    share = ((high - low) / np.array(camera.size_px)).max() / 0.93
    off = (low + high) / 2 - camera.centre_px()
    if abs(share - 1) < 0.01 and np.hypot(*off) < 3:
        return camera, True
    here, there = camera.to_mm([camera.centre_px(), camera.centre_px() + off])
    aim = np.array(camera.aim_mm) + 0.7 * (there - here)
    return replace(camera, aim_mm=tuple(aim), distance_mm=camera.distance_mm * share), False

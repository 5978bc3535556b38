"""A traced bar and a ruled line of 100 mm on a Letter sheet, and how far off they are measured."""

import functools

import numpy as np

from calibration.calibrate import calibrate
from calibration.ink import find_ink
from calibration.references import LineReference, SheetReference
from tests.calibration.render import (
    RULE,
    Camera,
    Mark,
    Scene,
    rigid_error,
    ruled_line,
    wavy_ring,
)

LETTER = SheetReference(width_mm=215.9, height_mm=279.4)
LINE = LineReference(length_mm=100.0)
ENDS = ((60.0, 40.0), (160.0, 40.0))
SHORT = ((60.0, 40.0), (60.0, 90.0))
BAR = wavy_ring((140.0, 140.0), 85.0, 25.0)
PIECE = np.stack(np.meshgrid(np.linspace(60, 220, 9), np.linspace(110, 170, 5)), -1).reshape(-1, 2)
LEANING = Camera(tilt_deg=13.0, azimuth_deg=50.0, roll_deg=20.0, distance_mm=440.0, k1=-0.02)
RULES = [
    Mark(points_mm=((0.0, y), (279.4, y)), width_mm=0.25, takes=RULE) for y in range(10, 190, 8)
]
GRID = [
    *(Mark(points_mm=((x, 0.0), (x, 215.9)), width_mm=0.2, takes=RULE) for x in range(5, 280, 5)),
    *(Mark(points_mm=((0.0, y), (279.4, y)), width_mm=0.2, takes=RULE) for y in range(5, 216, 5)),
]


@functools.cache
def plain(camera: Camera = LEANING, focal: bool = True):
    """The photo and ink of a traced bar with a line of 100 mm on a Letter sheet."""
    photo = Scene(marks=[BAR, *ruled_line(*ENDS)], camera=camera).photo(focal=focal)
    return photo, find_ink(photo)


def outcome(scene: Scene, *references, **options):
    photo = scene.photo()
    return calibrate(photo, find_ink(photo), references, **options)


def piece_error_mm(camera: Camera, calibration) -> float:
    return float(rigid_error(calibration.map.to_mm(camera.to_px(PIECE)), PIECE).max())


def line_error_px(camera: Camera, found, ends_mm=ENDS) -> float:
    true, seen = camera.to_px(ends_mm), np.array(found.points_px)
    return min(np.abs(seen - true).max(), np.abs(seen[::-1] - true).max())

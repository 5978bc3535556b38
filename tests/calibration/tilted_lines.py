"""Random sheets with drawn lines alone under a leaning camera, without rendering a picture."""

from __future__ import annotations

import math

import numpy as np

from calibration.seen import LineSeen, Seen
from calibration.tilts import adjust_lines
from tests.calibration.render import Camera, rigid_error

FOCAL_PX = 3020.0  # 26 mm equivalent
SIZE_PX = (4032, 3024)
SHEET_MM = (279.4, 215.9)
EDGE_MM = 8.0  # between a line and the sheet's edge
RULED_MM = 0.35  # of a line's length, both ends together
LENGTHS_MM = (50.0, 76.2, 100.0, 152.4, 200.0)
TURN = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)


def camera_of(tilt_deg, azimuth_deg, **options):
    options = {"focal_px": FOCAL_PX, "distance_mm": 420.0, **options}
    return Camera(size_px=SIZE_PX, tilt_deg=tilt_deg, azimuth_deg=azimuth_deg, **options)


def seen_by(camera, *lines, length_off_mm=0.0, **options):
    return Seen(
        middle_px=(2015.5, 1511.5),
        focal_px=FOCAL_PX,
        lines=tuple(
            LineSeen(
                ends_px=camera.to_px(ends),
                length_mm=math.dist(*ends) + length_off_mm,
                sigma_mm=RULED_MM,
            )
            for ends in lines
        ),
        **options,
    )


def rounded_bar(centre, width, height, turn_rad=0.0):
    x, y = (np.sign(f(TURN)) * np.abs(f(TURN)) ** 0.3 for f in (np.cos, np.sin))
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    bar = np.column_stack([0.5 * width * x, 0.5 * height * y])
    return centre + bar @ np.array([[cos, sin], [-sin, cos]])


def random_line(rng):
    """Ends of a line of a usual length anywhere on the sheet, at any angle."""
    while True:
        angle = rng.uniform(0.0, math.pi)
        along = 0.5 * rng.choice(LENGTHS_MM) * np.array([math.cos(angle), math.sin(angle)])
        middle = rng.uniform((0.0, 0.0), SHEET_MM)
        line = np.array([middle - along, middle + along])
        if (line > EDGE_MM).all() and (line < np.array(SHEET_MM) - EDGE_MM).all():
            return line


def random_errors(rng, tilt_deg):
    """True error and stated deviation, mm, round a piece measured by one line."""
    camera = camera_of(
        tilt_deg,
        rng.uniform(-180.0, 180.0),
        roll_deg=rng.choice([0.0, 90.0, 180.0, 270.0]) + rng.uniform(-15.0, 15.0),
        distance_mm=rng.uniform(330.0, 550.0),
        aim_mm=tuple(np.array([140.0, 108.0]) + rng.normal(0.0, 15.0, 2)),
        k1=rng.normal(0.0, 0.02),
        focal_px=FOCAL_PX * math.exp(rng.normal(0.0, 0.03)),
    )
    piece = rounded_bar(
        rng.uniform((110.0, 85.0), (170.0, 130.0)),
        rng.uniform(120.0, 220.0),
        rng.uniform(25.0, 60.0),
        rng.choice([0.0, 0.5 * math.pi]) + rng.normal(0.0, 0.15),
    )
    seen = seen_by(camera, random_line(rng), length_off_mm=rng.normal(0.0, RULED_MM))
    return errors_of(camera, piece, seen)


def errors_of(camera, piece, seen):
    sheet_map = adjust_lines(seen).map
    px = camera.to_px(piece)
    return rigid_error(sheet_map.to_mm(px), piece), sheet_map.sigma_mm(px)

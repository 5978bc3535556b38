"""Shapes that several tests of the geometry share."""

import math

import numpy as np
import shapely
from shapely import Polygon


def regular(count: int, radius_mm: float, turn_deg: float = 0.0) -> Polygon:
    """Return a regular polygon about the origin, by the radius of its corners."""
    angles = np.radians(turn_deg) + np.arange(count) * 2.0 * math.pi / count
    return Polygon(radius_mm * np.column_stack([np.cos(angles), np.sin(angles)]))


def wavy(length_mm: float, width_mm: float, count: int, waves: int, depth: float) -> Polygon:
    """Return an ellipse with a waved edge: concave in many places."""
    angles = np.arange(count) * 2.0 * math.pi / count
    radii = 1.0 + depth * np.sin(waves * angles)
    ellipse = np.column_stack([length_mm / 2 * np.cos(angles), width_mm / 2 * np.sin(angles)])
    return Polygon(ellipse * radii[:, None])


def knife() -> Polygon:
    """Return a plain drop point, 200 mm long and 30 mm wide, with a choil: concave there."""
    spine = [(110, 6), (95, 10), (70, 13), (0, 13), (-40, 12), (-88, 12)]
    butt = [(-90, 8), (-88, -14)]
    belly = [(-40, -11), (-12, -14), (-6, -12), (-4, -9), (0, -9), (2, -17), (60, -15), (95, -4)]
    return Polygon([*spine, *butt, *belly])


def moved(shape: Polygon, x_mm: float, y_mm: float, angle_deg: float) -> Polygon:
    """Return a shape turned about the origin, then shifted."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turn = np.array([[cos, sin], [-sin, cos]])
    return shapely.transform(shape, lambda points: points @ turn + (x_mm, y_mm))

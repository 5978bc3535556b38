"""Points and vectors in the plane, as pairs of numbers."""

from __future__ import annotations

import math
from typing import TypeAlias

from geometry.pose import Pose

Point: TypeAlias = tuple[float, float]


def minus(a: Point, b: Point) -> Point:
    """Return the vector from ``b`` to ``a``."""
    return a[0] - b[0], a[1] - b[1]


def cross(a: Point, b: Point) -> float:
    """Return twice the signed area of the triangle of the origin and two points."""
    return a[0] * b[1] - a[1] * b[0]


def unit(vector: Point) -> Point:
    """Return a vector's direction; (0, 0) when it has none."""
    size = math.hypot(*vector)
    return (vector[0] / size, vector[1] / size) if size else (0.0, 0.0)


def turned(vector: Point, angle_rad: float) -> Point:
    """Return a vector turned counter-clockwise."""
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return vector[0] * cos - vector[1] * sin, vector[0] * sin + vector[1] * cos


def first_direction(points: list[Point]) -> Point:
    """Return the direction to the first point that is not the start itself."""
    for point in points[1:]:
        if point != points[0]:
            return unit(minus(point, points[0]))
    return 0.0, 0.0


def moved_points(pose: Pose, *points: Point) -> list[Point]:
    """Return points moved by a pose."""
    return [(x, y) for x, y in pose.points(points).tolist()]

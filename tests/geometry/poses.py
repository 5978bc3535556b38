"""Random boxes of poses and poses in them, for tests that compare a bound with exact clearances."""

import math
from dataclasses import replace

import numpy as np
from shapely import Polygon

from geometry.clearance import UsableRegion
from geometry.pose import Pose
from geometry.pose_boxes import PoseBoxes
from geometry.segments import Floats

EXACT_MM = 1.001e-3  # what the clearance is exact to, where the outline sticks out


def random_boxes(
    random: np.random.Generator,
    steel: Polygon,
    rim_mm: float,
    count: int,
    *,
    scales: tuple[float, float] = (1.0, 1.0),
) -> PoseBoxes:
    """Return boxes in and about the steel, from large ones to such as a search ends with."""
    x1, y1, x2, y2 = steel.bounds
    low, high = np.array([x1 - 10, y1 - 10, 0, scales[0]]), np.array([x2 + 10, y2 + 10, 7, 0])
    high[3] = scales[1]
    middle = random.uniform(low, high, (count, 4))
    size = np.array([rim_mm, rim_mm, 1.0, 0.0]) * 10.0 ** random.uniform(-4, 0, (count, 4))
    size[random.random((count, 4)) < 0.15] = 0.0
    size[:, 3] = random.choice([0.0, 1.0], count) * np.minimum(
        scales[1] - middle[:, 3], middle[:, 3] - scales[0]
    )
    return PoseBoxes(middle, size, random.choice([-1.0, 1.0], count))


def pose_at(numbers: Floats, face: float, centre_mm: Floats) -> Pose:
    """Return the pose that brings the outline's centre to x, y, at an angle and a scale."""
    x, y, theta, scale = numbers.tolist()
    turned = Pose(theta_rad=theta, mirrored=face < 0.0, scale=scale)
    off_x, off_y = turned.points(centre_mm[None])[0].tolist()
    return replace(turned, x_mm=x - off_x, y_mm=y - off_y)


def places_in_boxes(random: np.random.Generator, count: int) -> Floats:
    """Return (N, 4) points of a box, its sides at -1 and 1: corners, middles of sides, any."""
    places = random.uniform(-1, 1, (count, 4))
    places[: count // 3] = np.sign(places[: count // 3])
    places[0] = 0.0
    return places


def exact_mm(region: UsableRegion, outline: Polygon, pose: Pose) -> float:
    """Return the clearance that a bound must not lie below."""
    value = region.clearance(pose.shape(outline)).value_mm
    return value - (EXACT_MM if value < 0.0 else 0.0)


def random_pose(random: np.random.Generator, steel: Polygon, outline: Polygon) -> Pose:
    """Return a pose with a place of the outline's middle somewhere in the steel's bounds."""
    x1, y1, x2, y2 = steel.bounds
    numbers = np.array([*random.uniform((x1, y1), (x2, y2)), random.uniform(0, math.tau), 1.0])
    centre = np.array(outline.centroid.coords[0])
    return pose_at(numbers, float(random.choice([-1.0, 1.0])), centre)

"""Position, rotation, mirror and scale of a blank on a billet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

G = TypeVar("G", bound=BaseGeometry)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """The map ``p -> R(theta) @ S @ p + (x, y)``.

    ``S`` is ``scale * diag(1, -1)`` when mirrored, else ``scale * I``. Lengths in mm, the angle in
    radians, counter-clockwise, y up.

    Examples
    --------
    >>> Pose(x_mm=10.0, theta_rad=math.pi / 2).points([[1.0, 0.0]]).round(6).tolist()
    [[10.0, 1.0]]
    """

    x_mm: float = 0.0
    y_mm: float = 0.0
    theta_rad: float = 0.0
    mirrored: bool = False
    scale: float = 1.0

    def linear(self) -> NDArray[np.float64]:
        """Return the 2 x 2 matrix ``R(theta) @ S``."""
        cos, sin = math.cos(self.theta_rad) * self.scale, math.sin(self.theta_rad) * self.scale
        flip = -1.0 if self.mirrored else 1.0
        return np.array([[cos, -sin * flip], [sin, cos * flip]])

    def points(self, points_mm: ArrayLike) -> NDArray[np.float64]:
        """Return (N, 2) outline points moved onto the billet, mm."""
        moved: NDArray[np.float64] = np.asarray(points_mm, float) @ self.linear().T
        moved += (self.x_mm, self.y_mm)
        return moved

    def back(self, points_mm: ArrayLike) -> NDArray[np.float64]:
        """Return (N, 2) billet points in the outline's own frame, mm: the inverse of `points`."""
        shifted = np.asarray(points_mm, float) - (self.x_mm, self.y_mm)
        moved: NDArray[np.float64] = shifted @ np.linalg.inv(self.linear()).T
        return moved

    def shape(self, shape: G) -> G:
        """Return a shapely geometry moved onto the billet."""
        moved: G = shapely.transform(shape, self.points)
        return moved

    def turned_about(self, centre_mm: tuple[float, float], angle_rad: float) -> Pose:
        """Return this pose turned by an angle about a fixed point of the billet."""
        cos, sin = math.cos(angle_rad), math.sin(angle_rad)
        dx, dy = self.x_mm - centre_mm[0], self.y_mm - centre_mm[1]
        return Pose(
            x_mm=centre_mm[0] + cos * dx - sin * dy,
            y_mm=centre_mm[1] + sin * dx + cos * dy,
            theta_rad=self.theta_rad + angle_rad,
            mirrored=self.mirrored,
            scale=self.scale,
        )

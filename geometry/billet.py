"""The piece of steel as a polygon, with what is known of its thickness and its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from geometry.errors import InputError

MAX_MM = 1e6  # 1 km from the origin: beyond, a unit is wrong or the file is damaged


@dataclass(frozen=True, slots=True, kw_only=True)
class Billet:
    """A piece of steel.

    Parameters
    ----------
    shape : shapely.Polygon
        Its edge, and its holes, mm, y up; kept with the exterior counter-clockwise.
    vertex_sigma_mm : tuple of float
        One standard deviation of each vertex, exterior first, then the holes in order, the
        repeated last vertex of a ring left out. Empty: taken as exact.
    thickness_mm : float, optional
        Measured thickness, > 0.
    """

    shape: Polygon
    vertex_sigma_mm: tuple[float, ...] = ()
    thickness_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.shape.is_empty and not np.abs(self.shape.bounds).max() <= MAX_MM:
            raise InputError(
                f"the billet's edge reaches beyond {MAX_MM / 1e6:g} km.",
                where="Billet",
                remedy="Check the unit and the numbers.",
            )
        if self.shape.is_empty or not self.shape.is_valid:
            raise InputError(
                f"the billet's edge cannot be used ({explain_validity(self.shape)}).",
                where="Billet",
                remedy="Give one closed edge that does not cross itself.",
            )
        oriented = orient(self.shape)
        if self.vertex_sigma_mm:
            if len(self.vertex_sigma_mm) != len(self.vertices_mm()):
                raise ValueError("one sigma for each vertex")
            if oriented != self.shape:
                raise ValueError(
                    "a shape with sigmas is given already oriented: turning moves them"
                )
        object.__setattr__(self, "shape", oriented)

    def vertices_mm(self) -> NDArray[np.float64]:
        """Return the (N, 2) vertices, exterior first, then the holes, none repeated."""
        rings = [self.shape.exterior, *self.shape.interiors]
        return np.vstack([shapely.get_coordinates(ring)[:-1] for ring in rings])

    def sigma_at_mm(self, point_mm: tuple[float, float]) -> float:
        """Return one standard deviation of the edge at the vertex nearest a point, mm."""
        if not self.vertex_sigma_mm:
            return 0.0
        nearest = np.argmin(np.hypot(*(self.vertices_mm() - point_mm).T))
        return self.vertex_sigma_mm[int(nearest)]

    def size_mm(self) -> tuple[float, float]:
        """Return the sides of the smallest rectangle round the piece, the longer first, mm."""
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(self.shape))
        first, second = np.hypot(*np.diff(corners[:3], axis=0).T).tolist()
        return max(first, second), min(first, second)

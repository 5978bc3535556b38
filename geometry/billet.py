"""The piece of steel as a polygon: its flaws, its thickness, and how far its edge is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, MultiPolygon, Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from geometry.allowance import Allowance
from geometry.error_budget import Budget
from geometry.errors import InputError

NOTHING_KNOWN = Budget()
QUARTER = 32  # pieces of a quarter turn, 0.1 % of what is taken off away from the true arc
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
    flaws : tuple of shapely.Polygon
        Regions to keep out of, mm, kept without holes; they may reach beyond the edge.
    allowances : tuple of Allowance
        What to leave along stretches of the edge.
    budget : Budget
        What the edge may be off by at a usual place, and why; where a part has a bias, its
        deviation is not in `vertex_sigma_mm`.

    Raises
    ------
    InputError
        If the edge or a flaw crosses itself, an allowance ends off the edge, or flaws and
        allowances leave no steel.
    """

    shape: Polygon
    vertex_sigma_mm: tuple[float, ...] = ()
    thickness_mm: float | None = None
    flaws: tuple[Polygon, ...] = ()
    allowances: tuple[Allowance, ...] = ()
    budget: Budget = NOTHING_KNOWN

    def __post_init__(self) -> None:
        _check(self.shape, "the billet's edge")
        for number, flaw in enumerate(self.flaws, start=1):
            _check(flaw, f"the edge of flaw {number}")
        oriented = orient(self.shape)
        if self.vertex_sigma_mm:
            if len(self.vertex_sigma_mm) != len(self.vertices_mm()):
                raise ValueError("one sigma for each vertex")
            if oriented != self.shape:
                raise ValueError(
                    "a shape with sigmas is given already oriented: turning moves them"
                )
        object.__setattr__(self, "shape", oriented)
        filled = tuple(orient(Polygon(flaw.exterior)) for flaw in self.flaws)
        object.__setattr__(self, "flaws", filled)
        if self.sound().is_empty:
            raise InputError(
                "its flaws and allowances leave no steel to use.",
                where="Billet",
                remedy="Take one away.",
            )

    def usable(self) -> Polygon | MultiPolygon:
        """Return the steel to count on, mm; several parts where flaws cut it through.

        Its flaws and allowances are left out, and what lies nearer to the edge than it is likely to
        be measured too large.  What it may be too small is not added.

        Raises
        ------
        InputError
            If the edge is so much too large that no steel is left.
        """
        left = self.sound()
        if self.too_large_mm:
            steel = shapely.buffer(self.shape, -self.too_large_mm, quad_segs=QUARTER)
            left = _one_or_several(shapely.intersection(left, steel))
        if left.is_empty:
            raise InputError(
                f"likely {self.too_large_mm:.1f} mm too large, it leaves no steel to use.",
                where="Billet",
                remedy="Check the thickness and the sizes told, and the reference's length.",
            )
        return left

    def sound(self) -> Polygon | MultiPolygon:
        """Return the steel as measured, without its flaws and allowances, mm; raises nothing."""
        kept_out = [*self.flaws, *(each.region(self.shape) for each in self.allowances)]
        if not kept_out:
            return self.shape
        return _one_or_several(shapely.difference(self.shape, shapely.union_all(kept_out)))

    @property
    def too_large_mm(self) -> float:
        """How much too large the piece is likely to be measured, all round, >= 0."""
        return max(self.budget.bias_mm, 0.0)

    @property
    def worst_sigma_mm(self) -> float:
        """One standard deviation of the edge where it is known least."""
        return math.hypot(max(self.vertex_sigma_mm, default=0.0), self.budget.bias_sigma_mm)

    def vertices_mm(self) -> NDArray[np.float64]:
        """Return the (N, 2) vertices, exterior first, then the holes, none repeated."""
        rings = [self.shape.exterior, *self.shape.interiors]
        return np.vstack([shapely.get_coordinates(ring)[:-1] for ring in rings])

    def sigma_at_mm(self, point_mm: tuple[float, float]) -> float:
        """Return one standard deviation of the edge nearest a point, mm."""
        own_mm = float(self.edge_sigma_mm(np.array([point_mm]))[0])
        return math.hypot(own_mm, self.budget.bias_sigma_mm)

    def edge_sigma_mm(self, points_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (N,) what the vertices say of the edge nearest to each of (N, 2) points, mm.

        Between two vertices it goes evenly from one's to the other's.
        """
        if not self.vertex_sigma_mm:
            return np.zeros(len(points_mm))
        start, sigma = self.vertices_mm(), np.array(self.vertex_sigma_mm)
        after = np.arange(len(start)) + 1
        counts = [len(ring.coords) - 1 for ring in (self.shape.exterior, *self.shape.interiors)]
        ends = np.cumsum(counts)
        after[ends - 1] = ends - counts
        along = start[after] - start
        away = points_mm[:, None] - start
        length2 = np.maximum((along**2).sum(axis=1), np.finfo(float).tiny)
        share = np.clip((away * along).sum(axis=2) / length2, 0.0, 1.0)
        off = np.hypot(*np.moveaxis(away - share[:, :, None] * along, 2, 0))
        piece = off.argmin(axis=1)
        share = share[np.arange(len(piece)), piece]
        found: NDArray[np.float64] = (1.0 - share) * sigma[piece] + share * sigma[after[piece]]
        return found

    def size_mm(self) -> tuple[float, float]:
        """Return the sides of the smallest rectangle round the piece, the longer first, mm."""
        corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(self.shape))
        first, second = np.hypot(*np.diff(corners[:3], axis=0).T).tolist()
        return max(first, second), min(first, second)


def _one_or_several(shape: Geometry) -> Polygon | MultiPolygon:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def _check(polygon: Polygon, what: str) -> None:
    """Refuse a polygon that is none, or not of this world."""
    if not polygon.is_empty and not np.abs(polygon.bounds).max() <= MAX_MM:
        raise InputError(
            f"{what} reaches beyond {MAX_MM / 1e6:g} km.",
            where="Billet",
            remedy="Check the unit and the numbers.",
        )
    if polygon.is_empty or not polygon.is_valid:
        raise InputError(
            f"{what} cannot be used ({explain_validity(polygon)}).",
            where="Billet",
            remedy="Give one closed edge that does not cross itself.",
        )

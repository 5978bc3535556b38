"""A cubic curve: its points, bends and length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from geometry.plane import Point, cross, first_direction, moved_points
from geometry.pose import Pose

_HALF, _WEIGHT = np.polynomial.legendre.leggauss(
    24
)  # nodes on -1 to 1, put on both halves of 0 to 1
_NODES = np.concatenate([_HALF + 1, _HALF + 3]) / 4
_WEIGHTS = np.concatenate([_WEIGHT, _WEIGHT]) / 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Cubic:
    """A cubic Bezier curve from ``start`` to ``end`` with two controls, mm."""

    start: Point
    control1: Point
    control2: Point
    end: Point

    @property
    def controls(self) -> NDArray[np.float64]:
        """The (4, 2) control points, mm."""
        return np.array([self.start, self.control1, self.control2, self.end])

    @property
    def start_direction(self) -> Point:
        """The unit vector of travel at the start."""
        return first_direction([self.start, self.control1, self.control2, self.end])

    @property
    def end_direction(self) -> Point:
        """The unit vector of travel at the end."""
        x, y = first_direction([self.end, self.control2, self.control1, self.start])
        return -x, -y

    @property
    def length_mm(self) -> float:
        """The length along the piece, mm."""
        return float(self.lengths_mm(np.ones(1))[0])

    @property
    def swept_mm2(self) -> float:
        """The signed area between the piece and the origin (exact for a cubic)."""
        p, q, r, s = self.start, self.control1, self.control2, self.end
        return (
            6 * cross(p, q) + 3 * cross(p, r) + cross(p, s)
            + 3 * cross(q, r) + 3 * cross(q, s) + 6 * cross(r, s)
        ) / 20  # fmt: skip

    def at(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N, 2) points at parameters 0 to 1, mm."""
        u = 1 - t
        weights = np.column_stack([u**3, 3 * u * u * t, 3 * u * t * t, t**3])
        points: NDArray[np.float64] = weights @ self.controls
        return points

    def derivative(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N, 2) first derivatives at parameters 0 to 1, mm."""
        u = 1 - t
        weights = np.column_stack([u * u, 2 * u * t, t * t])
        slopes: NDArray[np.float64] = 3 * weights @ np.diff(self.controls, axis=0)
        return slopes

    def second_derivative(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N, 2) second derivatives at parameters 0 to 1, mm."""
        weights = np.column_stack([1 - t, t])
        bends: NDArray[np.float64] = 6 * weights @ np.diff(self.controls, n=2, axis=0)
        return bends

    def lengths_mm(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the (N,) lengths from the start to parameters 0 to 1, mm.

        Notes
        -----
        Gauss-Legendre quadrature of the speed, each half by itself: 1e-9 of the length for curves
        that knives have.
        """
        speed = np.hypot(*self.derivative((t[:, None] * _NODES).ravel()).T)
        lengths: NDArray[np.float64] = speed.reshape(len(t), len(_NODES)) @ _WEIGHTS * t
        return lengths

    def curvature_per_mm(self, t: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return (N,) signed curvatures, 1/mm, positive where the curve turns left."""
        first, second = self.derivative(t), self.second_derivative(t)
        turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        curvature: NDArray[np.float64] = turn / np.hypot(*first.T) ** 3
        return curvature

    def chords(self, chord_mm: float) -> int:
        """Return how many equal steps of the parameter keep each chord as close as asked.

        Notes
        -----
        Over a step ``h`` of the parameter a curve leaves its chord by at most ``h^2 / 8`` times
        the largest second derivative; a cubic's is linear, so the larger end value bounds it.
        """
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = self.start, self.control1, self.control2, self.end
        first = math.hypot(x0 - 2 * x1 + x2, y0 - 2 * y1 + y2)
        second = math.hypot(x1 - 2 * x2 + x3, y1 - 2 * y2 + y3)
        return max(1, math.ceil(math.sqrt(6 * max(first, second) / (8 * chord_mm))))

    def flattened(self, chord_mm: float) -> NDArray[np.float64]:
        """Return (N, 2) points on the curve, without the end, no chord further off than asked."""
        return flattened_cubics([self], chord_mm)[0]

    def backward(self) -> Cubic:
        """Return the same piece travelled the other way."""
        return Cubic(start=self.end, control1=self.control2, control2=self.control1, end=self.start)

    def moved(self, pose: Pose) -> Cubic:
        """Return the piece moved by a pose."""
        start, control1, control2, end = moved_points(
            pose, self.start, self.control1, self.control2, self.end
        )
        return Cubic(start=start, control1=control1, control2=control2, end=end)


def flattened_cubics(cubics: Sequence[Cubic], chord_mm: float) -> list[NDArray[np.float64]]:
    """Return each cubic flattened as by itself; all at once is several times faster."""
    counts = [cubic.chords(chord_mm) for cubic in cubics]
    firsts = [0, *accumulate(counts)]
    of = np.repeat(np.arange(len(cubics)), counts)
    t = (np.arange(firsts[-1]) - np.repeat(firsts[:-1], counts)) / np.repeat(counts, counts)
    u = 1 - t
    p = np.array([(c.start, c.control1, c.control2, c.end) for c in cubics])[of]
    weights = np.stack([u**3, 3 * u * u * t, 3 * u * t * t, t**3], axis=1)
    points = np.einsum("nk,nkd->nd", weights, p)
    points[firsts[:-1]] = [cubic.start for cubic in cubics]
    return [points[a:b] for a, b in pairwise(firsts)]

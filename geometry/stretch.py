"""A fixed profile stretched smoothly along x and along y.

A stretch along x leaves what lies before its start, eases in, and spreads the change evenly from
there on: up to its end, beyond which all is carried along as it is, or on and on, so that what
lies past the easing keeps its curves fair.  A stretch along y draws everything evenly away from a
line that keeps its place, and may fade out along x.  Rigid zones, such as a notch, only move.  The
changes add up at each place as it was drawn, so their order means nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Point
from geometry.errors import InputError

EASE = 0.25  # of a stretch's length, at each end: where it eases in and out
LEAST_SPREAD = 0.05  # of its size is the least that a place may be pressed together to
Axis: TypeAlias = Literal["x", "y"]
Array: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class StretchAt:
    """Where a measure stretches, mm.

    Parameters
    ----------
    axis : {"x", "y"}
        Along which it goes.
    start_mm, end_mm : float
        Along x: what lies on the start's side stays, what lies beyond the end moves by the whole.
        Along y: the two heights whose distance changes by the whole. Not equal.
    goes_on : bool
        Along x: it grows on as evenly beyond the end, and does not ease out there.
    about_mm : float
        Along y: the height that keeps its place.
    gone_at_mm, full_at_mm : float, optional
        Along y: the x where it has faded out, and the x from which on it is full, both or neither.
    carried_mm : float, optional
        Along y: the height that all moves with where it has faded out, so that a tang stays in the
        middle of its blade; `about_mm` if left out, so that nothing moves there.

    Raises
    ------
    InputError
        If start and end, or the two ends of the fading, are one place.
    """

    axis: Axis
    start_mm: float
    end_mm: float
    about_mm: float = 0.0
    gone_at_mm: float | None = None
    full_at_mm: float | None = None
    carried_mm: float | None = None
    goes_on: bool = False

    def __post_init__(self) -> None:
        if self.start_mm == self.end_mm or (
            self.full_at_mm is not None and self.full_at_mm == self.gone_at_mm
        ):
            raise InputError(
                f"the stretch along {self.axis} begins and ends at one place.",
                where="Stretch",
                remedy="Give two places apart from each other.",
            )

    def change(self, points: Array, by_mm: float) -> tuple[Array, Array, Array]:
        """Return how far each point moves along the axis, and how that grows along x and y.

        Parameters
        ----------
        points : ndarray, (N, 2)
            Places as drawn, mm.
        by_mm : float
            How much longer or wider all of it gets; less than zero for shorter.

        Returns
        -------
        tuple of ndarray, (N,)
            The move, mm, and its two derivatives.
        """
        x, y = points.T
        length = self.end_mm - self.start_mm
        if self.axis == "x":
            share, slope = (eased_in if self.goes_on else eased)((x - self.start_mm) / length)
            whole = math.copysign(by_mm, by_mm * length)
            return whole * share, whole * slope / length, np.zeros_like(x)
        weight, fading = self._weight(x)
        per_mm = by_mm / abs(length)
        carried = self.about_mm if self.carried_mm is None else self.carried_mm
        move = per_mm * ((y - carried) * weight + carried - self.about_mm)
        return move, per_mm * (y - carried) * fading, per_mm * weight

    def _weight(self, x: Array) -> tuple[Array, Array]:
        """Return how full the stretch is at each x, 0 to 1, and the slope of that, 1/mm."""
        if self.gone_at_mm is None or self.full_at_mm is None:
            return np.ones_like(x), np.zeros_like(x)
        length = self.full_at_mm - self.gone_at_mm
        share, slope = eased((x - self.gone_at_mm) / length)
        return share, slope / length


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One change of a measure: where, and how much longer or wider, mm; shorter below zero."""

    at: StretchAt
    by_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RigidZone:
    """A disc whose content moves and keeps its shape, mm.

    Within ``fade_mm`` of its edge the change is made up for; half a radius is the least that does.
    It moves as the place ``anchor_mm`` does, its middle where that is not told. The rounding at a
    step's end keeps to the step as well: to the line from its ``foot_mm``, whose x grows with y by
    ``lean``, and which stays as straight as it was.
    """

    x_mm: float
    y_mm: float
    radius_mm: float
    fade_mm: float
    anchor_mm: Point | None = None
    foot_mm: Point | None = None
    lean: float = 0.0

    def reaches(self, points: Array) -> NDArray[np.bool_]:
        """Return which (N, 2) places lie in the zone or its fading, some just beside, too."""
        reach = self.radius_mm + self.fade_mm
        beside: NDArray[np.bool_] = np.abs(points - (self.x_mm, self.y_mm)).max(axis=1) < reach
        return beside

    def weight(self, points: Array) -> tuple[Array, Array]:
        """Return (N,) 1 inside down to 0 beyond the fading, and its (N, 2) gradient, 1/mm."""
        off = points - (self.x_mm, self.y_mm)
        away = np.hypot(*off.T)
        share, slope = eased(1 - (away - self.radius_mm) / self.fade_mm)
        outward = off / np.maximum(away, 1e-12)[:, None]
        return share, -(slope / self.fade_mm)[:, None] * outward


@dataclass(frozen=True, slots=True, kw_only=True)
class StretchMap:
    """All stretches of a profile for one set of values.

    Parameters
    ----------
    stretches : tuple of Stretch
        They add up.
    rigid : tuple of RigidZone
        Where the shape is kept; where two reach the same place the later one holds.
    kept : tuple of float, optional
        A place that does not move; everything else moves so that it stays.
    """

    stretches: tuple[Stretch, ...] = ()
    rigid: tuple[RigidZone, ...] = ()
    kept: Point | None = None
    _zone_moves: Array = field(init=False, repr=False, compare=False)
    _kept_move: Array = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        anchors = [zone.anchor_mm or (zone.x_mm, zone.y_mm) for zone in self.rigid]
        moves, _ = self._plain_moves(np.array(anchors, float).reshape(-1, 2))
        for move, zone in zip(moves, self.rigid, strict=True):
            if zone.foot_mm is not None:
                [[x, y]] = self._plain_moves(np.array([zone.foot_mm], float))[0]
                move[0] = x + zone.lean * (move[1] - y)
        object.__setattr__(self, "_zone_moves", moves)
        kept = np.array([self.kept or (0.0, 0.0)], float)
        move = self._moves(kept)[0] if self.kept is not None else np.zeros((1, 2))
        object.__setattr__(self, "_kept_move", move)

    @property
    def is_none(self) -> bool:
        """Whether nothing moves."""
        return all(stretch.by_mm == 0 for stretch in self.stretches)

    def points(self, points: Array) -> Array:
        """Return where (N, 2) places go, mm."""
        return self.with_slopes(points)[0]

    def point(self, point: Point) -> Point:
        """Return where one place goes, mm; the very same place when nothing moves."""
        if self.is_none:
            return point
        [(x, y)] = self.points(np.array([point])).tolist()
        return x, y

    def moved(self, places: Sequence[Point]) -> dict[Point, Point]:
        """Return where each of some places goes, mm; nothing where nothing moves."""
        if self.is_none or not places:
            return {}
        return {
            place: (x, y)
            for place, (x, y) in zip(places, self.points(np.array(places)).tolist(), strict=True)
        }

    def with_slopes(self, points: Array) -> tuple[Array, Array]:
        """Return where (N, 2) places go, and the (N, 2, 2) derivative of the map there.

        Raises
        ------
        InputError
            If the values press the profile together until nothing of it is left somewhere.
        """
        points = np.asarray(points, float)
        move, slopes = self._moves(points)
        move = move - self._kept_move
        slopes = slopes + np.eye(2)
        spread = slopes[:, 0, 0] * slopes[:, 1, 1] - slopes[:, 0, 1] * slopes[:, 1, 0]
        if spread.size and not (spread.min() >= LEAST_SPREAD and slopes[:, 0, 0].min() > 0):
            x, y = points[int(spread.argmin())].tolist()
            raise InputError(
                f"these values leave no room near x {x:.1f}, y {y:.1f} mm.",
                where="Stretch",
                remedy="Change them less.",
            )
        return points + move, slopes

    def _moves(self, points: Array) -> tuple[Array, Array]:
        """Return the (N, 2) moves and their (N, 2, 2) derivative."""
        move, slopes = self._plain_moves(points)
        for zone, whole in zip(self.rigid, self._zone_moves, strict=True):
            near = np.flatnonzero(zone.reaches(points))
            if not near.size:
                continue
            weight, gradient = zone.weight(points[near])
            short = whole - move[near]
            slopes[near] = (1 - weight)[:, None, None] * slopes[near] + (
                short[:, :, None] * gradient[:, None, :]
            )
            move[near] += weight[:, None] * short
        return move, slopes

    def _plain_moves(self, points: Array) -> tuple[Array, Array]:
        move = np.zeros(points.shape)
        slopes = np.zeros((len(points), 2, 2))
        for stretch in self.stretches:
            if stretch.by_mm == 0:
                continue
            row = 0 if stretch.at.axis == "x" else 1
            by, along_x, along_y = stretch.at.change(points, stretch.by_mm)
            move[:, row] += by
            slopes[:, row, 0] += along_x
            slopes[:, row, 1] += along_y
        return move, slopes


def eased(share: Array) -> tuple[Array, Array]:
    """Return a rise from 0 to 1 that is even but for its eased ends, and its slope.

    Notes
    -----
    The slope is a trapezium whose sides are the cubic ``3 v^2 - 2 v^3``, so the rise has two
    continuous derivatives; its greatest slope is ``1 / (1 - EASE)``.

    Examples
    --------
    >>> [round(float(v), 4) for v in eased(np.array([-1.0, 0.0, 0.5, 1.0, 2.0]))[0]]
    [0.0, 0.0, 0.5, 1.0, 1.0]
    """
    u = np.clip(share, 0.0, 1.0)
    near = np.minimum(u, 1 - u)
    v = np.minimum(near / EASE, 1.0)
    half = EASE * (v**3 - v**4 / 2) + np.maximum(near - EASE, 0.0)
    rise = half / (1 - EASE)
    slope = (3 * v**2 - 2 * v**3) / (1 - EASE)
    return np.where(u <= 0.5, rise, 1 - rise), slope


def eased_in(share: Array) -> tuple[Array, Array]:
    """Return a rise from 0, eased at its start alone, through 1 and on as evenly; and its slope.

    Examples
    --------
    >>> [round(float(v), 4) for v in eased_in(np.array([-1.0, 0.0, 0.25, 1.0, 2.0]))[0]]
    [0.0, 0.0, 0.1429, 1.0, 2.1429]
    """
    u = np.maximum(share, 0.0)
    v = np.minimum(u / EASE, 1.0)
    rise = EASE * (v**3 - v**4 / 2) + np.maximum(u - EASE, 0.0)
    whole = 1 - EASE / 2
    return rise / whole, (3 * v**2 - 2 * v**3) / whole

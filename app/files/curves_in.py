"""Curves of drawings as chains of lines, arcs and cubics."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment

ELLIPSE_RAD = math.pi / 6  # a cubic strays 4e-7 of the radius from a twelfth of a circle
HALVINGS = 8  # of a spline between two knots
FIT_MM = 1e-4  # how far a cubic may lie from a spline that is none
PROBES = (0.25, 0.5, 0.75)
LEFT = 1e-9  # of a span: the direction just before a knot, where a corner may be
MOST_TURN_RAD = 1.9 * math.pi  # an arc that turns on is kept in two halves

Spot = Callable[[float], Point]


def straight_chain(points: Sequence[Point], *, closed: bool = False) -> Chain:
    """Return straight pieces through points, those without length left out."""
    around = [*points, *points[: int(closed)]]
    return tuple(Line(start=a, end=b) for a, b in itertools.pairwise(around) if a != b)


def bulged_chain(vertices: Sequence[tuple[Point, float]], *, closed: bool, turn: int = 1) -> Chain:
    """Return a chain through vertices whose pieces are lines and arcs.

    A bulge is the tangent of a quarter of the arc's sweep (DXF reference, group code 42);
    ``turn`` is -1 where the drawing is seen from behind.
    """
    pieces: list[Segment] = []
    for (start, bulge), (end, _) in itertools.pairwise([*vertices, *vertices[: int(closed)]]):
        if start == end:
            continue
        sweep = 4 * math.atan(bulge) * turn
        pieces.append(
            Arc(start=start, end=end, sweep_rad=sweep)
            if 1e-9 < abs(sweep) < 2 * math.pi
            else Line(start=start, end=end)
        )
    return tuple(pieces)


def arc_chain(centre: Point, radius: float, from_rad: float, sweep_rad: float) -> Chain:
    """Return a part of a circle, the whole of it in two halves."""
    if radius <= 0.0 or sweep_rad == 0.0:
        return ()
    count = 1 if abs(sweep_rad) <= MOST_TURN_RAD else 2
    x, y = centre
    angles = [from_rad + sweep_rad * step / count for step in range(count + 1)]
    spots = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]
    if abs(abs(sweep_rad) - 2 * math.pi) < 1e-12:
        spots[-1] = spots[0]
    pairs = itertools.pairwise(spots)
    return tuple(Arc(start=a, end=b, sweep_rad=sweep_rad / count) for a, b in pairs if a != b)


def ellipse_chain(
    centre: Point, major: Point, minor: Point, from_rad: float, sweep_rad: float
) -> Chain:
    """Return a part of an ellipse, parameters counted from the major axis toward the minor.

    A circle's arc where the axes are alike, else cubics.
    """
    a, b = math.hypot(*major), math.hypot(*minor)
    dot = major[0] * minor[0] + major[1] * minor[1]
    if abs(a - b) <= 1e-9 * a and abs(dot) <= 1e-9 * a * a:
        turn = 1 if major[0] * minor[1] - major[1] * minor[0] > 0 else -1
        start = math.atan2(major[1], major[0]) + turn * from_rad
        return arc_chain(centre, a, start, turn * sweep_rad)
    count = max(1, math.ceil(abs(sweep_rad) / ELLIPSE_RAD))
    step = sweep_rad / count
    reach = 4 / 3 * math.tan(step / 4)
    at = _Ellipse(centre=centre, major=major, minor=minor).at
    angles = [from_rad + step * number for number in range(count + 1)]
    ends = [at(angle, 0.0) for angle in angles]
    if abs(abs(sweep_rad) - 2 * math.pi) < 1e-9:
        ends[-1] = ends[0]
    return tuple(
        Cubic(
            start=ends[k],
            control1=at(angles[k], reach),
            control2=at(angles[k + 1], -reach),
            end=ends[k + 1],
        )
        for k in range(count)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ellipse:
    centre: Point
    major: Point
    minor: Point

    def at(self, angle: float, along: float) -> Point:
        """Return a point of it, moved along its direction there by a share of the axes."""
        cos = math.cos(angle) - along * math.sin(angle)
        sin = math.sin(angle) + along * math.cos(angle)
        return (
            self.centre[0] + self.major[0] * cos + self.minor[0] * sin,
            self.centre[1] + self.major[1] * cos + self.minor[1] * sin,
        )


def fastened(chain: Chain, start: Point, end: Point) -> Chain:
    """Return a chain that begins and ends exactly where the drawing says."""
    if not chain or (len(chain) == 1 and start == end):
        return chain
    first = replace(chain[0], start=start)
    if len(chain) == 1:
        return (replace(first, end=end),)
    return (first, *chain[1:-1], replace(chain[-1], end=end))


def quadratic(start: Point, control: Point, end: Point) -> Cubic:
    """Return a parabola as the cubic that it is."""

    def toward(corner: Point) -> Point:
        return (corner[0] + 2 * control[0]) / 3, (corner[1] + 2 * control[1]) / 3

    return Cubic(start=start, control1=toward(start), control2=toward(end), end=end)


def smooth_chain(at: Spot, slope: Spot, breaks: Sequence[float], fit: float) -> Chain:
    """Return a parametric curve as cubics that have its ends and slopes.

    Between two breaks a curve of the third degree is met exactly; any other is halved until a
    cubic keeps within ``fit`` of it.
    """
    pieces: list[Segment] = []
    for low, high in itertools.pairwise(breaks):
        pieces += _cubics(at, slope, low, high, fit, HALVINGS)
    return tuple(p for p in pieces if not isinstance(p, Cubic) or np.ptp(p.controls, axis=0).any())


def _cubics(
    at: Spot, slope: Spot, low: float, high: float, fit: float, halvings: int
) -> list[Segment]:
    (x0, y0), (x3, y3) = start, end = at(low), at(high)
    third = (high - low) / 3
    (u0, v0), (u1, v1) = slope(low), slope(high - LEFT * (high - low))
    piece = Cubic(
        start=start,
        control1=(x0 + third * u0, y0 + third * v0),
        control2=(x3 - third * u1, y3 - third * v1),
        end=end,
    )
    probes = piece.at(np.array(PROBES)).tolist()
    true = [at(low + share * (high - low)) for share in PROBES]
    if not halvings or all(math.dist(a, b) <= fit for a, b in zip(probes, true, strict=True)):
        return [piece]
    middle = (low + high) / 2
    return [
        *_cubics(at, slope, low, middle, fit, halvings - 1),
        *_cubics(at, slope, middle, high, fit, halvings - 1),
    ]

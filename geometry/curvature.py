"""Inside radii of an outline, and the wheels of a belt grinder that can follow them.

A wheel presses the belt into an inside (concave) curve only where the curve is at least as round as
the wheel; into a tighter one it reaches with its sides alone and cuts two facets or too much.
Outside curves are ground on anything.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.along import Along, motion, parameters
from geometry.curves import Arc, Cubic, Line, Point, Segment
from geometry.errors import InputError
from geometry.outline import Outline

Floats: TypeAlias = NDArray[np.float64]

SHARP_RAD = math.radians(1.0)  # a joint that turns more is a corner; smooth ones turn below 0.1
SHARP_MM = 0.1  # of a radius: no tool makes a smaller one, and near a cusp it has no end
STRAIGHT_MM = 5000.0  # a rounder curve is straight for every wheel
NEAR_MM = 1e-3  # of one place, and of one radius
ON_EDGE_MM = 0.5  # a station farther from the edge parts no stretch of it
STILL = 1e-9  # of its greatest speed: a cubic that is slower has no direction there
SAMPLES, ROUNDS = 33, 4  # of a search that narrows 16-fold each time


@dataclass(frozen=True, slots=True, kw_only=True)
class InsideRadius:
    """The tightest inside curve of a stretch of the edge.

    Parameters
    ----------
    radius_mm : float
        Its radius; 0 at a sharp inside corner.
    at : tuple of float
        Where it is, mm.
    between : tuple of str
        The stations before and after it, counter-clockwise; empty names where there are none.
    """

    radius_mm: float
    at: Point
    between: tuple[str, str] = ("", "")

    @property
    def place_text(self) -> str:
        """Where it is, in words."""
        first, second = self.between
        x, y = self.at
        spot = f"x {x:.1f}, y {y:.1f} mm"
        if not first:
            return f"at {spot}"
        return (
            f"near the {first} ({spot})"
            if first == second
            else (f"between {first} and {second} ({spot})")
        )


def inside_radii(outline: Outline) -> tuple[InsideRadius, ...]:
    """Return the least inside radius of each stretch between stations and corners that has one.

    A sharp inside corner counts by itself, with radius 0, and so does a curve of less than 0.1 mm.
    The order is counter-clockwise, from the first piece of the edge on.
    """
    along = Along(outline.chain)
    stations = _stations_along(outline, along)
    least: dict[int, tuple[float, Point]] = {}
    for stretch, segment, low, high in _parts(outline, [place for place, _ in stations]):
        tight = _tightest(segment, low, high)
        if tight is not None and tight < least.get(stretch, (STRAIGHT_MM, tight[1])):
            least[stretch] = tight
    found = [*least.values(), *((0.0, at) for at, turn in _joints(outline) if turn < -SHARP_RAD)]
    placed = sorted((along.place_mm(at), radius, at) for radius, at in found)
    return tuple(
        InsideRadius(
            radius_mm=radius * (radius >= SHARP_MM), at=at, between=_between(place, stations)
        )
        for place, radius, at in placed
    )


def _stations_along(outline: Outline, along: Along) -> list[tuple[float, str]]:
    """Return how far along the edge the stations on it lie, in that order."""
    found = []
    for station in outline.stations:
        place = along.place_mm((station.x_mm, station.y_mm))
        [(x, y)], _ = along.at([place])
        if math.dist((x, y), (station.x_mm, station.y_mm)) <= ON_EDGE_MM:
            found.append((place, station.name))
    return sorted(found)


def _joints(outline: Outline) -> list[tuple[Point, float]]:
    """Return the start of each piece and how far the edge turns there, left positive, rad."""
    joints = []
    for before, after in zip((outline.chain[-1], *outline.chain), outline.chain, strict=False):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        joints.append((after.start, math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)))
    return joints


def _parts(
    outline: Outline, places: Sequence[float]
) -> Iterator[tuple[int, Segment, float, float]]:
    """Yield the pieces cut at the stations: the stretch's number, the piece, from and to."""
    parts: list[tuple[int, Segment, float, float]] = []
    stretch, start = 0, 0.0
    for segment, (_, turn) in zip(outline.chain, _joints(outline), strict=True):
        end = start + segment.length_mm
        at_joint = any(abs(place - start) <= NEAR_MM for place in places)
        stretch += at_joint or abs(turn) > SHARP_RAD
        stops = [place - start for place in places if start + NEAR_MM < place < end - NEAR_MM]
        cuts = [0.0, *parameters(segment, np.array(stops)).tolist(), 1.0]
        for number, (low, high) in enumerate(pairwise(cuts)):
            stretch += number > 0
            parts.append((stretch, segment, low, high))
        start = end
    for number, segment, low, high in parts:  # what is before the first break goes on from the last
        yield number or stretch, segment, low, high


def _tightest(segment: Segment, low: float, high: float) -> tuple[float, Point] | None:
    """Return the least inside radius of a part of a piece and its place; None without one."""
    if isinstance(segment, Line) or (isinstance(segment, Arc) and segment.sweep_rad > 0):
        return None
    if isinstance(segment, Arc):
        [(x, y)] = motion(segment, np.array([(low + high) / 2]))[0].tolist()
        return segment.radius_mm, (x, y)
    for _ in range(ROUNDS):
        t = np.linspace(low, high, SAMPLES)
        fold = _fold(segment, t)
        if fold:
            low, high = fold
            continue
        with np.errstate(divide="ignore", invalid="ignore"):
            hollow = np.nan_to_num(-segment.curvature_per_mm(t), nan=0.0)
        most = int(np.argmax(hollow))
        low, high = t[max(most - 1, 0)], t[min(most + 1, SAMPLES - 1)]
    if fold is None and hollow[most] <= 1 / STRAIGHT_MM:
        return None
    [(x, y)] = segment.at(np.array([(low + high) / 2]) if fold else t[[most]]).tolist()
    return 0.0 if fold else float(1 / hollow[most]), (x, y)


def _fold(segment: Cubic, t: Floats) -> tuple[float, float] | None:
    """Return between which samples a cubic turns back to the right, at a cusp or a tight bend."""
    ways = segment.derivative(t)
    speeds = np.hypot(*ways.T)
    going = speeds > STILL * speeds.max()
    t, ways = t[going], ways[going]
    (ux, uy), (vx, vy) = ways[:-1].T, ways[1:].T
    turns = np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if turns.min(initial=0.0) > -math.pi / 2:
        return None
    most = int(np.argmin(turns))
    return float(t[most]), float(t[most + 1])


def _between(place: float, stations: list[tuple[float, str]]) -> tuple[str, str]:
    """Return the names of the stations before and after a place, round the closed edge."""
    if not stations:
        return "", ""
    after = next((i for i, (along, _) in enumerate(stations) if along > place), 0)
    return stations[after - 1][1], stations[after][1]


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelsForCurve:
    """Which of the maker's wheels follow one inside curve; their diameters, mm, from small up."""

    inside: InsideRadius
    follow_mm: tuple[float, ...]
    too_large_mm: tuple[float, ...]

    @property
    def warning(self) -> str:
        """What the maker has to know, as a sentence; empty when every wheel follows it."""
        if not self.too_large_mm:
            return ""
        radius, where = self.inside.radius_mm, self.inside.place_text
        if not radius:
            return f"A sharp inside corner {where}: no wheel follows it; file it, or round it."
        curve = f"The inside curve {where} has a radius of {_down(radius):.1f} mm"
        if self.follow_mm:
            return (
                f"{curve}: of your wheels only {_listed(self.follow_mm)} across can follow it; "
                f"{_listed(self.too_large_mm)} cannot."
            )
        return (
            f"{curve}: none of your wheels can follow it, the smallest is "
            f"{self.too_large_mm[0]:g} mm across; file it, or take a wheel of at most "
            f"{_down(2 * radius):.1f} mm."
        )


def wheels_that_follow(outline: Outline, wheels_mm: Sequence[float]) -> tuple[WheelsForCurve, ...]:
    """Return for each inside curve of an outline which wheels can follow it.

    Parameters
    ----------
    outline : Outline
        What is to be ground.
    wheels_mm : sequence of float
        The diameters of the maker's contact wheels and small wheels, mm, as they are sold. The
        belt's thickness, about 1 mm on the radius, is not counted: add twice that to be strict.

    Raises
    ------
    InputError
        If a wheel has no size.
    """
    for wheel in wheels_mm:
        if not 0 < wheel < math.inf:
            raise InputError(
                f"a wheel of {wheel:g} mm is none.", where="Wheels", remedy="Give diameters in mm."
            )
    wheels = sorted(set(wheels_mm))
    return tuple(
        WheelsForCurve(
            inside=inside,
            follow_mm=tuple(w for w in wheels if w / 2 <= inside.radius_mm + NEAR_MM),
            too_large_mm=tuple(w for w in wheels if w / 2 > inside.radius_mm + NEAR_MM),
        )
        for inside in inside_radii(outline)
    )


def _down(length_mm: float) -> float:
    """Return a length rounded down to a tenth, so that no wheel is promised that does not go."""
    return math.floor(10 * length_mm + 1e-6) / 10


def _listed(wheels_mm: Sequence[float]) -> str:
    *most, last = (f"{wheel:g}" for wheel in wheels_mm)
    return f"{', '.join(most)} and {last} mm" if most else f"{last} mm"

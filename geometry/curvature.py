"""Inside radii of an outline, and the wheels of a belt grinder that can follow them.

A wheel presses the belt into an inside (concave) curve only where the curve is at least as round as
the wheel; into a tighter one it reaches with its sides alone and cuts two facets or too much.
Outside curves are ground on anything.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from geometry.along import Along
from geometry.curves import Point
from geometry.errors import InputError
from geometry.hollows import inside_corners, tightest_places
from geometry.outline import Outline

SHARP_MM = 0.1  # of a radius: no tool makes a smaller one, and near a cusp it has no end
NEAR_MM = 1e-3  # of one place, and of one radius
ON_EDGE_MM = 0.5  # a station farther from the edge is near no place of it


@dataclass(frozen=True, slots=True, kw_only=True)
class InsideRadius:
    """One inside curve of the edge, at the tightest place of it.

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
    """Return all inside curves, each at the least radius that it has.

    A hollow in which the radius has several minima, or jumps as from one arc to another, is as many
    curves: a tight one hides no rounder one beside it. A sharp inside corner counts by itself, with
    radius 0, and so does a curve of less than 0.1 mm. The order is counter-clockwise, from the
    first piece of the edge on.
    """
    along = Along(outline.chain)
    stations = _stations_along(outline, along)
    found = [*tightest_places(outline), *((0.0, at) for at in inside_corners(outline))]
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

"""A family's holes: rows with the steel to leave round them, and what fills a stretch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import shapely

from geometry.errors import InputError
from geometry.family.ground import Ground, Values
from geometry.family.lightening import Kept, lightening_holes, web_mm
from geometry.family.rules import HoleRule, LighteningRule
from geometry.outline import Hole, Mark, Station

MIN_HOLE_MM = 0.5  # no drill is smaller; a slider near zero means no hole
MAX_HOLES = 64  # in one row; more is a slip in the file
MAX_IN_ALL = 400  # so that the steel between each two of them is soon checked
FRONT_MARKS = ("handle front", "plunge line")
FRONT_STATIONS = ("handle front", "plunge", "heel")


def family_holes(
    rows: Iterable[HoleRule],
    fillings: Iterable[LighteningRule],
    values: Values,
    ground: Ground,
    front_mm: float,
) -> tuple[Hole, ...]:
    """Return all holes, lightening ones behind the front.

    Raises
    ------
    InputError
        If one has too little steel round it.
    """
    kept: list[Kept] = []
    for row in rows:
        for hole, web in _row(row, values, ground):
            _check_web(hole, web, ground, kept)
            kept.append((hole, web))
            _check_count(kept, ground.name)
    for filling in fillings:
        if filling.diameter.value(values) >= MIN_HOLE_MM:
            kept += lightening_holes(filling, values, ground, kept, front_mm)
            _check_count(kept, ground.name)
    return tuple(hole for hole, _ in kept)


def front_mm(marks: Iterable[Mark], stations: Iterable[Station]) -> float:
    """Return the x of the plunge or of the handle's front, whichever is nearer the butt.

    The stations serve where no mark tells it; infinity where neither does.
    """
    drawn = [x for mark in marks if mark.kind in FRONT_MARKS for x, _ in mark.points_mm]
    named = [station.x_mm for station in stations if station.name in FRONT_STATIONS]
    return min(drawn or named, default=math.inf)


def _check_count(kept: list[Kept], name: str) -> None:
    if len(kept) > MAX_IN_ALL:
        raise InputError(
            f"there are more than {MAX_IN_ALL} holes.", where=name, remedy="Take fewer."
        )


def _row(rule: HoleRule, values: Values, ground: Ground) -> Iterator[Kept]:
    """Yield a row's holes, each with the steel to leave round it."""
    count = round(rule.count.value(values))
    if count > MAX_HOLES:
        remedy = f"At most {MAX_HOLES}."
        raise InputError(f"{count} holes in one row.", where=ground.name, remedy=remedy)
    for i in range(count):
        here = {**values, "i": float(i), "n": float(count)}
        diameter = rule.diameter.value(here)
        if diameter >= MIN_HOLE_MM:
            x, y = ground.spot(rule.x, rule.y, here)
            hole = Hole(x_mm=x, y_mm=y, diameter_mm=diameter, kind=rule.kind)
            yield hole, web_mm(rule.web, here, ground)


def _check_web(hole: Hole, web: float, ground: Ground, others: list[Kept]) -> None:
    """Check the steel between a hole and the edge, and the holes before it."""
    centre = shapely.Point(hole.x_mm, hole.y_mm)
    radius, steel = hole.diameter_mm / 2, ground.steel
    left = (steel.boundary.distance(centre) if steel.contains(centre) else 0.0) - radius
    if left < web:
        raise InputError(
            f"it is too narrow for a {hole.kind} hole of {hole.diameter_mm:.3g} mm with {web:g} "
            f"mm of steel beside it; {math.floor(10 * max(left, 0)) / 10:.1f} mm would be left.",
            where=ground.name,
            remedy="Make it wider there, or the hole smaller.",
        )
    for other, others_web in others:
        apart = math.dist((hole.x_mm, hole.y_mm), (other.x_mm, other.y_mm))
        least = max(web, others_web)
        if apart - radius - other.diameter_mm / 2 < least:
            raise InputError(
                f"a {hole.kind} hole and a {other.kind} hole have less than {least:g} mm of "
                "steel between them.",
                where=ground.name,
                remedy="Take fewer or smaller ones, or a longer handle.",
            )

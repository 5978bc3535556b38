"""What is drawn on an outline, its holes and marks, as the rules of an own family."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.along import Along
from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.family.ground import Ground
from geometry.family.marks import MAX_TICKS, jimping
from geometry.family.rules import HoleRule, JimpingRule, MarkRule, StationRule
from geometry.outline import Hole, Mark, Outline
from geometry.stretch import StretchMap

WEB_MM = {"pin": 2.0, "bolt": 4.0, "tube": 4.0, "lightening": 3.0, "cord": 3.0}
"""The steel to leave round a hole, mm: common practice, no source."""
USUAL_WEB_MM = 2.0
CLOSER = 0.8  # of the steel that a hole has beside it now, where that is less than usual
SAME_TICK_MM = 0.02  # a tick this near to its place in a row belongs to it
FARTHEST_MM = 10.0  # from a tick to the next of its row: half a thumb
Placed: TypeAlias = tuple[float, Mark]  # along the edge, mm


def hole_rules(outline: Outline) -> tuple[HoleRule, ...]:
    """Return an outline's holes, each with the steel to leave round it."""
    edges = replace(outline, holes=()).polygon().boundary  # of the cutouts, too
    return tuple(
        HoleRule(
            kind=hole.kind or "hole",
            x=_number(hole.x_mm),
            y=_number(hole.y_mm),
            diameter=_number(hole.diameter_mm),
            count=Expression("1"),
            web=_number(_web_mm(hole, outline.holes, edges)),
        )
        for hole in outline.holes
    )


def _web_mm(hole: Hole, holes: tuple[Hole, ...], edges: BaseGeometry) -> float:
    """Return the steel to leave round a hole: the usual, or less where it has less now."""
    centre = shapely.Point(hole.x_mm, hole.y_mm)
    gaps = [edges.distance(centre)] + [
        centre.distance(shapely.Point(other.x_mm, other.y_mm)) - other.diameter_mm / 2
        for other in holes
        if other is not hole
    ]
    now_mm = min(gaps) - hole.diameter_mm / 2
    usual = WEB_MM.get(hole.kind, USUAL_WEB_MM)
    return usual if now_mm >= usual / CLOSER else max(round(CLOSER * now_mm, 2), 0.0)


def station_rules(outline: Outline) -> tuple[StationRule, ...]:
    """Return an outline's named places."""
    return tuple(
        StationRule(name=s.name, x=_number(s.x_mm), y=_number(s.y_mm)) for s in outline.stations
    )


def mark_rules(outline: Outline) -> tuple[tuple[MarkRule, ...], tuple[JimpingRule, ...]]:
    """Return an outline's marks; rows of ticks along its edge by the way from one to the next."""
    ticks = [mark for mark in outline.marks if mark.kind == "jimping" and len(mark.points_mm) == 2]
    rows = _rows(ticks, outline) if ticks else []
    in_rows = {id(tick) for _, row in rows for tick in row}
    marks = tuple(
        MarkRule(
            kind=mark.kind or "line",
            across=None,
            points=tuple((_number(x), _number(y)) for x, y in mark.points_mm),
        )
        for mark in outline.marks
        if len(mark.points_mm) > 1 and id(mark) not in in_rows
    )
    return marks, tuple(rule for rule, _ in rows)


def _rows(ticks: list[Mark], outline: Outline) -> list[tuple[JimpingRule, Sequence[Mark]]]:
    """Return rules for the rows of ticks that follow each other, and their ticks."""
    ground = Ground(
        name=outline.name,
        chain=outline.chain,
        ring=outline.ring(),
        steel=outline.polygon(),
        stretched=StretchMap(),
    )
    along = Along(outline.chain)
    placed = sorted(
        ((along.place_mm(tick.points_mm[0]), tick) for tick in ticks), key=lambda each: each[0]
    )
    rows = _parted(placed, along.length_mm)
    found = ((_row(row, ground), [tick for _, tick in row]) for row in rows)
    return [(rule, row) for rule, row in found if rule is not None]


def _parted(placed: list[Placed], round_mm: float) -> list[list[Placed]]:
    """Return rows of ticks, the way to the next one too far, or their number too large.

    A row may run across where the edge, so long all round, begins.
    """
    rows: list[list[Placed]] = []
    for place, tick in placed:
        near = rows and place - rows[-1][-1][0] <= FARTHEST_MM and len(rows[-1]) < MAX_TICKS
        if near:
            rows[-1].append((place, tick))
        else:
            rows.append([(place, tick)])
    if len(rows) > 1 and rows[0][0][0] + round_mm - rows[-1][-1][0] <= FARTHEST_MM:
        rows[0] = [(place - round_mm, tick) for place, tick in rows.pop()] + rows[0]
    return rows


def _row(row: list[Placed], ground: Ground) -> JimpingRule | None:
    """Return the rule that draws a row of ticks where they are; None if there is none."""
    if len(row) < 2:
        return None
    forward = row if row[0][1].points_mm[0] < row[-1][1].points_mm[0] else row[::-1]
    gaps = np.abs(np.diff([place for place, _ in forward]))
    pitch = float(gaps.mean())
    even = bool(np.abs(np.cumsum(gaps) - pitch * np.arange(1, len(row))).max() <= SAME_TICK_MM)
    (x, y), inner = forward[0][1].points_mm
    low, high = ground.section(x)
    rule = JimpingRule(
        start=_number(x),
        pitch=_number(pitch if even else float(gaps.min())),
        count=Expression(str(len(row))),
        depth=_number(math.dist((x, y), inner)),
        side="spine" if abs(y - high) < abs(y - low) else "edge",
        gaps=() if even else tuple(gaps.tolist()),
    )
    try:
        drawn = jimping(rule, {}, ground)
    except InputError:
        return None
    told = np.array(sorted(tick.points_mm for _, tick in row))
    again = np.array(sorted(tick.points_mm for tick in drawn))
    return rule if np.abs(told - again).max() <= SAME_TICK_MM else None


def _number(value: float) -> Expression:
    return Expression(repr(float(value)))

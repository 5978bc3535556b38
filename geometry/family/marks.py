"""A family's marks: lines across, lines and curves through points, jimping."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from geometry.curves import Point, flatten_chain
from geometry.errors import InputError
from geometry.family.ground import Ground, Values
from geometry.family.rules import JimpingRule, MarkRule
from geometry.hobby import Knot, hobby_curve
from geometry.outline import JOIN_MM, PATTERN_CHORD_MM, Mark

MAX_TICKS = 100  # in one row; a thumb covers about twenty
MIN_PITCH_MM = 0.3  # finer than any file cuts
MAX_DEPTH_MM = 5.0


def mark(rule: MarkRule, values: Values, ground: Ground) -> Mark:
    """Return a line to draw; InputError when it does not reach the outline."""
    if rule.across is not None:
        x = ground.x(rule.across, values)
        low, high = ground.section(x)
        return Mark(kind=rule.kind, points_mm=((x, low), (x, high)))
    points = [ground.spot(x, y, values) for x, y in rule.points]
    return Mark(kind=rule.kind, points_mm=tuple(_smooth(points) if rule.smooth else points))


def _smooth(points: list[Point]) -> list[Point]:
    """Return points close together on a curve through some, both ends kept."""
    apart = [b for a, b in pairwise(points) if abs(a[0] - b[0]) + abs(a[1] - b[1]) > JOIN_MM]
    if len(apart) < 2:
        return points
    curve = hobby_curve([Knot(point=point) for point in (points[0], *apart)])
    inner = [(x, y) for x, y in flatten_chain(curve, PATTERN_CHORD_MM).tolist()]
    return [*inner, curve[-1].end]


def jimping(rule: JimpingRule, values: Values, ground: Ground) -> tuple[Mark, ...]:
    """Return a row of ticks, square to the edge and spaced along its true length.

    Raises
    ------
    InputError
        If they are too many, too close or too long, or run on round an end of the outline.
    """
    count = round(rule.count.value(values))
    if count < 1:
        return ()
    pitch, depth = rule.pitch.value(values), rule.depth.value(values)
    _check(count, pitch, depth, ground.name)
    start = ground.x(rule.start, values)
    low, high = ground.section(start)
    along = ground.along()
    first = along.place_mm((start, high if rule.side == "spine" else low))
    onward = -1 if rule.side == "spine" else 1  # the edge runs counter-clockwise
    reached = np.cumsum([0.0, *rule.gaps]) if rule.gaps else pitch * np.arange(count)
    points, ways = along.at((first + onward * reached) % along.length_mm)
    if reached[-1] + pitch > along.length_mm or not (np.diff(points[:, 0]) > 0).all():
        raise InputError(
            f"jimping of {count} ticks runs on round the end of the {rule.side}.",
            where=ground.name,
            remedy="Take fewer, or start nearer the handle.",
        )
    inward = depth * np.column_stack([-ways[:, 1], ways[:, 0]])
    ends = zip(points.tolist(), (points + inward).tolist(), strict=True)
    return tuple(Mark(kind="jimping", points_mm=((a, b), (c, d))) for (a, b), (c, d) in ends)


def _check(count: int, pitch: float, depth: float, name: str) -> None:
    if count > MAX_TICKS:
        problem, remedy = f"{count} ticks of jimping.", f"At most {MAX_TICKS}."
    elif pitch < MIN_PITCH_MM:
        problem, remedy = f"jimping {pitch:g} mm apart.", f"At least {MIN_PITCH_MM:g} mm."
    elif not 0 < depth <= MAX_DEPTH_MM:
        problem, remedy = f"jimping {depth:g} mm deep.", f"Above 0, at most {MAX_DEPTH_MM:g} mm."
    else:
        return
    raise InputError(problem, where=name, remedy=remedy)

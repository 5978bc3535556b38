"""Corners between two lines, rounded with an arc."""

from __future__ import annotations

import math
from collections.abc import Mapping

from geometry.closed_chain import JOIN_MM
from geometry.curves import STRAIGHT_RAD, Arc, Chain, Line, Point, Segment
from geometry.errors import InputError


def rounded(chain: Chain, radii_mm: Mapping[Point, float], name: str) -> Chain:
    """Return a closed chain with some corners between lines replaced by arcs.

    Parameters
    ----------
    chain : tuple of segments
        The closed chain.
    radii_mm : mapping of point to float
        The radius at each corner to round, mm.
    name : str
        What it is, for the message.

    Raises
    ------
    InputError
        If a corner is not between two lines, or its lines are too short for the radius.
    """
    if not radii_mm:
        return chain
    count = len(chain)
    arcs = [
        _arc(chain[i - 1], chain[i], radii_mm.get(chain[i].start, 0.0), name) for i in range(count)
    ]
    segments: list[Segment] = []
    for i, segment in enumerate(chain):
        arc, after = arcs[i], arcs[(i + 1) % count]
        if arc is not None:
            segments.append(arc)
        start = segment.start if arc is None else arc.end
        end = segment.end if after is None else after.start
        if isinstance(segment, Line):
            _check_room(segment, start, end, name)
            segment = Line(start=start, end=end)
        segments.append(segment)
    return tuple(segments)


def _arc(before: Segment, after: Segment, radius_mm: float, name: str) -> Arc | None:
    """Return the arc that takes the place of the corner between two lines."""
    if radius_mm <= JOIN_MM:
        return None
    if not isinstance(before, Line) or not isinstance(after, Line):
        raise InputError("only a corner between two lines can be rounded.", where=name)
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if abs(turn) < STRAIGHT_RAD:
        return None
    cut = radius_mm * math.tan(abs(turn) / 2)
    if cut > min(before.length_mm, after.length_mm):
        raise _no_room(after.start, name)
    x, y = after.start
    return Arc(start=(x - cut * ux, y - cut * uy), end=(x + cut * vx, y + cut * vy), sweep_rad=turn)


def _check_room(line: Line, start: Point, end: Point, name: str) -> None:
    """Check that the arcs at both ends of a line leave some of it."""
    ux, uy = line.start_direction
    left = (end[0] - start[0]) * ux + (end[1] - start[1]) * uy
    if left <= 0:
        raise _no_room(line.start, name)


def _no_room(corner: Point, name: str) -> InputError:
    x, y = corner
    return InputError(
        f"a corner's radius has no room near x {x:.1f}, y {y:.1f} mm.",
        where=name,
        remedy="Make the radius smaller.",
    )

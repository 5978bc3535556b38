"""An outline's edge changed by dragging one of its nodes; smooth joints stay smooth."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TypeAlias

from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment
from geometry.edge_features import by_share, features_carried
from geometry.errors import InputError
from geometry.outline import Outline

SMOOTH_RAD = math.radians(0.5)  # a joint that turns less was meant to be smooth
Swap: TypeAlias = tuple[Chain, Chain]  # pieces as they were, and what they became
MOST_TURN_RAD = math.pi / 4  # of a circle in one cubic: 4 millionths of the radius off, at most


def nodes_mm(outline: Outline) -> tuple[Point, ...]:
    """Return the nodes of an outline's edge, where its pieces meet, mm."""
    return tuple(segment.start for segment in outline.chain)


def with_node_moved(outline: Outline, index: int, place: Point) -> Outline:
    """Return an outline with one node elsewhere.

    Parameters
    ----------
    outline : Outline
        The outline; its holes and other nodes stay. Stations and marks on the two pieces at the
        node go along with them, as `geometry.edge_features` says.
    index : int
        Which node, as `nodes_mm` lists them.
    place : tuple of float
        Where it goes, mm.

    Raises
    ------
    InputError
        If the edge would cross itself there, or run through a hole.
    """
    if outline.chain[index].start == place:
        return outline
    before, after, chain = _moved(outline.chain, index, place)
    moved = features_carried(outline, chain, by_share(before, after))
    moved.polygon()
    return moved


def node_moved(chain: Chain, index: int, place: Point) -> Chain:
    """Return a closed chain with one node elsewhere, mm.

    Notes
    -----
    The two pieces at the node change and no other. A curve carries its handle at the node along,
    so its direction there stays, and at its far end nothing changes. A line between corners stays
    a line, and a smooth neighbour follows its new direction. Any other line, and an arc, becomes
    cubics: an arc of more than 45 degrees several, so there may be more nodes than before.
    """
    return _moved(chain, index, place)[2]


def _moved(chain: Chain, index: int, place: Point) -> tuple[Swap, Swap, Chain]:
    """Return what the two pieces at a node become when it lies elsewhere, and the whole chain."""
    if len(chain) < 2:
        raise InputError(
            "an edge of one piece has no node to drag.", where="Edge", remedy="Add a point first."
        )
    before, after = chain[index - 1], chain[index]
    if place in (before.start, after.end):
        raise InputError(
            "a node cannot lie on the next one.", where="Outline", remedy="Drag it elsewhere."
        )
    new_before, new_after = _both_moved(chain, index, place)
    count = len(chain)
    rest = [chain[(index + step) % count] for step in range(1, count - 1)]
    ring = [*new_after, *rest, *new_before]
    first = len(new_after) + count - 1 - index if index else 0  # where the first node is now
    moved = tuple(ring[first:] + ring[:first])
    return ((before,), tuple(new_before)), ((after,), tuple(new_after)), moved


def _both_moved(chain: Chain, index: int, place: Point) -> tuple[list[Segment], list[Segment]]:
    """Return what the two pieces at a node become when it lies elsewhere."""
    before, after = chain[index - 1], chain[index]
    smooth = is_smooth(before, after)
    lines = isinstance(before, Line), isinstance(after, Line)
    bends = smooth and all(lines)  # a straight edge that is pulled at bends on both sides
    keep_before = not bends and lines[0] and not is_smooth(chain[index - 2], before)
    keep_after = not bends and lines[1] and not is_smooth(after, chain[(index + 1) % len(chain)])
    new_before, new_after = _carried(before, place), _backward(_carried(after.backward(), place))
    if keep_before:
        new_before = [Line(start=before.start, end=place)]
    if keep_after:
        new_after = [Line(start=place, end=after.end)]
    if smooth and keep_before and not keep_after:
        direction = new_before[-1].backward().end_direction
        new_after = _backward(_turned(_backward(new_after), direction))
    if smooth and keep_after and not keep_before:
        new_before = _turned(new_before, new_after[0].start_direction)
    return new_before, new_after


def is_smooth(before: Segment, after: Segment) -> bool:
    """Return whether one piece goes over into the next without a corner."""
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    return abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)) < SMOOTH_RAD


def _carried(segment: Segment, place: Point) -> list[Segment]:
    """Return a piece as cubics whose end lies elsewhere, with the directions of both its ends."""
    cubics = _cubics(segment)
    last = cubics[-1]
    dx, dy = place[0] - last.end[0], place[1] - last.end[1]
    control2 = (last.control2[0] + dx, last.control2[1] + dy)
    return [*cubics[:-1], replace(last, control2=control2, end=place)]


def _turned(pieces: list[Segment], direction: Point) -> list[Segment]:
    """Return cubics that arrive in a direction, the last handle as long as it was."""
    last = pieces[-1]
    assert isinstance(last, Cubic)
    length = math.dist(last.control2, last.end)
    control2 = (last.end[0] - length * direction[0], last.end[1] - length * direction[1])
    return [*pieces[:-1], replace(last, control2=control2)]


def _backward(pieces: list[Segment]) -> list[Segment]:
    return [piece.backward() for piece in reversed(pieces)]


def _cubics(segment: Segment) -> list[Cubic]:
    """Return a piece as cubics that lie on it."""
    if isinstance(segment, Cubic):
        return [segment]
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        thirds = [(x0 + (x1 - x0) * k / 3, y0 + (y1 - y0) * k / 3) for k in (1, 2)]
        return [Cubic(start=segment.start, control1=thirds[0], control2=thirds[1], end=segment.end)]
    return _arc_cubics(segment)


def _arc_cubics(arc: Arc) -> list[Cubic]:
    """Return an arc as cubics of equal turns, each tangent to it at both its ends.

    Notes
    -----
    Handles of ``4/3 tan(turn / 4)`` radii put the middle of the cubic on the circle.
    """
    count = math.ceil(abs(arc.sweep_rad) / MOST_TURN_RAD)
    turn = arc.sweep_rad / count
    reach = 4 / 3 * math.tan(turn / 4)
    cx, cy = arc.centre
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    spokes = [
        (arc.radius_mm * math.cos(first + k * turn), arc.radius_mm * math.sin(first + k * turn))
        for k in range(count + 1)
    ]
    places = [(cx + x, cy + y) for x, y in spokes]
    places[0], places[-1] = arc.start, arc.end
    return [
        Cubic(
            start=places[k],
            control1=(places[k][0] - reach * spokes[k][1], places[k][1] + reach * spokes[k][0]),
            control2=(
                places[k + 1][0] + reach * spokes[k + 1][1],
                places[k + 1][1] - reach * spokes[k + 1][0],
            ),
            end=places[k + 1],
        )
        for k in range(count)
    ]

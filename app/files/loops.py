"""The lines of a drawing made into one outline with its holes; the rest is named."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from app.files.closed_lines import DrawnLines, Found, Loop
from app.files.damage import is_damaged, left_out, refuse_lost_edge
from app.files.doubled_edge import edge_again
from app.files.errors import FileError
from app.files.foreign import guarded
from app.files.left_out import Curved, lines_left_out, moved
from app.files.nesting import apart, polygons_of
from app.files.page_border import Chosen, edge_among
from app.files.round_holes import hole_of
from app.files.strokes import (
    SAME_MM,
    Imported,
    LeftOut,
    OtherLoop,
    Points,
    Stroke,
    Strokes,
    chord_for,
    size_of,
)
from app.files.told_places import off_the_edge
from geometry.curves import Chain
from geometry.errors import InputError
from geometry.outline import MOST_OPENINGS, Outline
from geometry.pose import Pose

BOX_MM = 1e-4  # how far the box of an outline may lie from its curves
NO_SIZE_MM = (1.0, 1e8)  # a drawing that is smaller or larger as a whole has another unit
BEYOND_UNITS_MM = 1e25  # 300 parsecs: more is damage in any unit

Agree = Callable[[float, float], tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """The edge of the piece: which loop it is, its curves, their box, and what to say of it."""

    loop: Loop
    curved: Curved
    box: Points
    chosen: Chosen


@dataclass(frozen=True, slots=True, kw_only=True)
class Openings:
    """The openings in the steel; the lines that only repeat others, and what to say of them."""

    curved: list[Curved]
    doubled: set[int]
    notes: tuple[str, ...]


def outline_from_strokes(
    found: Strokes, *, name: str, where: str, agree: Agree, loop: int = 0
) -> Imported:
    """Return a closed loop as an outline, and the loops inside of it as its holes.

    By itself it is the largest, a page's frame apart.

    Lines count in any order and direction. Gaps of up to 0.1 mm are closed, lines drawn again
    count once, and curves stay the arcs and curves that they were drawn as.

    Parameters
    ----------
    found : Strokes
        What a drawing holds.
    name : str
        What to call the outline, if the drawing does not say.
    where : str
        The file, for messages.
    agree : callable
        Given width and height of the outline, mm, before it is made; returns what to say of them,
        and raises where they cannot be.
    loop : int
        Which closed loop is the edge, 1 the largest; 0 to choose by itself.

    Returns
    -------
    Imported
        Moved so that its box has its lower left corner at the origin, except out of a file of
        ours. Round loops inside are holes, others cutouts; loops inside of those are left out.

    Raises
    ------
    FileError
        If no loop closes; the message names the closest two open ends.
    InputError
        If the largest loop crosses itself.
    """
    damaged = [stroke for stroke in found.lines if stroke.chain and is_damaged(stroke)]
    sound = [stroke for stroke in found.lines if _is_usable(stroke) and not is_damaged(stroke)]
    lines = DrawnLines.of(sound)
    loops = guarded(lines.found, where)
    if not loops.loops:
        _doubt_unit(found.lines, agree)
        refuse_lost_edge(damaged, np.empty((0, 2)), where)
        raise lines.nothing_closed(where)
    edge = _edge(lines, loops, found, loop)
    refuse_lost_edge(damaged, edge.box, where)
    doubts = agree(*np.ptp(edge.box, axis=0).tolist())
    corner = np.zeros(2) if found.in_frame else edge.box.min(axis=0)
    outer = _shifted(edge.curved, corner)
    bare = Outline(name=found.name or name, chain=outer.chain)
    steel = bare.polygon()  # first of all: an edge that crosses itself has no inside
    inner = _openings(lines, loops, edge.loop, steel, corner, where)
    outline = _with_openings(bare, [_shifted(opening, corner) for opening in inner.curved])
    left = [
        *found.left_out,
        *left_out(damaged),
        *_without_length(found.lines),
        *lines_left_out(lines.strokes, lines.flat, [edge.curved, *inner.curved], inner.doubled),
    ]
    named = _with_names(outline, found, corner)
    off = off_the_edge(named.stations, steel)
    return Imported(
        outline=named,
        left_out=moved(left, -corner),
        notes=(*found.notes, *doubts, *edge.chosen.notes, *loops.notes, *inner.notes, *off),
        others=_others(loops, edge.chosen),
    )


def _edge(lines: DrawnLines, loops: Found, found: Strokes, loop: int) -> Edge:
    """Return the edge of the piece: the loop that was told, else the largest, frames apart."""
    if not 0 <= loop <= len(loops.loops):
        many = len(loops.loops)
        raise InputError(
            f"the drawing has no closed line number {loop}.",
            where="--loop",
            remedy=f"Give 1 for the largest, to {many} for the smallest."
            if many > 1
            else "Give 1.",
        )
    if loop or found.in_frame:
        chosen = Chosen(number=max(loop - 1, 0))
    else:
        chosen = edge_among([each.points for each in loops.loops])
    edge = loops.loops[chosen.number]
    curved = lines.curved(edge)
    box = np.vstack([p.flattened(chord_for(size_of(p), BOX_MM)) for p in curved.chain])
    return Edge(loop=edge, curved=curved, box=box, chosen=chosen)


def _others(loops: Found, chosen: Chosen) -> tuple[OtherLoop, ...]:
    """Return the loops that may be meant instead of the one that was chosen, with their sizes."""
    sizes = {number: np.ptp(loops.loops[number].points, axis=0) for number in chosen.others}
    return tuple(
        OtherLoop(number=number + 1, width_mm=float(width), height_mm=float(height))
        for number, (width, height) in sizes.items()
    )


def _openings(
    lines: DrawnLines, loops: Found, outer: Loop, steel: Polygon, corner: Points, where: str
) -> Openings:
    """Return the openings in the steel, the first drawn first; ``corner`` is the steel's origin."""
    others = [loop for loop in loops.loops if loop is not outer]
    inside, doubled, notes = _inside(steel, [loop.points - corner for loop in others])
    if len(inside) > MOST_OPENINGS:
        raise FileError(
            f"it has {len(inside)} closed lines inside its outline; no piece has so many holes.",
            where=where,
            remedy="Save the profile and its holes alone, without hatching.",
        )
    inner = [lines.curved(others[number]) for number in inside]
    again = [lines.curved(others[number]).made_of for number in doubled]
    return Openings(
        curved=sorted(inner, key=lambda o: min(o.made_of, default=len(lines.strokes))),
        doubled=loops.doubled.union(*again),
        notes=notes,
    )


def _with_openings(bare: Outline, openings: Sequence[Curved]) -> Outline:
    """Return an outline with its openings: round ones are holes."""
    holes = [hole_of(opening) for opening in openings]
    others = [o.chain for o, hole in zip(openings, holes, strict=True) if hole is None]
    return replace(
        bare, holes=tuple(hole for hole in holes if hole is not None), cutouts=tuple(others)
    )


def _with_names(outline: Outline, found: Strokes, corner: Points) -> Outline:
    """Return an outline with the marks and stations of its drawing, whose origin is a corner."""
    x, y = corner.tolist()
    marks = [
        replace(mark, points_mm=tuple((a - x, b - y) for a, b in mark.points_mm))
        for mark in found.marks
    ]
    stations = [replace(s, x_mm=s.x_mm - x, y_mm=s.y_mm - y) for s in found.stations]
    return replace(outline, marks=tuple(marks), stations=tuple(stations))


def _shifted(curved: Curved, corner: Points) -> Curved:
    """Return a loop with a place of the drawing as its origin; drawings may lie far from theirs."""
    pose = Pose(x_mm=-float(corner[0]), y_mm=-float(corner[1]))
    chain = tuple(piece.moved(pose) for piece in curved.chain)
    return replace(curved, points=curved.points - corner, chain=chain)


def _doubt_unit(lines: Sequence[Stroke], agree: Agree) -> None:
    """Have the unit agreed on where it makes the whole drawing a speck or a country."""
    spots = np.array([spot for line in lines for p in line.chain for spot in (p.start, p.end)])
    if len(spots) and np.abs(spots).max() < BEYOND_UNITS_MM:
        width_mm, height_mm = np.ptp(spots, axis=0).tolist()
        if not NO_SIZE_MM[0] <= max(width_mm, height_mm) <= NO_SIZE_MM[1]:
            agree(width_mm, height_mm)


def _without_length(lines: Sequence[Stroke]) -> list[LeftOut]:
    return [
        LeftOut(what=f"{stroke.what} without length", at_mm=stroke.chain[0].start)
        for stroke in lines
        if not is_damaged(stroke) and not _is_usable(stroke)
    ]


def _is_usable(stroke: Stroke) -> bool:
    """Return whether a line has a length."""
    long = any(math.dist(piece.start, piece.end) > SAME_MM for piece in stroke.chain)
    return long or _curve_length(stroke.chain) > SAME_MM


def _curve_length(chain: Chain) -> float:
    return sum(piece.length_mm for piece in chain)


def _inside(edge: Polygon, loops: Sequence[Points]) -> tuple[list[int], set[int], tuple[str, ...]]:
    """Return which loops lie inside an edge, none in or across another, and which double it.

    With them comes what to say of the doubled ones.
    """
    if not loops:
        return [], set(), ()
    polygons = polygons_of(loops)
    shapely.prepare(edge)
    inside = shapely.is_valid(polygons) & shapely.contains_properly(edge, polygons)
    doubled, notes = edge_again(edge, polygons, np.flatnonzero(inside))
    inside[list(doubled)] = False
    return sorted(apart(polygons, inside)), doubled, notes

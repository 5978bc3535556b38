"""The lines of a drawing made into one outline with its holes; the rest is named."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from app.files.errors import FileError
from app.files.joining import joined, smallest_gap
from app.files.strokes import (
    FARTHEST_MM,
    SAME_MM,
    Chords,
    Imported,
    LeftOut,
    Points,
    Stroke,
    Strokes,
)
from app.files.true_curves import curves_along
from geometry.curves import Arc, Chain, Cubic, flatten_chain
from geometry.outline import Hole, Outline
from geometry.pose import Pose

KNOT = 0.005  # a loop's crossings that hold less of its area are knots in corners, cut off
DOUBLED = 0.8  # a loop that fills more of the outline than this is its edge drawn a second time
ALONG_MM = 0.02  # a line this near to the outline all along is its edge drawn a second time
ROUND_MM = 0.01  # a loop whose points stray less from a circle is a drilled hole
BOX_MM = 1e-4  # how far the box of an outline may lie from its curves
NO_SIZE_MM = (1.0, 1e8)  # a drawing that is smaller or larger as a whole has another unit
ROUND_FILL = 0.985  # and that is as full as a circle of 24 chords, 0.9886


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A closed line: its points, not repeated at the end, its pieces, and the strokes in it."""

    points: Points
    chain: Chain
    made_of: frozenset[int]
    label: str = ""

    @property
    def hull_mm2(self) -> float:
        """The area of its hull: also a measure of a loop that crosses itself."""
        return float(shapely.MultiPoint(self.points).convex_hull.area)


def outline_from_strokes(
    found: Strokes, *, name: str, where: str, agree: Callable[[float, float], None]
) -> Imported:
    """Return the largest closed loop as an outline, and the loops inside of it as its holes.

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
        Given width and height of the outline, mm, before it is made; raises where they cannot be.

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
    lines = [stroke for stroke in found.lines if _is_usable(stroke)]
    flat = [Chords.of(stroke.chain).points for stroke in lines]
    loops, doubled, notes = _loops(lines, flat)
    if not loops:
        _doubt_unit(found.lines, agree)
        open_ = [p for p, stroke in zip(flat, lines, strict=True) if not stroke.closed]
        raise _nothing_closed(open_, where)
    outer = max(loops, key=lambda loop: loop.hull_mm2)
    box = flatten_chain(outer.chain, BOX_MM)
    width_mm, height_mm = np.ptp(box, axis=0).tolist()
    agree(width_mm, height_mm)
    corner = np.zeros(2) if found.in_frame else box.min(axis=0)
    to_corner = Pose(x_mm=-float(corner[0]), y_mm=-float(corner[1]))
    bare = Outline(name=found.name or name, chain=outer.chain)
    bare.moved(to_corner).polygon()  # first of all: an edge that crosses itself has no inside
    inner = _inside(bare.polygon(), [loop for loop in loops if loop is not outer])
    holes = [_hole(loop) for loop in inner]
    outline = replace(
        bare,
        holes=tuple(hole for hole in holes if hole is not None),
        cutouts=tuple(loop.chain for loop, hole in zip(inner, holes, strict=True) if hole is None),
        marks=found.marks,
        stations=found.stations,
    ).moved(to_corner)
    left = [*found.left_out, *_left_out(lines, flat, [outer, *inner], doubled)]
    return Imported(outline=outline, left_out=_moved(left, -corner), notes=notes)


def _doubt_unit(lines: Sequence[Stroke], agree: Callable[[float, float], None]) -> None:
    """Have the unit agreed on where it makes the whole drawing a speck or a country."""
    spots = np.array([spot for line in lines for p in line.chain for spot in (p.start, p.end)])
    if len(spots):
        width_mm, height_mm = np.ptp(spots, axis=0).tolist()
        if not NO_SIZE_MM[0] <= max(width_mm, height_mm) <= NO_SIZE_MM[1]:
            agree(width_mm, height_mm)


def _is_usable(stroke: Stroke) -> bool:
    if not stroke.chain:
        return False
    ends = [*stroke.chain[0].start]
    for piece in stroke.chain:
        ends += piece.end
        if isinstance(piece, Cubic):
            ends += [*piece.control1, *piece.control2]
    far = max(map(abs, ends))
    long = any(math.dist(piece.start, piece.end) > SAME_MM for piece in stroke.chain)
    return far < FARTHEST_MM and (long or _curve_length(stroke.chain) > SAME_MM)


def _curve_length(chain: Chain) -> float:
    return sum(piece.length_mm for piece in chain)


def _loops(
    lines: Sequence[Stroke], flat: Sequence[Points]
) -> tuple[list[Loop], set[int], tuple[str, ...]]:
    """Return all loops, the strokes that another repeats, and what was mended."""
    loops = []
    for number, (stroke, points) in enumerate(zip(lines, flat, strict=True)):
        if stroke.closed and len(points) > 3:
            ring = _mended(points[:-1])
            whole = len(ring) == len(points) - 1
            chain = _closed(stroke.chain) if whole else curves_along(ring, [stroke.chain])[0]
            made_of = frozenset([number])
            loops.append(Loop(points=ring, chain=chain, made_of=made_of, label=stroke.label))
    open_ = [number for number, stroke in enumerate(lines) if not stroke.closed]
    together = joined([flat[number] for number in open_])
    for ring in together.rings:
        chain, used = curves_along(ring, [lines[number].chain for number in open_])
        made_of = frozenset(open_[number] for number in used)
        labels = {lines[number].label for number in made_of}
        label = labels.pop() if len(labels) == 1 else ""
        loops.append(Loop(points=ring, chain=chain, made_of=made_of, label=label))
    loops = [loop for loop in loops if len(loop.points) > 2 and loop.hull_mm2 > SAME_MM]
    gaps = together.gaps_mm
    notes = (
        (f"{len(gaps)} gap{'s' * (len(gaps) > 1)} of up to {max(gaps):.3f} mm closed.",)
        if gaps
        else ()
    )
    return loops, {open_[number] for number in together.doubled}, notes


def _closed(chain: Chain) -> Chain:
    """Return a chain whose last end is its first start exactly."""
    last = chain[-1]
    if last.end == chain[0].start:
        return chain
    if len(chain) > 1 and last.start == chain[0].start:
        return chain[:-1]
    return (*chain[:-1], replace(last, end=chain[0].start))


def round_hole(loop: Points, kind: str = "pin") -> Hole | None:
    """Return the hole that a loop of points on a circle is; None for any other loop."""
    if len(loop) < 8:
        return None
    polygon = Polygon(loop)
    centre = np.array([polygon.centroid.x, polygon.centroid.y])
    radii = np.hypot(*(loop - centre).T)
    middle = float(radii.max() + radii.min()) / 2
    strays = float(radii.max() - radii.min()) / 2
    if strays > ROUND_MM or polygon.area < ROUND_FILL * math.pi * middle**2:
        return None
    return Hole(x_mm=float(centre[0]), y_mm=float(centre[1]), diameter_mm=2 * middle, kind=kind)


def _hole(loop: Loop) -> Hole | None:
    """Return the round hole of a loop, by its circle where it was drawn as one."""
    kind = loop.label or "pin"
    arcs = [piece for piece in loop.chain if isinstance(piece, Arc)]
    if len(arcs) == len(loop.chain):
        centres = np.array([arc.centre for arc in arcs])
        radii = np.array([arc.radius_mm for arc in arcs])
        if np.ptp(centres, axis=0).max() < SAME_MM and np.ptp(radii) < SAME_MM:
            (x, y), radius = centres.mean(axis=0).tolist(), float(radii.mean())
            return Hole(x_mm=x, y_mm=y, diameter_mm=2 * radius, kind=kind)
    return round_hole(loop.points, kind)


def _mended(loop: Points) -> Points:
    """Return a loop without small knots; one that crosses itself in earnest is left as it is."""
    polygon = Polygon(loop)
    if polygon.is_valid:
        return loop
    parts = shapely.get_parts(shapely.make_valid(polygon, method="structure", keep_collapsed=False))
    areas = shapely.area(parts)
    if not len(parts) or areas.max() < (1 - KNOT) * areas.sum():
        return loop
    return shapely.get_coordinates(parts[int(areas.argmax())].exterior)[:-1]


def _inside(edge: Polygon, loops: Sequence[Loop]) -> list[Loop]:
    """Return the loops inside an edge in the order drawn, none in or across another."""
    kept: list[tuple[Polygon, Loop]] = []
    shapely.prepare(edge)
    for loop in sorted(loops, key=lambda loop: loop.hull_mm2, reverse=True):
        polygon = Polygon(loop.points)
        if not polygon.is_valid or not edge.contains_properly(polygon):
            continue
        if polygon.area > DOUBLED * edge.area:
            continue
        if not any(polygon.intersects(other) for other, _ in kept):
            kept.append((polygon, loop))
    return sorted((loop for _, loop in kept), key=lambda loop: min(loop.made_of))


def _left_out(
    lines: Sequence[Stroke], flat: Sequence[Points], kept: Sequence[Loop], doubled: set[int]
) -> list[LeftOut]:
    """Return the lines that are no part of the outline, in words, each with its middle."""
    used = frozenset[int]().union(*(loop.made_of for loop in kept))
    edges = shapely.union_all([shapely.LinearRing(loop.points) for loop in kept])
    inside = Polygon(kept[0].points)
    shapely.prepare([edges, inside])
    left = []
    for number, (stroke, points) in enumerate(zip(lines, flat, strict=True)):
        if number in used:
            continue
        spots = shapely.points(points)
        along = number in doubled or shapely.distance(edges, spots).max() <= ALONG_MM
        what = "line drawn twice" if along else _place_in_words(stroke, points, inside)
        x, y = ((points.min(axis=0) + points.max(axis=0)) / 2).tolist()
        left.append(LeftOut(what=what, at_mm=(x, y)))
    return left


def _place_in_words(stroke: Stroke, points: Points, inside: Polygon) -> str:
    there = shapely.contains_xy(inside, *points.T)
    place = "inside" if there.all() else "across the edge" if there.any() else "beside the outline"
    return f"{'closed' if stroke.closed else 'open'} {stroke.what} {place}"


def _moved(left: Sequence[LeftOut], by: Points) -> tuple[LeftOut, ...]:
    dx, dy = by.tolist()
    return tuple(
        thing
        if thing.at_mm is None
        else LeftOut(what=thing.what, at_mm=(thing.at_mm[0] + dx, thing.at_mm[1] + dy))
        for thing in left
    )


def _nothing_closed(open_: Sequence[Points], where: str) -> FileError:
    """Return what to say when no loop closes: where the smallest gap is."""
    if not open_:
        return FileError(
            "there are no lines of an outline in it.",
            where=where,
            remedy="Draw the profile as one closed line, and save it again.",
        )
    told = smallest_gap(np.vstack([path[[0, -1]] for path in open_]))
    return FileError(
        f"there is no closed outline in it{told}.",
        where=where,
        remedy="Join the ends of the profile in the drawing, and save it again.",
    )

"""The lines of a drawing made into one outline with its holes; the rest is named."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from app.files.damage import is_damaged, left_out, refuse_lost_edge
from app.files.errors import FileError
from app.files.foreign import guarded
from app.files.joining import joined, smallest_gap
from app.files.left_out import Curved, lines_left_out, moved
from app.files.page_border import without_borders
from app.files.round_holes import hole_of
from app.files.strokes import (
    SAME_MM,
    Chords,
    Imported,
    Points,
    Stroke,
    Strokes,
    chord_for,
    size_of,
)
from app.files.true_curves import Drawn
from geometry.curves import Chain
from geometry.outline import MOST_OPENINGS, Outline
from geometry.pose import Pose

MOST_MENDED = 20_000  # points of a loop; one with more that crosses itself would take minutes
KNOT = 0.005  # a loop's crossings that hold less of its area are knots in corners, cut off
DOUBLED = 0.8  # a loop that fills more of the outline than this is its edge drawn a second time
BOX_MM = 1e-4  # how far the box of an outline may lie from its curves
NO_SIZE_MM = (1.0, 1e8)  # a drawing that is smaller or larger as a whole has another unit
BEYOND_UNITS_MM = 1e25  # 300 parsecs: more is damage in any unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """A closed line: its points, not repeated at the end, and the one stroke that it is, if so."""

    points: Points
    stroke: int = -1

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
    damaged = [stroke for stroke in found.lines if stroke.chain and is_damaged(stroke)]
    lines = [stroke for stroke in found.lines if _is_usable(stroke) and not is_damaged(stroke)]
    flat = [Chords.of(stroke.chain) for stroke in lines]
    loops, doubled, notes = guarded(lambda: _loops(lines, flat), where)
    if not loops:
        _doubt_unit(found.lines, agree)
        refuse_lost_edge(damaged, np.empty((0, 2)), where)
        raise _nothing_closed(lines, flat, where)
    loops.sort(key=lambda loop: -loop.hull_mm2)
    number, pages = (0, ()) if found.in_frame else without_borders([loop.points for loop in loops])
    outer = loops[number]
    edge = _curved(outer, lines, flat)
    box = np.vstack([p.flattened(chord_for(size_of(p), BOX_MM)) for p in edge.chain])
    width_mm, height_mm = np.ptp(box, axis=0).tolist()
    refuse_lost_edge(damaged, box, where)
    agree(width_mm, height_mm)
    corner = np.zeros(2) if found.in_frame else box.min(axis=0)
    bare = Outline(name=found.name or name, chain=_shifted(edge, corner).chain)
    steel = bare.polygon()  # first of all: an edge that crosses itself has no inside
    others = [loop for loop in loops if loop is not outer]
    inside = _inside(steel, [loop.points - corner for loop in others])
    if len(inside) > MOST_OPENINGS:
        raise FileError(
            f"it has {len(inside)} closed lines inside its outline; no piece has so many holes.",
            where=where,
            remedy="Save the profile and its holes alone, without hatching.",
        )
    inner = [_curved(others[number], lines, flat) for number in inside]
    inner.sort(key=lambda opening: min(opening.made_of))
    openings = [_shifted(opening, corner) for opening in inner]
    holes = [hole_of(opening) for opening in openings]
    outline = replace(
        bare,
        holes=tuple(hole for hole in holes if hole is not None),
        cutouts=tuple(o.chain for o, hole in zip(openings, holes, strict=True) if hole is None),
        marks=found.marks,
        stations=found.stations,
    )
    left = [
        *found.left_out,
        *left_out(damaged),
        *lines_left_out(lines, flat, [edge, *inner], doubled),
    ]
    return Imported(outline=outline, left_out=moved(left, -corner), notes=(*pages, *notes))


def _shifted(curved: Curved, corner: Points) -> Curved:
    """Return a loop with a place of the drawing as its origin; drawings may lie far from theirs."""
    pose = Pose(x_mm=-float(corner[0]), y_mm=-float(corner[1]))
    chain = tuple(piece.moved(pose) for piece in curved.chain)
    return replace(curved, points=curved.points - corner, chain=chain)


def _doubt_unit(lines: Sequence[Stroke], agree: Callable[[float, float], None]) -> None:
    """Have the unit agreed on where it makes the whole drawing a speck or a country."""
    spots = np.array([spot for line in lines for p in line.chain for spot in (p.start, p.end)])
    if len(spots) and np.abs(spots).max() < BEYOND_UNITS_MM:
        width_mm, height_mm = np.ptp(spots, axis=0).tolist()
        if not NO_SIZE_MM[0] <= max(width_mm, height_mm) <= NO_SIZE_MM[1]:
            agree(width_mm, height_mm)


def _is_usable(stroke: Stroke) -> bool:
    """Return whether a line has a length."""
    long = any(math.dist(piece.start, piece.end) > SAME_MM for piece in stroke.chain)
    return long or _curve_length(stroke.chain) > SAME_MM


def _curve_length(chain: Chain) -> float:
    return sum(piece.length_mm for piece in chain)


def _loops(
    lines: Sequence[Stroke], flat: Sequence[Chords]
) -> tuple[list[Loop], set[int], tuple[str, ...]]:
    """Return all loops, the strokes that another repeats, and what was mended."""
    loops = [
        Loop(points=_mended(chords.points[:-1]), stroke=number)
        for number, (stroke, chords) in enumerate(zip(lines, flat, strict=True))
        if stroke.closed and len(chords.points) > 3
    ]
    open_ = [number for number, stroke in enumerate(lines) if not stroke.closed]
    together = joined([flat[number].points for number in open_])
    loops += [Loop(points=ring) for ring in together.rings]
    loops = [loop for loop in loops if len(loop.points) > 2 and loop.hull_mm2 > SAME_MM]
    gaps = together.gaps_mm
    notes: tuple[str, ...] = ()
    if gaps:
        plural = "s" if len(gaps) > 1 else ""
        notes = (f"{len(gaps)} gap{plural} of up to {max(gaps):.3f} mm closed.",)
    return loops, {open_[number] for number in together.doubled}, notes


def _curved(loop: Loop, lines: Sequence[Stroke], flat: Sequence[Chords]) -> Curved:
    """Return a loop as the curves that it was drawn with."""
    if loop.stroke >= 0:
        stroke = lines[loop.stroke]
        if len(loop.points) == len(flat[loop.stroke].points) - 1:
            chain = _closed(stroke.chain)
        else:
            chain, _ = Drawn.of([stroke.chain], [flat[loop.stroke]]).curves_along(loop.points)
        return Curved(points=loop.points, chain=chain, made_of={loop.stroke}, label=stroke.label)
    near = _near(loop.points, lines, flat)
    drawn = Drawn.of([lines[n].chain for n in near], [flat[n] for n in near])
    chain, used = drawn.curves_along(loop.points)
    made_of = {near[number] for number in used}
    labels = {lines[number].label for number in made_of}
    return Curved(
        points=loop.points,
        chain=chain,
        made_of=made_of or {0},
        label=labels.pop() if len(labels) == 1 else "",
    )


def _near(ring: Points, lines: Sequence[Stroke], flat: Sequence[Chords]) -> list[int]:
    """Return the open strokes that touch the box of a ring."""
    (x0, y0), (x1, y1) = ring.min(axis=0) - SAME_MM, ring.max(axis=0) + SAME_MM
    return [
        number
        for number, chords in enumerate(flat)
        if not lines[number].closed and chords.meets(x0, y0, x1, y1)
    ]


def _closed(chain: Chain) -> Chain:
    """Return a chain whose last end is its first start exactly."""
    last = chain[-1]
    if last.end == chain[0].start:
        return chain
    if len(chain) > 1 and last.start == chain[0].start:
        return chain[:-1]
    return (*chain[:-1], replace(last, end=chain[0].start))


def _mended(loop: Points) -> Points:
    """Return a loop without small knots; one that crosses itself in earnest is left as it is."""
    polygon = Polygon(loop)
    if polygon.is_valid or len(loop) > MOST_MENDED:
        return loop
    parts = shapely.get_parts(shapely.make_valid(polygon, method="structure", keep_collapsed=False))
    areas = shapely.area(parts)
    if not len(parts) or areas.max() < (1 - KNOT) * areas.sum():
        return loop
    return shapely.get_coordinates(parts[int(areas.argmax())].exterior)[:-1]


def _inside(edge: Polygon, loops: Sequence[Points]) -> list[int]:
    """Return which loops lie inside an edge, none in or across another."""
    if not loops:
        return []
    polygons = shapely.polygons([shapely.LinearRing(points) for points in loops])
    shapely.prepare(edge)
    usable = shapely.is_valid(polygons) & shapely.contains_properly(edge, polygons)
    usable &= shapely.area(polygons) <= DOUBLED * edge.area
    tree, kept = shapely.STRtree(polygons), set[int]()
    for number in np.argsort(-shapely.area(polygons), kind="stable").tolist():
        if usable[number] and kept.isdisjoint(
            tree.query(polygons[number], predicate="intersects").tolist()
        ):
            kept.add(number)
    return sorted(kept)


def _nothing_closed(lines: Sequence[Stroke], flat: Sequence[Chords], where: str) -> FileError:
    """Return what to say when no loop closes: where the smallest gap is."""
    ends = [c.points[[0, -1]] for c, line in zip(flat, lines, strict=True) if not line.closed]
    if not ends:
        return FileError(
            "there are no lines of an outline in it.",
            where=where,
            remedy="Draw the profile as one closed line, and save it again.",
        )
    return FileError(
        f"there is no closed outline in it{smallest_gap(np.vstack(ends))}.",
        where=where,
        remedy="Join the ends of the profile in the drawing, and save it again.",
    )

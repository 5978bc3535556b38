"""Loose lines of a drawing chained into one outline with its holes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon

from app.files.errors import FileError
from geometry.outline import Hole, Outline, outline_from_rings

SAME_MM = 1e-3  # ends this close are one point however the drawing was rounded
JOIN_MM = 0.05  # gaps up to this are closed by a straight piece; wider ones are told, not closed
GRID_MM = 1e-4  # crossings are computed on this grid, so that doubled lines fall together
KNOT = 0.005  # a loop's crossings that hold less of its area are knots in corners, cut off
DOUBLED = 0.8  # a loop that fills more of the outline than this is its edge drawn a second time
FARTHEST_MM = 1e10  # damaged numbers; maps of a country still have less
ROUND_MM = 0.01  # a loop whose points stray less from a circle is a drilled hole
ROUND_FILL = 0.985  # and that is as full as a circle of 24 chords, 0.9886

FINEST, COARSEST = 1e-7, 2e-3  # a chord's distance over a curve's size: 7000 or 50 to a circle
Points = NDArray[np.float64]


def outline_from_paths(
    paths: Sequence[Points], *, name: str, where: str, agree: Callable[[float, float], None]
) -> Outline:
    """Return the largest closed loop as an outline, and the loops inside of it as its holes.

    Parameters
    ----------
    paths : sequence of (N, 2) arrays
        Lines in mm, y up, in any order and direction; closed where the last point is the first.
    name : str
        What to call the outline.
    where : str
        The file, for messages.
    agree : callable
        Given width and height of the outline, mm, before it is made; raises where they cannot be.

    Returns
    -------
    Outline
        Moved so that its box has its lower left corner at the origin. Round loops inside are
        holes, others cutouts; loops inside of those are left out, and so is a second line that
        follows the edge.

    Raises
    ------
    FileError
        If no loop closes; the message names the closest two open ends.
    InputError
        If the largest loop crosses itself.
    """
    usable = [path for path in paths if len(path) > 1 and np.abs(path).max() < FARTHEST_MM]
    usable = [path for path in usable if _length(path) > SAME_MM]
    closed = [path for path in usable if math.dist(path[0], path[-1]) <= SAME_MM]
    open_ = [path for path in usable if math.dist(path[0], path[-1]) > SAME_MM]
    loops = [_mended(path[:-1]) for path in closed if len(path) > 3] + _chained(open_)
    loops = [loop for loop in loops if len(loop) > 2 and _hull_area(loop) > SAME_MM]
    if not loops:
        raise _nothing_closed(open_, where)
    outer = max(loops, key=_hull_area)
    corner = outer.min(axis=0)
    width_mm, height_mm = np.ptp(outer, axis=0).tolist()
    agree(width_mm, height_mm)
    outline = outline_from_rings(name, outer - corner)
    edge = outline.polygon()  # refuses an edge that crosses itself
    inner = _inside(edge, [loop - corner for loop in loops if loop is not outer])
    holes = [hole for loop in inner if (hole := round_hole(loop)) is not None]
    cutouts = [loop for loop in inner if round_hole(loop) is None]
    return replace(outline_from_rings(name, outer - corner, cutouts), holes=tuple(holes))


def round_hole(loop: Points) -> Hole | None:
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
    return Hole(x_mm=float(centre[0]), y_mm=float(centre[1]), diameter_mm=2 * middle)


def chord_for(size: float, chord: float) -> float:
    """Return how far chords may lie from a curve of a size: finer for a small one, as a pin is.

    A curve that a damaged file makes kilometres large is not cut into millions of pieces.
    """
    return max(min(chord, COARSEST * size), FINEST * size)


def _length(path: Points) -> float:
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def _hull_area(loop: Points) -> float:
    """Return the area of a loop's hull: also a measure of a loop that crosses itself."""
    return float(shapely.MultiPoint(loop).convex_hull.area)


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


def _inside(edge: Polygon, loops: Iterable[Points]) -> list[Points]:
    """Return the loops inside an edge, the largest first, none in or across another."""
    kept: list[tuple[Polygon, Points]] = []
    shapely.prepare(edge)
    for loop in sorted(loops, key=_hull_area, reverse=True):
        polygon = Polygon(loop)
        if not polygon.is_valid or not edge.contains_properly(polygon):
            continue
        if polygon.area > DOUBLED * edge.area:
            continue
        if not any(polygon.intersects(other) for other, _ in kept):
            kept.append((polygon, loop))
    return [loop for _, loop in kept]


def _chained(paths: Sequence[Points]) -> list[Points]:
    """Return the outer loops of each group of lines that hang together."""
    if not paths:
        return []
    lines = [LineString(path) for path in paths]
    lines += [LineString(pair) for pair in _pairs_of_ends(paths, JOIN_MM)]
    pieces = shapely.get_parts(shapely.union_all(lines, grid_size=GRID_MM))
    loops: list[Points] = []
    for group in _groups(pieces):
        faces = shapely.get_parts(shapely.polygonize(group))
        if len(faces):
            for part in shapely.get_parts(shapely.union_all(faces)):
                loops.append(shapely.get_coordinates(part.exterior)[:-1])
    return loops


def _pairs_of_ends(paths: Sequence[Points], reach_mm: float) -> list[NDArray[np.float64]]:
    """Return pairs of different ends within reach of one another, (2, 2) each."""
    ends = np.vstack([path[[0, -1]] for path in paths])
    points = np.array([shapely.Point(end) for end in ends], dtype=object)
    first, second = shapely.STRtree(points).query(points, predicate="dwithin", distance=reach_mm)
    return [
        ends[[a, b]]
        for a, b in zip(first.tolist(), second.tolist(), strict=True)
        if a < b and math.dist(ends[a], ends[b]) > 0.0
    ]


def _groups(pieces: NDArray[np.object_]) -> list[list[LineString]]:
    """Return noded lines grouped by the ends that they share."""
    leader: dict[tuple[float, float], tuple[float, float]] = {}

    def lead(point: tuple[float, float]) -> tuple[float, float]:
        leader.setdefault(point, point)
        while leader[point] != point:
            leader[point] = leader[leader[point]]
            point = leader[point]
        return point

    firsts = []
    for piece in pieces:
        ends = [tuple(end) for end in shapely.get_coordinates(piece)[[0, -1]].tolist()]
        leader[lead(ends[1])] = lead(ends[0])
        firsts.append(ends[0])
    keyed = sorted(zip(map(lead, firsts), pieces, strict=True), key=lambda pair: pair[0])
    return [
        [piece for _, piece in group]
        for _, group in itertools.groupby(keyed, key=lambda pair: pair[0])
    ]


def _nothing_closed(open_: Sequence[Points], where: str) -> FileError:
    """Return what to say when no loop closes: where the smallest gap is."""
    if not open_:
        return FileError(
            "there are no lines of an outline in it.",
            where=where,
            remedy="Draw the profile as one closed line, and save it again.",
        )
    told = _smallest_gap(np.vstack([path[[0, -1]] for path in open_]))
    return FileError(
        f"there is no closed outline in it{told}.",
        where=where,
        remedy="Join the ends of the profile in the drawing, and save it again.",
    )


def _smallest_gap(ends: Points) -> str:
    """Return words on the two closest ends that nothing joins; none when there are not two."""
    _, index, count = np.unique(
        np.round(ends / SAME_MM), axis=0, return_index=True, return_counts=True
    )
    loose = np.array([shapely.Point(end) for end in ends[index[count == 1]]], dtype=object)
    if len(loose) < 2:
        return ""
    pairs, gaps = shapely.STRtree(loose).query_nearest(
        loose, exclusive=True, return_distance=True, all_matches=False
    )
    nearest = int(gaps.argmin())
    middle = LineString([loose[end] for end in pairs[:, nearest]]).centroid
    return (
        f": its closest open ends are {gaps[nearest]:.3g} apart, "
        f"near x {middle.x:.2f}, y {middle.y:.2f}"
    )

"""Loose lines of a drawing joined into loops, whatever their order, gaps and doublings."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString

from app.files.strokes import SAME_MM, Points, lies_within

JOIN_MM = 0.1  # gaps up to this are closed by a straight piece; wider ones are told, not closed
REACH_MM = JOIN_MM + 1e-6  # with room for the rounding of a gap of just that
GRID_MM = 1e-4  # crossings are computed on this grid, so that doubled lines fall together
LOOP_MM = 1.0  # a shorter line between gaps is a part of the edge, and no loop
DOUBLE_MM = 0.01  # a line that lies along another within this is the same line drawn again
MOST_CROSSINGS = 200_000  # lines that touch, both ways and themselves; a piece has 3 to a line
CHECKED_AT_ONCE = 500  # of them, so that a scribble is found out early
DOUBLE_LENGTH_MM = 0.1  # and is longer than this: a shorter one is near whatever it joins


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """Loops of open lines that hang together.

    Parameters
    ----------
    rings : list of (N, 2) arrays
        The outer edge of each group, not repeated at the end, mm.
    doubled : set of int
        Which of the lines lie along another one and were dropped.
    gaps_mm : list of float
        The gaps that were closed, and no rounding of numbers.
    """

    rings: list[Points]
    doubled: set[int]
    gaps_mm: list[float]


def joined(paths: Sequence[Points]) -> Joined:
    """Return the outer loop of each group of open lines that hang together.

    Parameters
    ----------
    paths : sequence of (N, 2) arrays
        Lines in mm, in any order and direction.

    Raises
    ------
    OverflowError
        If they cross too often to be the lines of a piece.
    """
    doubled = _the_same(paths)
    _check_crossings([path for number, path in enumerate(paths) if number not in doubled])
    doubled |= _doubled(paths, doubled)
    kept = [path for number, path in enumerate(paths) if number not in doubled]
    if not kept:
        return Joined(rings=[], doubled=doubled, gaps_mm=[])
    lines = [LineString(path) for path in kept]
    bridges = _bridges(kept, lines)
    pieces = shapely.get_parts(
        shapely.union_all([*lines, *map(LineString, bridges)], grid_size=GRID_MM)
    )
    rings: list[Points] = []
    for group in _groups(pieces):
        faces = shapely.get_parts(shapely.polygonize(group))
        if len(faces):
            for part in shapely.get_parts(shapely.union_all(faces)):
                rings.append(shapely.get_coordinates(part.exterior)[:-1])
    gaps = [math.dist(*bridge) for bridge in bridges]
    return Joined(rings=rings, doubled=doubled, gaps_mm=[gap for gap in gaps if gap > SAME_MM])


def _the_same(paths: Sequence[Points]) -> set[int]:
    """Return which lines have the points of one before them, one way or the other."""
    seen: set[bytes] = set()
    same: set[int] = set()
    for number, path in enumerate(paths):
        steps = np.round(path / GRID_MM).astype(np.int64)
        if steps.tobytes() in seen:
            same.add(number)
        seen |= {steps.tobytes(), steps[::-1].tobytes()}
    return same


def _check_crossings(paths: Sequence[Points]) -> None:
    """Raise OverflowError where lines cross so often that no maker drew them."""
    if not paths:
        return
    lines = np.array([LineString(path) for path in paths], dtype=object)
    tree, count = shapely.STRtree(lines), 0
    for first in range(0, len(lines), CHECKED_AT_ONCE):
        count += tree.query(lines[first : first + CHECKED_AT_ONCE], predicate="intersects").shape[1]
        if count > MOST_CROSSINGS:
            raise OverflowError("its lines cross each other too often, as hatching does")


def _doubled(paths: Sequence[Points], known: set[int]) -> set[int]:
    """Return which lines lie along a longer one, or along an equal one before it."""
    lines = np.array([LineString(path) for path in paths], dtype=object)
    lengths = shapely.length(lines)
    left = np.array([number for number in range(len(lines)) if number not in known], np.intp)
    tree = shapely.STRtree(lines[left])
    doubled: set[int] = set()
    last_first = np.lexsort((-left, np.round(lengths[left] / DOUBLE_MM)))
    for number in left[last_first].tolist():
        if lengths[number] <= DOUBLE_LENGTH_MM:
            continue
        spots = _spots(paths[number])
        near = left[tree.query(lines[number], predicate="dwithin", distance=DOUBLE_MM)].tolist()
        for other in near:
            if other == number or other in doubled or lengths[other] < lengths[number] - DOUBLE_MM:
                continue
            if lies_within(spots, lines[other], DOUBLE_MM):
                doubled.add(number)
                break
    return doubled


def _spots(path: Points) -> Points:
    """Return a line's points and the middles between them."""
    return np.vstack([path, (path[1:] + path[:-1]) / 2])


def _bridges(paths: Sequence[Points], lines: Sequence[LineString]) -> list[Points]:
    """Return the straight pieces that close gaps, (2, 2) each.

    Ends that are one but for rounding are joined wherever they meet. An end that meets nothing is
    joined to the nearest such end within reach, else to the nearest line.
    """
    ends = np.vstack([path[[0, -1]] for path in paths])
    spots = np.asarray(shapely.points(ends))
    tree = shapely.STRtree(spots)
    first, second = tree.query(spots, predicate="dwithin", distance=SAME_MM)
    meets = first != second
    pairs = [(a, b) for a, b in zip(first[meets], second[meets], strict=True) if a < b]
    bridges = [ends[[a, b]] for a, b in pairs if (ends[a] != ends[b]).any()]
    loose = sorted(set(range(len(ends))) - set(first[meets].tolist()))
    return bridges + _across_gaps(loose, ends, lines)


def _across_gaps(loose: list[int], ends: Points, lines: Sequence[LineString]) -> list[Points]:
    if not loose:
        return []
    spots = np.asarray(shapely.points(ends[loose]))
    a, b = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=REACH_MM)
    near = sorted(
        (math.dist(ends[loose[i]], ends[loose[j]]), loose[i], loose[j])
        for i, j in zip(a.tolist(), b.tolist(), strict=True)
        if i < j and not _is_speck(loose[i], loose[j], lines)
    )
    bridges: list[Points] = []
    taken: set[int] = set()
    for _, one, other in near:
        if not {one, other} & taken:
            taken |= {one, other}
            bridges.append(ends[[one, other]])
    left = [end for end in loose if end not in taken]
    tree = shapely.STRtree(list(lines))
    for end in left:
        spot = shapely.Point(ends[end])
        reach = tree.query(spot, predicate="dwithin", distance=REACH_MM).tolist()
        others = [line for line in reach if line != end // 2]
        if others:
            nearest = min(others, key=lambda line: lines[line].distance(spot))
            bridge = shapely.shortest_line(spot, lines[nearest])
            if bridge.length > 0.0:
                bridges.append(shapely.get_coordinates(bridge))
    return bridges


def _is_speck(one: int, other: int, lines: Sequence[LineString]) -> bool:
    """Return whether two ends are those of one line too short to be closed upon itself."""
    return one // 2 == other // 2 and lines[one // 2].length <= LOOP_MM


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


def smallest_gap(ends: Points) -> str:
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
        f": its closest open ends are {gaps[nearest]:.3g} mm apart, near x {middle.x:.2f}, "
        f"y {middle.y:.2f} mm; gaps of up to {JOIN_MM:g} mm are closed"
    )

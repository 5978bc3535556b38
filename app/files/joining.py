"""Loose lines of a drawing joined into loops, whatever their order, gaps and doublings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
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

Lines: TypeAlias = NDArray[np.object_]  # of shapely's lines


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
    same = _the_same(paths)
    once = np.array([number for number in range(len(paths)) if number not in same], np.intp)
    if not len(once):
        return Joined(rings=[], doubled=same, gaps_mm=[])
    lines = lines_through([paths[number] for number in once.tolist()])
    tree = shapely.STRtree(lines)
    _check_crossings(lines, tree)
    again = _doubled(lines, tree)
    doubled = same | set(once[again].tolist())
    lines = lines[~again]
    bridges = _bridges(lines)
    across = np.asarray(shapely.linestrings(bridges)) if len(bridges) else bridges[:, 0, 0]
    pieces = shapely.get_parts(
        shapely.union_all(np.concatenate([lines, across]), grid_size=GRID_MM)
    )
    rings: list[Points] = []
    for group in _groups(pieces):
        faces = shapely.get_parts(shapely.polygonize(group))
        if len(faces):
            for part in shapely.get_parts(shapely.union_all(faces)):
                rings.append(shapely.get_coordinates(part.exterior)[:-1])
    gaps = np.hypot(*(bridges[:, 1] - bridges[:, 0]).T).tolist()
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


def lines_through(paths: Sequence[Points]) -> Lines:
    """Return paths of (N, 2) points as shapely's lines, all made at once."""
    number = np.repeat(np.arange(len(paths)), [len(path) for path in paths])
    return np.asarray(shapely.linestrings(np.concatenate(paths), indices=number))


def _check_crossings(lines: Lines, tree: shapely.STRtree) -> None:
    """Raise OverflowError where lines cross so often that no maker drew them."""
    count = 0
    for first in range(0, len(lines), CHECKED_AT_ONCE):
        count += tree.query(lines[first : first + CHECKED_AT_ONCE], predicate="intersects").shape[1]
        if count > MOST_CROSSINGS:
            raise OverflowError("its lines cross each other too often, as hatching does")


def _doubled(lines: Lines, tree: shapely.STRtree) -> NDArray[np.bool_]:
    """Return which lines lie along a longer one, or along an equal one before it."""
    lengths = shapely.length(lines)
    one, other = tree.query(lines, predicate="dwithin", distance=DOUBLE_MM)
    may = (one != other) & (lengths[one] > DOUBLE_LENGTH_MM)
    may &= lengths[other] >= lengths[one] - DOUBLE_MM
    one, other = one[may], other[may]
    for end in (0, -1):  # most pairs only touch
        near = shapely.dwithin(lines[other], shapely.get_point(lines[one], end), DOUBLE_MM)
        one, other = one[near], other[near]
    beside: dict[int, list[int]] = {}
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        beside.setdefault(a, []).append(b)
    doubled = np.zeros(len(lines), bool)
    for number in np.lexsort((-np.arange(len(lines)), np.round(lengths / DOUBLE_MM))).tolist():
        spots = _spots(shapely.get_coordinates(lines[number])) if number in beside else None
        doubled[number] = spots is not None and any(
            lies_within(spots, lines[line], DOUBLE_MM)
            for line in beside[number]
            if not doubled[line]
        )
    return doubled


def _spots(path: Points) -> Points:
    """Return a line's points and the middles between them."""
    return np.vstack([path, (path[1:] + path[:-1]) / 2])


def _bridges(lines: Lines) -> Points:
    """Return the straight pieces that close gaps, (N, 2, 2).

    Ends that are one but for rounding are joined wherever they meet. An end that meets nothing is
    joined to the nearest such end within reach, else to the nearest line.
    """
    spots = np.column_stack([shapely.get_point(lines, 0), shapely.get_point(lines, -1)]).ravel()
    ends = shapely.get_coordinates(spots)
    first, second = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=SAME_MM)
    pairs = np.column_stack([first, second])[first < second]
    meeting = ends[pairs]
    loose = np.setdiff1d(np.arange(len(ends)), pairs)
    return np.concatenate(
        [meeting[(meeting[:, 0] != meeting[:, 1]).any(axis=1)], _across_gaps(loose, ends, lines)]
    )


def _across_gaps(loose: NDArray[np.intp], ends: Points, lines: Lines) -> Points:
    """Return bridges between loose ends, the closest pairs first, else to the nearest line."""
    spots = np.asarray(shapely.points(ends[loose]))
    if not len(loose):
        return np.empty((0, 2, 2))
    a, b = shapely.STRtree(spots).query(spots, predicate="dwithin", distance=REACH_MM)
    a, b = loose[a[a < b]], loose[b[a < b]]
    speck = (a // 2 == b // 2) & (shapely.length(lines[a // 2]) <= LOOP_MM)
    a, b = a[~speck], b[~speck]
    bridges: list[Points] = []
    taken: set[int] = set()
    nearest = np.lexsort((b, a, np.hypot(*(ends[a] - ends[b]).T)))
    for one, other in zip(a[nearest].tolist(), b[nearest].tolist(), strict=True):
        if not {one, other} & taken:
            taken |= {one, other}
            bridges.append(ends[[one, other]])
    left = np.setdiff1d(loose, list(taken)).astype(np.intp)
    return np.concatenate([np.reshape(bridges, (-1, 2, 2)), _to_lines(left, ends, lines)])


def _to_lines(left: NDArray[np.intp], ends: Points, lines: Lines) -> Points:
    """Return bridges from ends to the nearest other line within reach, (N, 2, 2)."""
    spots = np.asarray(shapely.points(ends[left]))
    end, line = shapely.STRtree(lines).query(spots, predicate="dwithin", distance=REACH_MM)
    others = line != left[end] // 2
    end, line = end[others], line[others]
    off = shapely.distance(spots[end], lines[line])
    nearest = np.lexsort((line, off, end))
    nearest = nearest[np.unique(end[nearest], return_index=True)[1]]
    nearest = nearest[off[nearest] > 0.0]
    bridges = shapely.shortest_line(spots[end[nearest]], lines[line[nearest]])
    return shapely.get_coordinates(bridges).reshape(-1, 2, 2)


def _groups(pieces: Lines) -> list[Lines]:
    """Return noded lines grouped by the ends that they share."""
    first, last = (shapely.get_coordinates(shapely.get_point(pieces, end)) for end in (0, -1))
    _, spot = np.unique(np.concatenate([first, last]), axis=0, return_inverse=True)
    a, b = spot.reshape(2, -1)
    together = coo_array((np.ones(len(a)), (a, b)), shape=(spot.max() + 1, spot.max() + 1))
    group = connected_components(together, directed=False)[1][a]
    order = np.argsort(group, kind="stable")
    return np.split(pieces[order], np.flatnonzero(np.diff(group[order])) + 1)


def smallest_gap(ends: Points) -> str:
    """Return words on the two closest ends that nothing joins; none when there are not two."""
    _, index, count = np.unique(
        np.round(ends / SAME_MM), axis=0, return_index=True, return_counts=True
    )
    loose = np.array([shapely.Point(end) for end in ends[index[count == 1]]], dtype=object)
    if len(loose) < 2:
        return ""
    if len(loose) == 2:
        (x0, y0), (x1, y1) = ends[index[count == 1]].tolist()
        return (
            f": the line is open, its ends {math.dist((x0, y0), (x1, y1)):.3g} mm apart, at "
            f"x {x0:.2f}, y {y0:.2f} and x {x1:.2f}, y {y1:.2f} mm; gaps of up to {JOIN_MM:g} mm "
            "are closed"
        )
    pairs, gaps = shapely.STRtree(loose).query_nearest(
        loose, exclusive=True, return_distance=True, all_matches=False
    )
    nearest = int(gaps.argmin())
    middle = LineString([loose[end] for end in pairs[:, nearest]]).centroid
    return (
        f": its closest open ends are {gaps[nearest]:.3g} mm apart, near x {middle.x:.2f}, "
        f"y {middle.y:.2f} mm; gaps of up to {JOIN_MM:g} mm are closed"
    )

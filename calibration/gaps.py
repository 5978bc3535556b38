"""Gaps in a drawn stroke, bridged the way the stroke was going.

A stroke that stops goes on, for a few millimetres at most, along the direction in which it came:
to the end of another that comes to meet it, straight or round a corner, or to the side of another
that lies in its way.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.thinning import Mask, loose_ends

Points = NDArray[np.float64]
Field = NDArray[np.float32]

STRAIGHT_COSINE = 0.82  # 35 degrees: ends that miss each other by more are not one stroke
LONG_GAPS = 2.0  # the widest gap, times this: a shorter stroke is writing
NEAR_WIDTHS, LEAST_NEAR_PX = 2.5, 4.0  # so near, ends belong together wherever they point
SPARE_PX = 2.0  # a stroke's blurred tip counts as bare paper
THINNED = 1.25  # half widths that thinning takes from a round end
BENT_TRAIL = 20  # pixels; a shorter stroke shows its direction, but no bend
MAX_ENDS = 150
MAX_SHORT_ENDS = 400  # of writing and specks; more is texture
CORNER_REACH = 0.8  # of the gap: how far a corner may lie beyond an end


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bridge:
    """One gap and the way over it.

    Parameters
    ----------
    path_px : ndarray, (N, 2)
        From the stroke's end to where it meets the next.
    cost : float
        Length, px, raised where the strokes do not run straight on.
    """

    path_px: Points
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokeEnd:
    """Where a stroke stops, its unit direction there, and by how much thinning shortened it."""

    point: Points
    ahead: Points
    trail: Points
    thinned_px: float


def stroke_ends(lines: Mask, thinned: Field, *, trail_px: int, least_px: int) -> list[StrokeEnd]:
    """Return the loose ends of thin lines, spurs shorter than `least_px` left out.

    `thinned`, (h, w), is by how much thinning shortened a stroke that ends there.
    """
    ends = []
    for x, y in loose_ends(lines):
        trail = _trail(lines, (int(x), int(y)), trail_px)
        if len(trail) < least_px:
            continue
        ahead = _ahead(trail)
        length = float(np.hypot(*ahead))
        if length > 0:
            column, row = trail.astype(int).T
            taken = float(np.median(thinned[row, column]))
            ends.append(
                StrokeEnd(point=trail[0], ahead=ahead / length, trail=trail, thinned_px=taken)
            )
    return ends


def _ahead(trail: Points) -> Points:
    """Return the direction in which a stroke was going at its end, that of a bent one too."""
    if len(trail) < BENT_TRAIL:
        half = max(2, len(trail) // 2)
        return np.asarray(trail[:half].mean(axis=0) - trail[-half:].mean(axis=0))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(trail, axis=0).T))])
    return np.asarray(-np.polynomial.polynomial.polyfit(along, trail, 2)[1])


def _trail(lines: Mask, start: tuple[int, int], steps: int) -> Points:
    """Return the pixels of a line from its end back to the first fork, x and y."""
    height, width = lines.shape
    trail, seen = [start], {start}
    while len(trail) < steps:
        x, y = trail[-1]
        onward = [
            (x + dx, y + dy)
            for dy in (-1, 0, 1)
            for dx in (-1, 0, 1)
            if 0 <= x + dx < width and 0 <= y + dy < height and lines[y + dy, x + dx]
        ]
        onward = [each for each in onward if each not in seen]
        if not onward:
            break
        onward.sort(key=lambda each: abs(each[0] - x) + abs(each[1] - y))
        apart = max(abs(onward[0][0] - each[0]) + abs(onward[0][1] - each[1]) for each in onward)
        if apart > 1:  # neighbours that do not touch each other: the line forks
            break
        seen.add(onward[0])
        trail.append(onward[0])
    return np.array(trail, float)


def bridges(
    lines: Mask, *, gap_px: float, width_px: float, ink: Mask | None = None
) -> list[Bridge]:
    """Return every way over a gap that the directions of the strokes allow.

    Parameters
    ----------
    lines : ndarray of bool, (h, w)
        Thinned strokes.
    gap_px : float
        The widest gap to bridge, between the ends of the ink.
    width_px : float
        Usual width of the strokes.
    ink : ndarray of bool, (h, w), optional
        The strokes as wide as they are; of the usual width if left out.

    Notes
    -----
    Thinning shortens each end by about half its stroke's own width; a marker's more than a label's.
    """
    thinned = np.full(lines.shape, 0.5 * width_px, np.float32)
    if ink is not None:
        depth = cv2.distanceTransform(ink.astype(np.uint8), cv2.DIST_L2, 3)
        thinned = np.asarray(THINNED * depth, np.float32)
    clear = gap_px + SPARE_PX
    reach = clear + 2.0 * float(thinned[lines].max(initial=0.0))
    trail_px, least_px = int(max(8.0, 1.2 * (clear + width_px))), int(max(5.0, 1.5 * width_px))
    long = _long_strokes(lines, least_px=LONG_GAPS * gap_px)
    ends = stroke_ends(long, thinned, trail_px=trail_px, least_px=least_px)
    if len(ends) > MAX_ENDS:  # texture, not a drawing
        return []
    if ends and len(loose_ends(short := lines & ~long)) <= MAX_SHORT_ENDS:
        dashes = stroke_ends(short, thinned, trail_px=trail_px, least_px=least_px)
        ends += _in_line(ends, dashes, short, clear)
    ahead = [_onto_side(long, end, clear + 2.0 * end.thinned_px) for end in ends]
    found = [way for way in ahead if way is not None]
    for one, two in itertools.combinations(ends, 2):
        if np.abs(one.point - two.point).max() <= reach:
            apart = clear + one.thinned_px + two.thinned_px
            way = _between(one, two, apart, max(LEAST_NEAR_PX, NEAR_WIDTHS * width_px))
            if way is not None:
                found.append(way)
    return sorted(found, key=lambda each: each.cost)


def _long_strokes(lines: Mask, *, least_px: float) -> Mask:
    """Return the lines without what is shorter: letters and specks have no gaps to bridge."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(lines.astype(np.uint8), connectivity=8)
    long = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1) >= least_px
    long[0] = False
    return np.asarray(long[labels], bool)


def _in_line(
    ends: list[StrokeEnd], dashes: list[StrokeEnd], short: Mask, clear: float
) -> list[StrokeEnd]:
    """Return the ends of short strokes that lie in the way of longer ones, two gaps apart.

    Writing has short strokes too; what counts is that a long one leads straight on to them.
    """
    _, labels = cv2.connectedComponents(short.astype(np.uint8), connectivity=8)
    stroke = [int(labels[int(dash.point[1]), int(dash.point[0])]) for dash in dashes]
    met: set[int] = set()
    front = ends
    while front:
        newly = {
            name
            for name, dash in zip(stroke, dashes, strict=True)
            if name not in met and any(_faces(end, dash, clear) for end in front)
        }
        met |= newly
        front = [dash for name, dash in zip(stroke, dashes, strict=True) if name in newly]
    return [dash for name, dash in zip(stroke, dashes, strict=True) if name in met]


def _faces(end: StrokeEnd, other: StrokeEnd, clear: float) -> bool:
    """Return whether two ends are near each other, and each is on the other's way."""
    across = other.point - end.point
    if np.abs(across).max() > clear + end.thinned_px + other.thinned_px:
        return False
    length = float(np.hypot(*across))
    return min(float(end.ahead @ across), float(-other.ahead @ across)) > STRAIGHT_COSINE * length


def _between(end: StrokeEnd, other: StrokeEnd, reach: float, near: float) -> Bridge | None:
    """Return the way between two ends.

    Straight where they face each other or are nearer than `near`, else by a corner.
    """
    across = other.point - end.point
    length = float(np.hypot(*across))
    if length > reach or length == 0.0:
        return None
    facing = min(float(end.ahead @ across), float(-other.ahead @ across)) / length
    if facing > STRAIGHT_COSINE or length < near:
        return Bridge(path_px=np.array([end.point, other.point]), cost=length * (2.0 - facing))
    corner = _meeting(end, other, CORNER_REACH * reach)
    if corner is None:
        return None
    return Bridge(path_px=np.array([end.point, corner, other.point]), cost=2.0 * length)


def _meeting(end: StrokeEnd, other: StrokeEnd, reach: float) -> Points | None:
    """Return where two strokes meet if both go on straight ahead, no farther than `reach`."""
    matrix = np.column_stack([end.ahead, -other.ahead])
    if abs(np.linalg.det(matrix)) < 0.3:  # nearly parallel: the crossing is anywhere
        return None
    forth = np.linalg.solve(matrix, other.point - end.point)
    if forth.min() < -3.0 or forth.max() > reach:
        return None
    return np.asarray(end.point + max(forth[0], 0.0) * end.ahead)


def _onto_side(lines: Mask, end: StrokeEnd, reach: float) -> Bridge | None:
    """Return the way straight ahead onto the side of the next line."""
    start = 2.0
    steps = np.arange(start, reach, 0.5)
    sideways = np.array([-end.ahead[1], end.ahead[0]])
    for offset in (0.0, 1.0, -1.0):
        path = end.point + steps[:, None] * end.ahead + offset * sideways
        x, y = np.round(path).astype(int).T
        inside = (x >= 0) & (y >= 0) & (x < lines.shape[1]) & (y < lines.shape[0])
        hits = np.flatnonzero(inside & lines[np.where(inside, y, 0), np.where(inside, x, 0)])
        own = {(int(px), int(py)) for px, py in end.trail}
        for hit in hits:
            if (x[hit], y[hit]) not in own:
                stop = np.array([x[hit], y[hit]], float)
                return Bridge(path_px=np.array([end.point, stop]), cost=1.5 * float(steps[hit]))
    return None


def drawn(lines: Mask, ways: list[Bridge]) -> Mask:
    """Return the lines with the bridges drawn in, one pixel wide."""
    picture = lines.astype(np.uint8)
    for way in ways:
        path = np.round(way.path_px).astype(np.int32)
        cv2.polylines(picture, [path], isClosed=False, color=1, thickness=1)
    return picture > 0

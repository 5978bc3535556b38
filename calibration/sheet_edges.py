"""The four edges of the sheet, as straight lines fitted to the step from paper to bench.

The sheet is looked for at reduced size as the light region that four long straight lines bound;
then each side is measured at full size on profiles across it, and what does not follow a smooth
line (an object on the edge, a torn corner) is left out.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.light import dimmest
from calibration.photo import Photo
from calibration.profiles import SEED, crossing, line_through, smooth_curve
from calibration.sheet_sides import ENDS, MIN_SEEN, STATIONS, side_points

Points = NDArray[np.float64]

PAIRS = 400  # of rim points tried per line; a side holds an eighth of the rim or more
EACH = 3  # of the rim points each trial is counted on every third: neighbours say the same
CLOSE_PX = 1.6  # of the small picture: distance from a line at which a rim point belongs to it
MIN_SUPPORT = 0.03  # of the rim, for a line to be tried as a side
AROUND = 0.06  # of the long side: how far off a place's surroundings are looked at
EVEN = 0.94  # of their light; beside the paper the bench is darker than what surrounds it
NODES = 24  # points each side is handed on as


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetEdges:
    """What was seen of a sheet's edges.

    Parameters
    ----------
    corners_px : ndarray, shape (4, 2)
        Lower left, lower right, upper right, upper left as the picture shows the sheet.
    sides_px : tuple of four ndarrays, each (M, 2)
        Points on the bottom, right, top and left edge; empty where an edge is not seen.
    seen : tuple of four float
        Share of each side that showed a clean step.
    """

    corners_px: Points
    sides_px: tuple[Points, Points, Points, Points]
    seen: tuple[float, float, float, float]


def find_sheet_edges(photo: Photo) -> SheetEdges | None:
    """Return the edges of the sheet, None if no light four-sided sheet stands out."""
    height, width = photo.small.shape[:2]
    ratio = np.array([photo.width_px / width, photo.height_px / height])
    cut_off: SheetEdges | None = None  # by the picture, unless another look shows all four
    for region in _light_regions(photo.small):
        corners = _quadrilateral(region)
        if corners is None:
            continue
        edges = _measured(photo.rgb, (corners + 0.5) * ratio - 0.5, 4.0 * float(ratio.max()))
        if edges is not None and min(edges.seen) > 0.0:
            return edges
        cut_off = cut_off or edges
    return cut_off


def _light_regions(small: NDArray[np.uint8]) -> Iterator[NDArray[np.uint8]]:
    """Yield masks of regions that may be the sheet, likeliest first.

    First what is lighter than a level; then, since a lamp may make the bench on its side as
    light as the paper on the other, what is as light as its surroundings.
    """
    lightest = dimmest(small)  # paper is light in every channel, wood and mats are not
    calm = np.asarray(cv2.GaussianBlur(cv2.medianBlur(lightest, 5), (0, 0), 1.0), np.uint8)
    split, _ = cv2.threshold(calm, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    for level in (split, 0.75 * split, 1.2 * split):
        yield from _largest(calm > level)
    around = cv2.GaussianBlur(calm, (0, 0), AROUND * max(calm.shape))
    yield from _largest(calm > EVEN * around)


def _largest(light: NDArray[np.bool_]) -> list[NDArray[np.uint8]]:
    """Return masks of the two largest connected regions, if they may be a sheet."""
    whole = cv2.morphologyEx(light.astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(whole, connectivity=4)
    order = 1 + np.argsort(-stats[1:, cv2.CC_STAT_AREA])[:2]
    return [
        (labels == k).astype(np.uint8)
        for k in order
        if 0.04 * light.size < stats[k, cv2.CC_STAT_AREA] < 0.97 * light.size
    ]


def _quadrilateral(region: NDArray[np.uint8]) -> Points | None:
    """Return the four corners that lines along a region's rim make, None if none do."""
    rims, _ = cv2.findContours(region, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rim = max(rims, key=len).reshape(-1, 2).astype(float)
    height, width = region.shape
    inside = (rim > 1.5).all(axis=1) & (rim < (width - 2.5, height - 2.5)).all(axis=1)
    lines = _rim_lines(rim[inside], len(rim)) + _cut_sides(rim, (width, height))
    best, best_support = None, 0.0
    for four in itertools.combinations(range(len(lines)), 4):
        corners = _corners([lines[k] for k in four], (width, height))
        if corners is None:
            continue
        support = _rim_share(rim, corners)
        if support > best_support:
            best, best_support = corners, support
    return best if best_support > 0.55 * len(rim) else None


def _cut_sides(rim: Points, size: tuple[int, int]) -> list[Points]:
    """Return the picture's own borders where they cut the sheet off."""
    borders = []
    for axis in (0, 1):
        for place in (0.0, size[axis] - 1.0):
            if (np.abs(rim[:, axis] - place) < 2.0).sum() > MIN_SUPPORT * len(rim):
                borders.append(np.array([1.0 - axis, float(axis), place]))
    return borders


def _rim_lines(rim: Points, whole: int) -> list[Points]:
    """Return up to seven lines (nx, ny, c), n.p = c, that hold the most rim points each."""
    rng = np.random.default_rng(SEED)
    lines: list[Points] = []
    left = rim
    while len(lines) < 7 and len(left) > max(20.0, MIN_SUPPORT * whole):
        first = rng.integers(0, len(left), PAIRS)
        gap = rng.integers(10, max(11, len(left) // 6), PAIRS)
        a, b = left[first], left[(first + gap) % len(left)]
        length = np.hypot(*(b - a).T)
        a, b, length = a[length > 8], b[length > 8], length[length > 8]
        if not len(a):
            break
        normals = np.column_stack([a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]]) / length[:, None]
        offsets = (normals * a).sum(axis=1)
        x, y = left[::EACH].T.astype(np.float32)
        nx, ny, shift = np.column_stack([normals, offsets]).T.astype(np.float32)[:, :, None]
        count = np.count_nonzero(np.abs(nx * x + ny * y - shift) < CLOSE_PX, axis=1)
        k = int(np.argmax(count))
        if EACH * count[k] < MIN_SUPPORT * whole:
            break
        line = line_through(left[np.abs(left @ normals[k] - offsets[k]) < CLOSE_PX])
        lines.append(line)
        left = left[np.abs(left @ line[:2] - line[2]) > 1.8 * CLOSE_PX]
    return lines


def _corners(lines: list[Points], size: tuple[int, int]) -> Points | None:
    """Return the convex quadrilateral of four lines, from lower left on, None if they make none.

    The two pairs of opposite sides are told apart by direction: sides sorted by their angle
    are neighbours in turn.
    """
    angles = [math.atan2(line[1], line[0]) % math.pi for line in lines]
    order = np.argsort(angles)
    best = None
    for pairing in ((0, 1, 2, 3), (1, 2, 3, 0)):
        a, b, c, d = (lines[order[k]] for k in pairing)
        if min(_between(a, c), _between(a, d), _between(b, c), _between(b, d)) < 0.6:
            continue
        if max(_between(a, b), _between(c, d)) > 0.75:
            continue
        corners = np.array([crossing(a, c), crossing(c, b), crossing(b, d), crossing(d, a)])
        area = _area(corners)
        if not _convex(corners) or abs(area) < 0.03 * size[0] * size[1]:
            continue
        slack = 0.35 * np.array(size)
        if (corners < -slack).any() or (corners > size + slack).any():
            continue
        best = corners
    return None if best is None else from_lower_left(best)


def _between(a: Points, b: Points) -> float:
    """Return the angle between two lines, rad, 0 to pi/2."""
    return math.asin(min(1.0, abs(a[0] * b[1] - a[1] * b[0])))


def _area(corners: Points) -> float:
    x, y = corners.T
    return 0.5 * float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())


def _convex(corners: Points) -> bool:
    sides = np.roll(corners, -1, axis=0) - corners
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    return bool((turns > 0).all() or (turns < 0).all())


def from_lower_left(corners_px: Points) -> Points:
    """Return four corners of a quadrilateral in the order ll, lr, ur, ul as they are seen."""
    corners = np.asarray(corners_px, float)
    if _area(corners) > 0:  # y points down: this is clockwise as seen
        corners = corners[::-1]
    sides = np.roll(corners, -1, axis=0) - corners
    lowest = int(np.argmax(sides[:, 0] / np.hypot(*sides.T)))  # the side that runs rightmost
    return np.roll(corners, -lowest, axis=0)


def _rim_share(rim: Points, corners: Points) -> float:
    """Return how many rim points lie along the sides of a quadrilateral."""
    near = np.zeros(len(rim), bool)
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        length = math.dist(a, b)
        along = (rim - a) @ (b - a) / length
        across = (rim - a) @ np.array([a[1] - b[1], b[0] - a[0]]) / length
        near |= (np.abs(across) < 2.0 * CLOSE_PX) & (along > 0) & (along < length)
    return float(near.sum())


def _measured(rgb: NDArray[np.uint8], corners: Points, reach_px: float) -> SheetEdges | None:
    """Return the edges measured at full size from corners that are good to `reach_px`."""
    sides = [np.empty((0, 2))] * 4
    seen = [0.0] * 4
    fits: list[tuple[Points, Points]] = []
    for k in range(4):
        a, b = corners[k], corners[(k + 1) % 4]
        points = side_points(rgb, a, b, reach_px)
        smooth, kept = _smooth_side(points, a, b)
        seen[k] = float(kept.sum()) / STATIONS
        if seen[k] >= MIN_SEEN:
            sides[k] = _nodes(points[kept], a, b)
        fits.append((a, b) if seen[k] < MIN_SEEN else _ends_of(smooth, a, b))
    if sum(len(side) > 0 for side in sides) < 3:
        return None
    lines = [line_through(np.array(fit)) for fit in fits]
    exact = np.array([crossing(lines[k - 1], lines[k]) for k in range(4)])
    return SheetEdges(
        corners_px=exact,
        sides_px=(sides[0], sides[1], sides[2], sides[3]),
        seen=(seen[0], seen[1], seen[2], seen[3]),
    )


def _smooth_side(points: Points, a: Points, b: Points) -> tuple[Points, NDArray[np.bool_]]:
    """Return the smooth offsets of a side from the chord a-b, and which points follow them."""
    along = (b - a) / math.dist(a, b)
    outward = np.array([-along[1], along[0]])
    return smooth_curve((points - a) @ outward, 2.5)


def _ends_of(smooth: Points, a: Points, b: Points) -> tuple[Points, Points]:
    """Return two points of the line that leaves a smooth side's bow out, fitted evenly."""
    along = (b - a) / math.dist(a, b)
    outward = np.array([-along[1], along[0]])
    slope, middle = np.polyfit(np.linspace(ENDS, 1 - ENDS, len(smooth)), smooth, 1)
    return a + middle * outward, b + (middle + slope) * outward


def _nodes(points: Points, a: Points, b: Points) -> Points:
    """Return up to NODES points, each the mean of the clean ones in a stretch of the side."""
    share = (points - a) @ (b - a) / float((b - a) @ (b - a))
    stretch = np.clip((share * NODES).astype(int), 0, NODES - 1)
    return np.array([points[stretch == k].mean(axis=0) for k in np.unique(stretch)])

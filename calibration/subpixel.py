"""The edge of a stroke to a fraction of a pixel.

The edge lies where the light is halfway between the paper and the ink beside it.  A line only a
few pixels wide never shows its full darkness through the blur of lens and sensor, so half of what
it shows lies too far out.  Blur keeps the amount of ink: from the height and the area of the
stroke's profile and the blur, the line's true width and darkness follow, and with them the level.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.cores import each
from calibration.levels import BEFORE_PX, STEP_PX, stroke_light
from calibration.rings import (
    across_ring,
    resampled,
    ring_normals,
    sampled,
    smoothed_ring,
)
from calibration.thinning import thinned, without_loose_ends

Mask = NDArray[np.bool_]
Points = NDArray[np.float64]
Field = NDArray[np.float32]

Edge = Literal["inner", "middle", "outer"]

ROUGHNESS_PX = 0.15  # of ink on paper, one standard deviation
WINDOW_PX = 25  # points along the edge over which profiles are averaged
SEARCH_PX = 3.0  # to either side of a line: how far it is moved onto its level
LEAST_LINE_PX = 12  # a shorter one is a speck
SMOOTH_PX = 0.7  # blur against noise, before the level is followed
FORCED_PX = 1.2  # beyond the middle of the stroke all counts as ink, so that nothing leaks out
COARSE_PX = 250  # short side on which a region's deepest place is looked for
STRIP_PX = 256  # rows measured at a time
INNER, OUTER = 2, 3  # marks of the two sides of a stroke
_CROSS = np.array([[0, 1, 0], [1, 1, 1], [0, 1, 0]], np.uint8)
SHARE: dict[Edge, float] = {"inner": 0.0, "middle": 0.5, "outer": 1.0}  # of the ink's width


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokeEdge:
    """One side of a closed stroke.

    Parameters
    ----------
    points_px : ndarray, (N, 2)
        The edge, closed, open in the array, about 1 px apart, in the frame of the field.
    into_ink : ndarray, (N, 2)
        Unit normals that point into the ink.
    ink_width_px : ndarray, (N,)
        Width of the stroke, smoothed along it.
    slope : ndarray, (N,)
        Darkness per pixel across the edge.
    doubt_px : ndarray, (N,)
        One standard deviation of the edge, because a thin line does not show its full darkness.
    depth_px : ndarray, (N,)
        Distance of the edge from the middle of the stroke.
    """

    points_px: Points
    into_ink: Points
    ink_width_px: NDArray[np.float64]
    slope: NDArray[np.float64]
    doubt_px: NDArray[np.float64]
    depth_px: NDArray[np.float64]

    def side(self, edge: Edge) -> Points:
        """Return this side of the stroke, its middle or its other side."""
        return self.points_px + SHARE[edge] * self.ink_width_px[:, None] * self.into_ink

    def beyond_px(self, edge: Edge) -> float:
        """Return how far a side lies outside the inner one, at a usual place."""
        return SHARE[edge] * float(np.median(self.ink_width_px))

    def sigma_px(self, noise: float) -> NDArray[np.float64]:
        """Return one standard deviation of each point across the edge.

        Noise over the slope, the ink's roughness, and what a thin line's own width leaves open.
        """
        noisy = noise / self.slope
        return np.sqrt(ROUGHNESS_PX**2 + noisy**2 + self.doubt_px**2)


def stroke_edge(
    darkness: Field,
    filled: Mask,
    *,
    width_px: float,
    far: bool = False,
    mm_per_px: float | None = None,
) -> StrokeEdge | None:
    """Return the edge of the stroke round a region, on the region's side or the far one.

    Parameters
    ----------
    darkness : ndarray of float32, (h, w)
        0 on bare paper.
    filled : ndarray of bool, (h, w)
        The region up to about the middle of the stroke round it.
    width_px : float
        Roughly the stroke's width.
    far : bool
        Follow the outer side of the stroke instead.
    mm_per_px : float, optional
        Scale, so that what pens are like counts where blur hides a line's width.

    Returns
    -------
    StrokeEdge or None
        None if there is no closed edge.
    """
    near_side, far_side = _parted(darkness, filled, width_px)
    depth = _depth(far_side if far else near_side, max(width_px + 3.0, FORCED_PX))
    field = _only_this_stroke(darkness, depth, width_px)
    rim = (depth > 0) & (depth <= 1.5)
    full = float(np.median(cv2.dilate(field, np.ones((3, 3), np.uint8))[rim]))
    line = _closed_line(field, 0.5 * full, int(np.count_nonzero(~far_side)), far=far)
    if line is None:
        return None
    into_ink = _into_ink(line, far)
    level = stroke_light(_profiles(darkness, line, into_ink, width_px), mm_per_px=mm_per_px).level
    line = resampled(_on_level(field, line, into_ink, level), 1.0)
    into_ink = _into_ink(line, far)
    light = stroke_light(_profiles(darkness, line, into_ink, width_px), mm_per_px=mm_per_px)
    return StrokeEdge(
        points_px=line,
        into_ink=into_ink,
        ink_width_px=light.width_px,
        slope=light.slope,
        doubt_px=light.doubt_px,
        depth_px=sampled(depth, line),
    )


def _into_ink(line: Points, far: bool) -> Points:
    return (-1.0 if far else 1.0) * ring_normals(line)


def _parted(darkness: Field, filled: Mask, width_px: float) -> tuple[Mask, Mask]:
    """Return what lies on either side of the middle of a stroke.

    The middle found on a coarser picture is off by a pixel, too much for a thin stroke: the
    stroke is thinned again at full size.  Where it is too faint for that, the given one serves.
    """
    near, rim = (_beside_rim(filled, reach) for reach in (width_px + 2.0, 1.0))
    full = float(np.quantile(darkness[near], 0.9))
    stroke = near & (darkness > 0.5 * full)
    deepest = _deepest(filled)
    for ink in (stroke, stroke | rim):
        sides = np.asarray(~without_loose_ends(thinned(ink)), np.uint8)
        if sides[deepest[::-1]]:
            cv2.floodFill(sides, None, deepest, INNER, flags=4)
            if sides[0, 0] != INNER:
                cv2.floodFill(sides, None, (0, 0), OUTER, flags=4)
                return sides == INNER, sides == OUTER
    return filled, ~filled


def _beside_rim(filled: Mask, reach: float) -> Mask:
    """Return what lies within reach of a region's rim, to about a pixel."""
    rims, _ = cv2.findContours(filled.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_TC89_L1)
    near = np.zeros(filled.shape, np.uint8)
    cv2.polylines(near, rims, isClosed=True, color=1, thickness=2 * round(reach) + 1)
    return near > 0


def _deepest(filled: Mask) -> tuple[int, int]:
    """Return about the place, x and y, that lies deepest within a region."""
    step = max(1, min(filled.shape) // COARSE_PX)
    some = np.pad(filled[::step, ::step], 1).astype(np.uint8)
    depth = cv2.distanceTransform(some, cv2.DIST_L2, cv2.DIST_MASK_3)[1:-1, 1:-1]
    y, x = np.unravel_index(int(depth.argmax()), depth.shape)
    return int(x) * step, int(y) * step


def _depth(filled: Mask, reach_px: float) -> Field:
    """Return the distance into the region, px; negative outside.  Good to a few hundredths.

    Beyond `reach_px` it may be too large: strips do not see each other farther than that.
    """
    region = filled.astype(np.uint8)
    off_rim = cv2.compare(cv2.erode(region, _CROSS), region, cv2.CMP_EQ)
    depth = np.empty(filled.shape, np.float32)
    more = math.ceil(reach_px) + 2

    def measure(top: int) -> None:
        above = min(top, more)
        rows = slice(top, top + STRIP_PX)
        near = off_rim[top - above : top + STRIP_PX + more]
        part = cv2.distanceTransform(near, cv2.DIST_L2, cv2.DIST_MASK_5)[above : above + STRIP_PX]
        np.negative(part, out=part, where=~filled[rows])
        np.add(part, np.float32(0.5), out=depth[rows])

    each(measure, range(0, len(filled), STRIP_PX))
    return depth


def _only_this_stroke(darkness: Field, depth: Field, width_px: float) -> Field:
    """Return the darkness with other ink within the region taken away, all beyond it dark."""
    field = cv2.GaussianBlur(darkness, (0, 0), SMOOTH_PX)
    field[depth > width_px + 3.0] = 0.0
    field[depth < -FORCED_PX] = 1.0
    return np.asarray(field, np.float32)


def _closed_line(field: Field, level: float, area: int, *, far: bool) -> Points | None:
    """Return the line at a level next to the middle of the stroke, which encloses `area`, at 1 px.

    The rim of the pixels on one side of the level, moved onto it.
    """
    inside = (field > level) == far
    rims, _ = cv2.findContours(inside.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    sizes = np.array([cv2.contourArea(rim) for rim in rims])
    fitting = np.flatnonzero(sizes >= area if far else sizes <= area)
    if not len(fitting):
        return None
    line = rims[fitting[np.argmin(np.abs(sizes[fitting] - area))]].reshape(-1, 2).astype(float)
    if len(line) < LEAST_LINE_PX:
        return None
    return resampled(_on_level(field, line, _into_ink(line, far), level), 1.0)


def _on_level(
    field: Field, line: Points, into_ink: Points, level: float | NDArray[np.float64]
) -> Points:
    """Return a line moved across itself to where the field rises through a level, (N,) or one.

    The nearest such place counts; where there is none the line stays.
    """
    across = np.arange(-SEARCH_PX, SEARCH_PX + STEP_PX, STEP_PX)
    above = across_ring(field, line, into_ink, across) - np.reshape(level, (-1, 1))
    before, after = above[:, :-1], above[:, 1:]
    rises = (before <= 0.0) & (after > 0.0)
    moves = across[:-1] + STEP_PX * before / np.where(rises, before - after, -1.0)
    moves = np.where(rises, moves, np.inf)
    nearest = np.abs(moves).argmin(axis=1)
    move = moves[np.arange(len(line)), nearest]
    return np.asarray(line + np.where(np.isfinite(move), move, 0.0)[:, None] * into_ink)


def _profiles(
    darkness: Field, line: Points, into_ink: Points, width_px: float
) -> NDArray[np.float64]:
    """Return darkness across the stroke, averaged along it: (N, T), from 4 px before the edge."""
    across = np.arange(-BEFORE_PX, 2.0 * width_px + 5.0, STEP_PX)
    return smoothed_ring(across_ring(darkness, line, into_ink, across), WINDOW_PX)

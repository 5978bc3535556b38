"""The edge of a stroke to a fraction of a pixel.

The edge lies where the light is halfway between the paper and the ink beside it.  A line only a
few pixels wide never shows its full darkness through the blur of lens and sensor, so half of what
it shows lies too far out.  Blur keeps the amount of ink: from the height and the area of the
stroke's profile and the blur, the line's true width and darkness follow, and with them the level.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import contourpy
import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.levels import BEFORE_PX, STEP_PX, stroke_light
from calibration.rings import (
    resampled,
    ring_area,
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
LEVEL_CELL_PX = 8  # of the map that carries the level from the edge to the picture
SMOOTH_PX = 0.7  # blur against noise, before the level is followed
FORCED_PX = 1.2  # beyond the middle of the stroke all counts as ink, so that nothing leaks out


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
    level_px : ndarray, (N,)
        How far the edge was moved because the line is too thin to show its full darkness.
    depth_px : ndarray, (N,)
        Distance of the edge from the middle of the stroke.
    """

    points_px: Points
    into_ink: Points
    ink_width_px: NDArray[np.float64]
    slope: NDArray[np.float64]
    level_px: NDArray[np.float64]
    depth_px: NDArray[np.float64]

    def side(self, edge: Edge) -> Points:
        """Return this side of the stroke, its middle or its other side."""
        share = {"inner": 0.0, "middle": 0.5, "outer": 1.0}[edge]
        return self.points_px + share * self.ink_width_px[:, None] * self.into_ink

    def sigma_px(self, noise: float) -> NDArray[np.float64]:
        """Return one standard deviation of each point across the edge.

        Noise over the slope, the ink's roughness, and half of what a thin line was corrected by.
        """
        noisy = noise / self.slope
        return np.sqrt(ROUGHNESS_PX**2 + noisy**2 + (0.5 * self.level_px) ** 2)


def stroke_edge(
    darkness: Field, filled: Mask, *, width_px: float, far: bool = False
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

    Returns
    -------
    StrokeEdge or None
        None if there is no closed edge.
    """
    near_side, far_side = _parted(darkness, filled, width_px)
    depth = _depth(far_side if far else near_side)
    field = _only_this_stroke(darkness, depth, width_px)
    rim = (depth > 0) & (depth <= 1.5)
    full = float(np.median(cv2.dilate(field, np.ones((3, 3), np.uint8))[rim]))
    area = int(np.count_nonzero(~far_side))
    line = _closed_line(field - 0.5 * full, area, far=far)
    if line is None or len(line) < 12:
        return None
    profile = _profiles(darkness, line, (-1.0 if far else 1.0) * ring_normals(line), width_px)
    levels = _spread(stroke_light(profile).level, line, (field.shape[0], field.shape[1]))
    again = _closed_line(field - levels, area, far=far)
    line = line if again is None or len(again) < 12 else again
    into_ink = (-1.0 if far else 1.0) * ring_normals(line)
    profile = _profiles(darkness, line, into_ink, width_px)
    light = stroke_light(profile)
    return StrokeEdge(
        points_px=line,
        into_ink=into_ink,
        ink_width_px=light.width_px,
        slope=light.slope,
        level_px=light.doubt_px,
        depth_px=sampled(depth, line),
    )


def _parted(darkness: Field, filled: Mask, width_px: float) -> tuple[Mask, Mask]:
    """Return what lies on either side of the middle of a stroke.

    The middle found on a coarser picture is off by a pixel, too much for a thin stroke: the
    stroke is thinned again at full size.  Where it is too faint for that, the given one serves.
    """
    depth = _depth(filled)
    near = np.abs(depth) < width_px + 2.0
    full = float(np.quantile(darkness[near], 0.9))
    stroke = near & (darkness > 0.5 * full)
    for ink in (stroke, stroke | (np.abs(depth) < 1.0)):
        lines = without_loose_ends(thinned(ink))
        _, labels = cv2.connectedComponents((~lines).astype(np.uint8), connectivity=4)
        inner = int(labels[np.unravel_index(int(depth.argmax()), depth.shape)])
        if inner not in (0, int(labels[0, 0])):
            return labels == inner, labels == labels[0, 0]
    return filled, ~filled


def _depth(filled: Mask) -> Field:
    """Return the distance into the region, px; negative outside."""
    inner = cv2.distanceTransform(filled.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    outer = cv2.distanceTransform((~filled).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return np.asarray(np.where(filled, inner - 0.5, 0.5 - outer), np.float32)


def _only_this_stroke(darkness: Field, depth: Field, width_px: float) -> Field:
    """Return the darkness with other ink within the region taken away, all beyond it dark."""
    field = cv2.GaussianBlur(darkness, (0, 0), SMOOTH_PX)
    field[depth > width_px + 3.0] = 0.0
    field[depth < -FORCED_PX] = 1.0
    return np.asarray(field, np.float32)


def _closed_line(above: Field, area: int, *, far: bool) -> Points | None:
    """Return the zero line next to the middle of the stroke, which encloses `area`, at 1 px."""
    generator = contourpy.contour_generator(z=above, name="serial")
    lines = [np.asarray(each) for each in generator.lines(0.0)]
    closed = [each[:-1] for each in lines if len(each) > 12 and np.allclose(each[0], each[-1])]
    sizes = np.array([abs(ring_area(each)) for each in closed])
    fitting = np.flatnonzero(sizes >= area if far else sizes <= area)
    if not len(fitting):
        return None
    nearest = fitting[np.argmin(np.abs(sizes[fitting] - area))]
    return resampled(closed[nearest], 1.0)


def _profiles(
    darkness: Field, line: Points, into_ink: Points, width_px: float
) -> NDArray[np.float64]:
    """Return darkness across the stroke, averaged along it: (N, T), from 4 px before the edge."""
    across = np.arange(-BEFORE_PX, 2.0 * width_px + 5.0, STEP_PX)
    places = line[:, None, :] + across[None, :, None] * into_ink[:, None, :]
    return smoothed_ring(sampled(darkness, places), WINDOW_PX)


def _spread(values: NDArray[np.float64], line: Points, shape: tuple[int, int]) -> Field:
    """Return a map of values that are known along a line: near it, those of the nearest part."""
    rows, columns = -(-shape[0] // LEVEL_CELL_PX), -(-shape[1] // LEVEL_CELL_PX)
    cells = np.clip((line / LEVEL_CELL_PX).astype(int), 0, [columns - 1, rows - 1])
    flat = cells[:, 1] * columns + cells[:, 0]
    total = np.bincount(flat, values, rows * columns).reshape(rows, columns)
    count = np.bincount(flat, np.ones(len(flat)), rows * columns).reshape(rows, columns)
    total = np.asarray(cv2.GaussianBlur(total, (0, 0), 1.5), np.float64)
    count = np.asarray(cv2.GaussianBlur(count, (0, 0), 1.5), np.float64)
    mean = float(values.mean())
    small = np.where(count > 1e-6, total / np.maximum(count, 1e-6), mean).astype(np.float32)
    large = cv2.resize(
        small, (columns * LEVEL_CELL_PX, rows * LEVEL_CELL_PX), interpolation=cv2.INTER_LINEAR
    )
    return np.asarray(large[: shape[0], : shape[1]], np.float32)

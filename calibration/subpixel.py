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

from calibration.rings import (
    median_along,
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
STEP_PX = 0.5  # along the profile across a stroke
WINDOW_PX = 25  # points along the edge over which profiles are averaged
LEVEL_CELL_PX = 8  # of the map that carries the level from the edge to the picture
SMOOTH_PX = 0.7  # blur against noise, before the level is followed
MAX_GAIN = 2.0  # of the darkness shown: a line that blur weakens more is not understood
HALO = -0.008  # of a stroke's darkness: paper beside it brighter than that was sharpened
ROUNDS, SHARPENED_ROUNDS = 3, 2
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
    level, _, _, _ = _levels(profile)
    levels = _spread(level, line, (field.shape[0], field.shape[1]))
    again = _closed_line(field - levels, area, far=far)
    line = line if again is None or len(again) < 12 else again
    into_ink = (-1.0 if far else 1.0) * ring_normals(line)
    profile = _profiles(darkness, line, into_ink, width_px)
    _, ink_width, slope, raised = _levels(profile)
    return StrokeEdge(
        points_px=line,
        into_ink=into_ink,
        ink_width_px=ink_width,
        slope=slope,
        level_px=raised / slope,
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
    across = np.arange(-4.0, 2.0 * width_px + 5.0, STEP_PX)
    places = line[:, None, :] + across[None, :, None] * into_ink[:, None, :]
    return smoothed_ring(sampled(darkness, places), WINDOW_PX)


def _levels(
    profile: NDArray[np.float64],
) -> tuple[Points, Points, Points, Points]:
    """Return along the ring: half level, stroke's width (px), slope, and how far it was raised."""
    paper = np.median(profile[:, : round(2.0 / STEP_PX)], axis=1)
    above = profile - paper[:, None]
    height, area, slope = _shape(above)
    beside = above[:, round(1.0 / STEP_PX) : round(3.5 / STEP_PX)].min(axis=1)
    sharpened = float(np.median(beside / np.maximum(height, 1e-6))) < HALO
    blur_px = _blur(height, area, slope, sharpened=sharpened)
    dark, width = _full_darkness(height, area, blur_px)
    level = median_along(paper + 0.5 * dark)
    raised = median_along(0.5 * (dark - height))
    return level, median_along(width), np.maximum(median_along(slope), 1e-3), raised


def _shape(
    profile: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return height, area (px) and steepest rise (per px) of the first stroke in each profile."""
    start = round(4.0 / STEP_PX)
    peak = start + np.argmax(
        profile[:, start:] >= 0.98 * profile[:, start:].max(axis=1)[:, None], axis=1
    )
    height = np.take_along_axis(profile, peak[:, None], axis=1)[:, 0]
    index = np.arange(profile.shape[1])[None, :]
    ended = (index > peak[:, None]) & (profile < 0.12 * height[:, None])
    stop = np.where(ended.any(axis=1), ended.argmax(axis=1), profile.shape[1])
    counted = np.where(index < stop[:, None], np.maximum(profile, 0.0), 0.0)
    rise = np.where(index[:, 1:] <= peak[:, None], np.diff(profile, axis=1), 0.0).max(axis=1)
    return height, counted.sum(axis=1) * STEP_PX, rise / STEP_PX


def _blur(
    height: NDArray[np.float64],
    area: NDArray[np.float64],
    slope: NDArray[np.float64],
    *,
    sharpened: bool,
) -> float:
    """Return the standard deviation of the blur, px, from the steepness of the edges.

    A box of width w and darkness D blurred by s rises by D / (sqrt(2 pi) s) per pixel at its
    edge.  D comes from height and area, given s; each round brings both nearer.  The light of a
    picture that was sharpened is no box blurred: the paper beside the line is too bright.  There
    the first two rounds serve, and more run away.
    """
    dark, blur_px = height, 1.0
    for _ in range(SHARPENED_ROUNDS if sharpened else ROUNDS):
        blur_px = float(np.median(dark / np.maximum(slope, 1e-6)) / np.sqrt(2.0 * np.pi))
        blur_px = float(np.clip(blur_px, 0.3, 6.0))
        dark = _full_darkness(height, area, blur_px)[0]
    return blur_px


def _full_darkness(
    height: NDArray[np.float64], area: NDArray[np.float64], blur_px: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the darkness that the stroke would show without blur, and its width, px."""
    width = _true_width(area / np.maximum(height, 1e-6), blur_px)
    dark = np.clip(area / np.maximum(width, 1e-6), height, MAX_GAIN * height)
    return dark, width


def _true_width(ratio: NDArray[np.float64], blur_px: float) -> NDArray[np.float64]:
    """Return the width of a box whose blurred profile has this ratio of area to height.

    area = D w, height = D erf(w / (2 sqrt(2) s)).
    """
    width = np.linspace(0.2, 12.0, 400) * blur_px
    box = width / (2.0 * np.sqrt(2.0) * blur_px)
    square = box**2
    # erf after Winitzki, A handy approximation for the error function and its inverse (2008)
    share = np.sqrt(1.0 - np.exp(-square * (4 / np.pi + 0.147 * square) / (1 + 0.147 * square)))
    return np.where(ratio > width[-1] / share[-1], ratio, np.interp(ratio, width / share, width))


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

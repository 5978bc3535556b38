"""The edge of the piece on the full picture: followed along its stroke, mended where that ends."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.gaps import Bridge
from calibration.ink import Ink
from calibration.lines import Lines
from calibration.regions import Region
from calibration.repair import repaired, stepped
from calibration.rings import median_along, smoothed_ring
from calibration.subpixel import Edge, StrokeEdge, stroke_edge

Points = NDArray[np.float64]

REACH_PX, REACH_WIDTHS = 24.0, 3.0  # to either side of the rough outline: what is looked at
SLIGHT_PX = 0.7  # farther than usual from the stroke's middle: beside a branch, a part of it
THERE_AND_BACK = 2.0  # times the way across; round a corner of 60 degrees it is that much
BRANCH_PX, BRANCH_WIDTHS = 2.0, 0.35  # farther by the larger of these: on a branch


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Followed:
    """A closed edge, open in the array, its uncertainty, how far outside the inner side it is."""

    points_px: Points
    sigma_px: NDArray[np.float64]
    beyond_px: float


def followed(
    ink: Ink,
    lines: Lines,
    region: Region,
    ways: list[Bridge],
    *,
    edge: Edge,
    mm_per_px: float | None = None,
) -> Followed | None:
    """Return the edge of a region, full picture's pixels, or None if no edge closes round it.

    Parameters
    ----------
    ink : Ink
        The full picture.
    lines : Lines
        Its lines.
    region : Region
        The piece, at working size.
    ways : list of Bridge
        Gaps in the stroke round it, at working size.
    edge : {"inner", "middle", "outer"}
        The side of the stroke to follow.
    mm_per_px : float, optional
        Scale of the full picture at the piece.
    """
    box, filled = lines.enlarged(region.filled, region.outline, ink.darkness.shape)
    outline = lines.to_full(np.vstack([region.outline, region.outline[:1]]))
    field = ink.darkness.along(outline, REACH_WIDTHS * lines.width_px + REACH_PX)
    corner = np.array([box[1].start, box[0].start], float)
    paths = [lines.to_full(way.path_px) - corner for way in ways]
    darkness = _inked_over(field[box].copy(), paths, lines.width_px)
    traced = stroke_edge(darkness, filled, width_px=lines.width_px, mm_per_px=mm_per_px)
    if traced is None:
        return None
    mended = repaired(traced.side(edge), _off_the_stroke(traced, paths, lines.width_px))
    sigma = np.hypot(traced.sigma_px(ink.noise)[mended.source], mended.doubt_px)
    return Followed(
        points_px=mended.points_px + corner, sigma_px=sigma, beyond_px=traced.beyond_px(edge)
    )


def bare_gaps(ink: Ink, lines: Lines, ways: list[Bridge]) -> list[Points]:
    """Return the parts of bridges that lie on bare paper, full picture's pixels.

    Thinning shortens a stroke by half its width at each end, so a bridge begins and ends on ink.
    """
    gaps = []
    for way in ways:
        path = stepped(lines.to_full(way.path_px))
        column, row = np.rint(path).astype(int).T
        last = np.array(ink.darkness.shape) - 1
        dark = ink.darkness.along(path, 1.0)[np.clip(row, 0, last[0]), np.clip(column, 0, last[1])]
        bare = np.flatnonzero(dark <= ink.threshold)
        if len(bare):
            gaps.append(path[bare[0] : bare[-1] + 1])
    return gaps


def _inked_over(
    darkness: NDArray[np.float32], ways: list[Points], width: float
) -> NDArray[np.float32]:
    """Return the darkness with the gaps drawn over, so that the edge stays closed."""
    for way in ways:
        cv2.polylines(
            darkness,
            [np.round(way).astype(np.int32)],
            isClosed=False,
            color=1.0,
            thickness=max(1, round(width)),
        )
    return darkness


def _off_the_stroke(traced: StrokeEdge, ways: list[Points], width: float) -> NDArray[np.bool_]:
    """Return which points of an edge lie on a branch of the stroke or in a gap."""
    excess = smoothed_ring(traced.depth_px, 3) - median_along(traced.depth_px)
    grow = max(2, round(0.3 * width))
    far = _held(excess > max(BRANCH_PX, BRANCH_WIDTHS * width), excess > SLIGHT_PX)
    bad = _grown(_there_and_back(far, traced.points_px), grow)
    for way in ways:
        bad |= _grown(_near(traced.points_px, way, width), grow + 2)
    return bad


def _near(points: Points, path: Points, reach: float) -> NDArray[np.bool_]:
    close = np.zeros(len(points), bool)
    for start, stop in itertools.pairwise(path):
        along = stop - start
        share = np.clip((points - start) @ along / max(float(along @ along), 1e-9), 0.0, 1.0)
        close |= np.hypot(*(points - start - share[:, None] * along).T) < reach
    return close


def _held(core: NDArray[np.bool_], loose: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the loose stretches of a ring that hold a core."""
    if not core.any() or loose.all():
        return core
    start = int(np.flatnonzero(~loose)[0])
    ring = np.roll(loose, -start)
    number = np.cumsum(np.diff(ring.astype(np.int8), prepend=0) == 1) * ring
    holding = np.unique(number[np.roll(core, -start)])
    return np.roll(np.isin(number, holding[holding > 0]), start)


def _there_and_back(flags: NDArray[np.bool_], points: Points) -> NDArray[np.bool_]:
    """Return the flagged stretches of a ring that go out along a branch and come back.

    The edge round a notch of the steel strays from the middle of the stroke too, but it does not
    return to where it left; what cannot be told from a notch is left: the piece is then too small.
    """
    if not flags.any() or flags.all():
        return flags
    start = int(np.flatnonzero(~flags)[0])
    ring, places = np.roll(flags, -start), np.roll(points, -start, axis=0)
    kept = np.zeros_like(ring)
    ends = np.flatnonzero(np.diff(ring.astype(np.int8), prepend=0, append=0))
    for first, stop in ends.reshape(-1, 2):
        apart = math.dist(places[first - 1], places[stop % len(places)])
        kept[first:stop] = stop - first > THERE_AND_BACK * apart
    return np.roll(kept, start)


def _grown(flags: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    kernel = np.ones((1, 2 * reach + 1), np.uint8)
    ring = np.concatenate([flags[-reach:], flags, flags[:reach]]).astype(np.uint8)
    return cv2.dilate(ring[None, :], kernel)[0, reach:-reach] > 0

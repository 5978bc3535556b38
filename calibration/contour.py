"""The steel's edge from the trace drawn round it, with no clicks.

Strokes are thinned, dead ends (overruns, writing) eaten away, and the largest region that is left
enclosed is the piece.  Its edge is then followed on the full picture at the half level of the ink.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.errors import PhotoError
from calibration.gaps import Bridge, bridges, drawn
from calibration.holes import drilled_holes
from calibration.ink import Ink
from calibration.photo import Photo
from calibration.regions import Region, piece_region
from calibration.repair import repaired
from calibration.rings import median_along, smoothed_ring
from calibration.subpixel import StrokeEdge, stroke_edge
from calibration.thinning import Mask, thinned

Points = NDArray[np.float64]
Edge = Literal["inner", "middle", "outer"]

WORK_PX = 2000  # long side of the picture on which strokes are thinned
MAX_GAP_MM = 5.0
GAP_WIDTHS = 9.0  # of the stroke's width, where millimetres are not known yet
SLIGHT_PX = 0.7  # farther than usual from the stroke's middle: beside a branch, a part of it
LEAST_SIGMA_PX = 0.15  # roughness of ink on paper, whatever the noise


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contour:
    """The steel's edge in the picture.

    Parameters
    ----------
    outer_px : ndarray, (N, 2)
        The closed edge, open in the array, about 1 px apart.
    holes_px : tuple of ndarray, each (M, 2)
        Drilled holes.
    bridges_px : tuple of ndarray, each (K, 2)
        Gaps in the trace and the way taken over them.
    sigma_px : ndarray, (N,)
        One standard deviation across the edge at each point of `outer_px`.
    hole_sigma_px : tuple of ndarray
        The same for the holes.
    notes : tuple of str
        What the maker should know.
    """

    outer_px: Points
    holes_px: tuple[Points, ...]
    bridges_px: tuple[Points, ...]
    sigma_px: NDArray[np.float64]
    hole_sigma_px: tuple[NDArray[np.float64], ...]
    notes: tuple[str, ...]


def find_contour(
    photo: Photo,
    ink: Ink,
    *,
    inside_px: tuple[float, float] | None = None,
    edge: Edge = "inner",
    avoid_px: Sequence[Points] = (),
    mm_per_px: float | None = None,
) -> Contour:
    """Return the edge of the traced piece.

    Parameters
    ----------
    photo : Photo
        The upright picture.
    ink : Ink
        Its ink.
    inside_px : tuple of float, optional
        A pixel within the piece; found if left out.
    edge : {"inner", "middle", "outer"}
        Which side of the stroke is the steel.
    avoid_px : sequence of ndarray, (N, 2)
        Lines and polygons of the references.
    mm_per_px : float, optional
        Scale at the piece, for the widest gap to bridge.

    Raises
    ------
    PhotoError
        If no closed trace is found.
    """
    factor = max(1, round(max(ink.mask.shape) / WORK_PX))
    mask = _shrunk(ink.mask, factor)
    lines = thinned(mask)
    width = float(mask.sum() / max(1, lines.sum()))
    gap = GAP_WIDTHS * width if mm_per_px is None else MAX_GAP_MM / mm_per_px / factor
    finder = _Finder(
        sheet_area=float(ink.sheet.sum()) / factor**2,
        inside=None if inside_px is None else _shrunk_point(inside_px, factor),
        avoid=tuple((np.asarray(each) + 0.5) / factor - 0.5 for each in avoid_px),
    )
    region, used = _closed(lines, finder, gap_px=gap, width_px=width)
    if region is None:
        raise _no_trace(ink, inside_px)
    return _measured(ink, mask, lines, region, used, factor=factor, width=width, edge=edge)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Finder:
    """What does not change while gaps are tried."""

    sheet_area: float
    inside: tuple[int, int] | None
    avoid: tuple[Points, ...]

    def __call__(self, lines: Mask) -> Region | None:
        return piece_region(lines, sheet_area=self.sheet_area, inside=self.inside, avoid=self.avoid)


def _shrunk(mask: Mask, factor: int) -> Mask:
    """Return a mask at a fraction of its size; a cell with any ink is ink."""
    if factor == 1:
        return mask
    kernel = np.ones((factor, factor), np.uint8)
    wide = cv2.dilate(mask.astype(np.uint8), kernel, anchor=(0, 0))
    rows, columns = (size // factor * factor for size in mask.shape)
    return np.ascontiguousarray(wide[:rows:factor, :columns:factor] > 0)


def _shrunk_point(point: tuple[float, float], factor: int) -> tuple[int, int]:
    return int((point[0] + 0.5) // factor), int((point[1] + 0.5) // factor)


def _closed(
    lines: Mask, finder: _Finder, *, gap_px: float, width_px: float
) -> tuple[Region | None, list[Bridge]]:
    """Return the piece's region and the bridges it needs."""
    whole = finder(lines)
    ways = bridges(lines, gap_px=gap_px, width_px=width_px)
    bridged = finder(drawn(lines, ways)) if ways else None
    if bridged is None or (whole is not None and bridged.area < 1.1 * whole.area):
        return whole, []
    return _with_few(lines, finder, ways, bridged)


def _with_few(
    lines: Mask, finder: _Finder, ways: list[Bridge], region: Region
) -> tuple[Region, list[Bridge]]:
    """Return the region with only the bridges without which it would be open."""
    rim = cv2.dilate(region.filled.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    rim &= cv2.erode(region.filled.astype(np.uint8), np.ones((5, 5), np.uint8)) == 0
    used = [way for way in ways if _touches(way, rim)]
    kept = list(used)
    for way in sorted(used, key=lambda each: -each.cost):
        fewer = [each for each in kept if each is not way]
        without = finder(drawn(lines, fewer))
        if without is not None and 0.9 * region.area < without.area:
            kept, region = fewer, without
    return region, kept


def _touches(way: Bridge, rim: Mask) -> bool:
    middle = np.round(way.path_px.mean(axis=0)).astype(int)
    return bool(rim[middle[1], middle[0]])


def _measured(
    ink: Ink,
    mask: Mask,
    lines: Mask,
    region: Region,
    used: list[Bridge],
    *,
    factor: int,
    width: float,
    edge: Edge,
) -> Contour:
    """Follow the edge of a region on the full picture."""
    full_width = width * factor
    box, filled = _full_size(region, ink.mask.shape, factor, margin=int(4 * full_width) + 16)
    corner = np.array([box[1].start, box[0].start], float)
    darkness = np.ascontiguousarray(ink.darkness[box])
    ways = [(way.path_px + 0.5) * factor - 0.5 - corner for way in used]
    darkness = _inked_over(darkness, ways, full_width)
    traced = stroke_edge(darkness, filled, width_px=full_width)
    if traced is None:
        raise _no_trace(ink, None)
    bad = _off_the_stroke(traced, ways, full_width)
    mended = repaired(_side(traced, edge), bad)
    sigma = np.hypot(_sigma(traced, ink.noise)[mended.source], mended.doubt_px)
    holes = drilled_holes(ink, mask, lines, region, factor=factor, width_px=full_width, edge=edge)
    return Contour(
        outer_px=mended.points_px + corner,
        holes_px=tuple(hole for hole, _ in holes),
        bridges_px=tuple(way + corner for way in ways),
        sigma_px=sigma,
        hole_sigma_px=tuple(each for _, each in holes),
        notes=(),
    )


def _full_size(
    region: Region, shape: tuple[int, ...], factor: int, margin: int
) -> tuple[tuple[slice, slice], Mask]:
    """Return the region on the full picture, in a box around it."""
    left, top = region.outline.min(axis=0) * factor - margin
    right, bottom = (region.outline.max(axis=0) + 1) * factor + margin
    box = (
        slice(max(0, int(top)), min(shape[0], int(bottom))),
        slice(max(0, int(left)), min(shape[1], int(right))),
    )
    rows = np.minimum(np.arange(box[0].start, box[0].stop) // factor, region.filled.shape[0] - 1)
    columns = np.minimum(np.arange(box[1].start, box[1].stop) // factor, region.filled.shape[1] - 1)
    return box, region.filled[np.ix_(rows, columns)]


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
    bad = _grown(_held(excess > max(2.0, 0.35 * width), excess > SLIGHT_PX), grow)
    for way in ways:
        bad |= _grown(_near(traced.points_px, way, 0.8 * width), grow + 2)
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


def _grown(flags: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    kernel = np.ones((1, 2 * reach + 1), np.uint8)
    ring = np.concatenate([flags[-reach:], flags, flags[:reach]]).astype(np.uint8)
    return cv2.dilate(ring[None, :], kernel)[0, reach:-reach] > 0


def _side(traced: StrokeEdge, edge: Edge) -> Points:
    """Return the asked side of the stroke."""
    share = {"inner": 0.0, "middle": 0.5, "outer": 1.0}[edge]
    return traced.points_px + share * traced.ink_width_px[:, None] * traced.into_ink


def _sigma(traced: StrokeEdge, noise: float) -> NDArray[np.float64]:
    """Return the uncertainty of each point: noise over the slope, and the ink's roughness."""
    return np.hypot(LEAST_SIGMA_PX, noise / traced.slope)


def _no_trace(ink: Ink, inside_px: tuple[float, float] | None) -> PhotoError:
    where = "Trace"
    if not ink.mask.any():
        return PhotoError(
            "no ink is seen on the sheet.",
            where=where,
            remedy="Trace the piece with a dark pen, and photograph it sharp and in even light.",
        )
    if inside_px is not None:
        x, y = inside_px
        return PhotoError(
            f"no closed trace surrounds the pixel {x:g},{y:g}.",
            where=where,
            remedy="Point inside the piece, on clear paper, or close the gap with a pen.",
        )
    return PhotoError(
        "no closed trace is seen on the sheet.",
        where=where,
        remedy=(
            "Close gaps with a pen, keep the whole trace on the sheet and in the picture, "
            "or point inside the piece with --inside X,Y."
        ),
    )

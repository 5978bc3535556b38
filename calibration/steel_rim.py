"""The rim of a piece of steel on paper, from its rough outline, to a fraction of a pixel.

Coming from the paper, the rim is the first place where the light changes sharply: a shadow's
change is wide, and a glint beside the rim is still a step away from the paper. Which of several
changes it is, all places along the rim decide together: it does not jump.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from calibration.rings import across_ring, median_along, ring_normals, smoothed_ring

Points = NDArray[np.float64]
Values = NDArray[np.float64]
Flags = NDArray[np.bool_]
Field = NDArray[np.float32]

STEP_PX = 0.5
SHARP_PX = 3.0  # to each side of an edge the light of a sharp one is even again
CRISP = 0.6  # share of an edge's slope that is gone there; of a shadow's less
LEAST_STEP = 0.2  # of the usual change of light across the edge: less is grain
SURE = 2.0  # times the least: such an edge is as good as any
RISING = 0.5  # of it: a lesser rise is a camera's halo
GRAINS = 3.5  # times the grain of the paper, one standard deviation
APART = 8  # points along the rim: between them shadows hardly change, the grain does
BARE_PX = 4.0  # of the search, at its outer end, that is paper for certain
EVERY = 2  # points along the rim at which the way is decided
JUMP = 0.25  # cost of a step of half a pixel between them, in usual edges
FARTHEST = 3  # such steps at once
SHIFTS = np.arange(-FARTHEST, FARTHEST + 1)
DEAR = 1e9  # what no way costs
PASSED = 1.2  # cost of an edge that is passed on the way in, in its own strength
STRAY_PX = 2.0  # from the run of its stretch: a place farther off has caught something else
NEAR_PX = 2.5  # of the way that was decided: farther off an edge is another one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rim:
    """An outline moved onto the rim.

    Parameters
    ----------
    points_px : ndarray, (N, 2)
    slope : ndarray, (N,)
        Of the light there, its share of the paper's a pixel.
    unseen : ndarray of bool, (N,)
        Where no edge was found.
    grain : float
        Usual change of the light on the paper, in the same unit as the slope.
    """

    points_px: Points
    slope: Values
    unseen: Flags
    grain: float


def snapped(
    share: Field, line: Points, *, outer_px: float, inner_px: float, grain: float | None = None
) -> Rim:
    """Return a rough outline, at steps of 1 px, moved onto the rim.

    Parameters
    ----------
    share : ndarray, (h, w)
        Light over that of bare paper.
    line : ndarray, (N, 2)
        The outline.
    outer_px, inner_px : float
        How far out, and in, the rim may lie from it.
    grain : float, optional
        Of the paper, where it is known; else the outer end of the search tells it.
    """
    outward = ring_normals(line, reach=5)
    across = np.arange(outer_px, -inner_px - STEP_PX, -STEP_PX)  # from the paper inward
    fall = _falls(share, line, outward, across)
    if grain is None:
        bare = fall[:, : round(BARE_PX / STEP_PX)]
        grain = float(np.median(np.abs(bare - np.roll(bare, APART, axis=0)))) / 0.6745 / 2**0.5
    steep = _steep(fall, grain)
    middle = np.full(len(line), round(outer_px / STEP_PX) - 1)
    way = middle if outer_px <= NEAR_PX else _way(_thinned(steep, fall))
    peak = steep * _is_peak(np.abs(fall))
    off = np.abs(np.arange(fall.shape[1]) - way[:, None]) * STEP_PX
    near = np.where((peak > 0) & (off <= NEAR_PX), peak - 0.1 * off, -np.inf)
    index = np.clip(np.argmax(near, axis=1), 1, fall.shape[1] - 2)
    unseen = ~np.isfinite(near.max(axis=1))
    row = np.arange(len(line))
    before, here, after = (np.abs(fall[row, index + k]) for k in (-1, 0, 1))
    bend = np.minimum(before - 2.0 * here + after, -1e-9)
    move = across[index + 1] - STEP_PX * np.clip(0.5 * (before - after) / bend, -0.5, 0.5)
    unseen |= np.abs(move - median_along(move)) > STRAY_PX
    unseen = _closed_up(unseen)
    move = np.where(unseen, across[way.astype(np.intp) + 1], move)
    return Rim(points_px=line + move[:, None] * outward, slope=here, unseen=unseen, grain=grain)


def sharpest(share: Field, line: Points, outward: Points, reach_px: float) -> Values:
    """Return how sharply the light changes at most across each point of a line, either way.

    Parameters
    ----------
    share : ndarray, (h, w)
        Light over that of bare paper.
    line, outward : ndarray, (N, 2)
        The line's points, 1 px apart, and its unit normals.
    reach_px : float
        How far to either side an edge may lie.

    Returns
    -------
    ndarray, (N,)
        Share of the paper's light a pixel, less what is left of it beside the edge.
    """
    end = reach_px + SHARP_PX
    fall = _falls(share, line, outward, np.arange(end + STEP_PX, -end - 1.5 * STEP_PX, -STEP_PX))
    beside = round(SHARP_PX / STEP_PX)
    return np.asarray(_sharp(fall)[:, beside:-beside].max(axis=1), float)


def _falls(share: Field, line: Points, outward: Points, across: Values) -> Values:
    """Return how fast the light falls inward at the steps across a line, its two ends left out."""
    profile = smoothed_ring(across_ring(share, line, outward, across), 3)
    return np.asarray((profile[:, :-2] - profile[:, 2:]) / (2.0 * STEP_PX), float)


def _sharp(fall: Values) -> Values:
    """Return the part of each change that is gone a little to either side: a shadow's goes on."""
    strength = np.abs(fall)
    both = np.minimum(_shifted(fall, SHARP_PX), _shifted(fall, -SHARP_PX))
    rise = np.minimum(_shifted(-fall, SHARP_PX), _shifted(-fall, -SHARP_PX))
    still = np.maximum(np.where(fall > 0, both, rise), 0.0)
    return np.asarray(strength - np.minimum(still, strength), float)


def _steep(fall: Values, grain: float) -> Values:
    """Return how sure a sharp edge each place is, 0 to 1; 0 if there is none."""
    strength, sharp = np.abs(fall), _sharp(fall)
    best = np.argmax(sharp, axis=1)[:, None]
    crisp = sharp / np.maximum(strength, 1e-9)
    usual_crisp = float(np.median(np.take_along_axis(crisp, best, axis=1)))
    usual = median_along(sharp.max(axis=1))[:, None]
    least = np.maximum(np.where(fall > 0, LEAST_STEP, RISING) * usual, GRAINS * grain)
    seen = (sharp >= least) & (crisp >= min(CRISP, 0.85 * usual_crisp))
    return np.where(seen, np.minimum(sharp / np.maximum(SURE * least, 1e-9), 1.0), 0.0)


def _thinned(steep: Values, fall: Values) -> Values:
    """Return the edges' strengths at their peaks and one place to each side alone."""
    peak = steep * _is_peak(np.abs(fall))
    wide = peak.copy()
    wide[:, 1:] = np.maximum(wide[:, 1:], 0.8 * peak[:, :-1])
    wide[:, :-1] = np.maximum(wide[:, :-1], 0.8 * peak[:, 1:])
    return wide


def _is_peak(strength: Values) -> Flags:
    peak = np.zeros(strength.shape, bool)
    here = strength[:, 1:-1]
    peak[:, 1:-1] = (here >= strength[:, :-2]) & (here > strength[:, 2:])
    return peak


def _way(edges: Values) -> NDArray[np.intp]:
    """Return which place across the rim each point of it takes: the way of least cost round it."""
    cost = PASSED * _passed(edges) - edges
    cost = smoothed_ring(cost, 2 * EVERY + 1)
    start = int(np.argmin(cost.min(axis=1)))
    rows = (start + np.arange(0, len(cost), EVERY)) % len(cost)
    first = int(np.argmin(cost[start]))
    chosen = _cheapest(cost[rows], first)
    along = np.append(np.arange(0, len(cost), EVERY), len(cost))
    way = np.interp(np.arange(len(cost)), along, np.append(chosen, chosen[0]))
    return np.roll(np.rint(way).astype(np.intp), start)


def _passed(edges: Values) -> Values:
    """Return the strongest edge that is passed on the way to each place from the paper."""
    gap = round(SHARP_PX / STEP_PX) // 2
    before = np.maximum.accumulate(edges, axis=1)
    passed = np.zeros_like(edges)
    passed[:, gap:] = before[:, :-gap]
    return passed


def _cheapest(cost: Values, first: int) -> NDArray[np.intp]:
    """Return the way of least cost through a ring of rows that takes one place in the first row.

    From there it goes both ways round at once, to where they meet.
    """
    count, width = cost.shape
    half = count // 2
    forth, back = cost[1 : half + 1], cost[:half:-1]
    if len(back) < half:  # the way back waits a row
        back = np.concatenate([np.where(np.arange(width) == first, 0.0, DEAR)[None], back])
    rows = np.stack([forth, back], axis=1)
    totals = np.full((half + 1, 2, width + 2 * FARTHEST), DEAR)
    totals[0, :, first + FARTHEST] = 0.0
    steps = np.moveaxis(sliding_window_view(totals, width, axis=2), 2, 0)
    extra = JUMP * np.abs(SHIFTS)[:, None, None]
    each = np.empty((len(SHIFTS), 2, width))
    for row, here in enumerate(totals[1:, :, FARTHEST:-FARTHEST]):
        np.add(steps[:, row], extra, out=each).min(axis=0, out=here)
        here += rows[row]
    meeting = steps[:, -1, 1] + extra[:, 0] + totals[-1, 0, FARTHEST:-FARTHEST]
    shift, end = np.unravel_index(int(meeting.argmin()), meeting.shape)
    came = _came(steps[:, :-1], extra)
    ways = [_back(came[::-1, 0], int(end)), _back(came[::-1, 1], int(end + SHIFTS[shift]))]
    return np.array(ways[0][::-1] + ways[1][: count - 1 - half], np.intp)


def _came(steps: Values, extra: Values) -> NDArray[np.int8]:
    """Return by which shift the cheapest step to each place came: (shifts, ...) to (...)."""
    low, came = steps[0] + extra[0], np.full(steps.shape[1:], SHIFTS[0], np.int8)
    for step, more, shift in zip(steps[1:], extra[1:], SHIFTS[1:], strict=True):
        each = step + more
        came[each < low] = shift
        np.minimum(low, each, out=low)
    return came


def _back(came: NDArray[np.int8], end: int) -> list[int]:
    """Return the places of a way from its end back to where it set out."""
    way = [end]
    for row in came:
        way.append(way[-1] + int(row[way[-1]]))
    return way


def _shifted(profile: Values, by_px: float) -> Values:
    """Return profiles moved along themselves, their ends carried on."""
    index = np.arange(profile.shape[1]) - round(by_px / STEP_PX)
    return np.asarray(profile[:, np.clip(index, 0, profile.shape[1] - 1)])


def _closed_up(flags: Flags, reach: int = 4) -> Flags:
    """Return flags along a ring with short pauses between them filled."""
    ring = np.concatenate([flags[-2 * reach :], flags, flags[: 2 * reach]]).astype(np.uint8)
    kernel = np.ones((1, 2 * reach + 1), np.uint8)
    return np.asarray(
        cv2.morphologyEx(ring[None], cv2.MORPH_CLOSE, kernel)[0, 2 * reach : -2 * reach] > 0
    )

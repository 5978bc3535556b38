"""Finding the drawn reference line: straight strokes among all the ink, likeliest first.

Straight runs of ink are pulled out of the cells and measured at full size.  A
reference line stands by itself: it has ticks across its ends, or nothing; no long ink goes on
from there.  The sides of a trace, the rules of the paper and the marks of a steel scale do not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.light import LIGHT
from calibration.photo import Photo
from calibration.profiles import SEED, line_through
from calibration.rings import sampled
from calibration.stroke_fit import Stroke, fit_stroke

Points = NDArray[np.float64]

MIN_RUN = 0.03  # of the long side; a shorter line gives no scale worth having
MAX_GAP_PX = 9.0  # of the picture of cells, in a run: pens skip
TRIED = 3000  # pixels of a patch of ink that a run is told by
COUNTED = 1000  # of them tell which pairs lie on a run
PAIRS = 250  # of them tried per run
LOOKED_AT = 8000  # pixels of a patch, evenly, of which runs are made: of a texture's plenty
MAX_RUNS = 14  # per patch of ink: more is no drawing of lines
MAX_PATCHES = 40
MAX_INK_PX = 120_000  # of one patch on the cells; more is a texture, not a drawing
WIDEST_PX = 17  # of the picture of cells: broader than any pen
GOOD = 0.0  # the score above which a stroke may be the reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A straight stroke and how likely it is the drawn reference.

    Parameters
    ----------
    stroke : Stroke
    joined : (bool, bool)
        Whether long ink other than the stroke goes on from each end.
    score : float
        Higher is likelier; below `GOOD` it is something else.
    """

    stroke: Stroke
    joined: tuple[bool, bool]
    score: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """A straight run of ink on the cells."""

    ends: Points
    width: float
    joined: tuple[bool, bool]


def find_strokes(photo: Photo, ink: Ink, *, apart: bool = False) -> tuple[Candidate, ...]:
    """Return the straight strokes of a sheet, likeliest reference first.

    Parameters
    ----------
    photo : Photo
    ink : Ink
        Of the same photo.
    apart : bool
        Whether only a line that stands apart is asked for: strokes that other ink goes on from at
        both ends, which never score `GOOD`, are then left out.
    """
    strokes: list[tuple[Stroke, tuple[bool, bool]]] = []
    shades: list[float] = []
    for patch in _patches(ink.mask.view(np.uint8)):
        for run in _runs(patch, MIN_RUN * max(ink.mask.shape)):
            ends = (run.ends + 0.5) * ink.cell_px - 0.5
            width_px = max(1.5, run.width * ink.cell_px)
            if apart and all(run.joined):
                shades.append(_shade(ink, ends, width_px))
                continue
            stroke = fit_stroke(ink.darkness, ends, width_px)
            if stroke is not None and not _known(stroke, [other for other, _ in strokes]):
                strokes.append((stroke, run.joined))
    if not strokes:
        return ()
    usual = float(np.quantile([*(s.darkness for s, _ in strokes), *shades], 0.75))
    found = [
        Candidate(stroke=s, joined=j, score=_marks(s, j, usual) + _surroundings(photo, ink, s))
        for s, j in strokes
    ]
    return tuple(sorted(found, key=lambda c: -c.score))


def _shade(ink: Ink, ends_px: Points, width_px: float) -> float:
    """Return roughly how dark a stroke between two places of the photo is."""
    a, b = ink.darkness.own(ends_px)
    across = np.array([a[1] - b[1], b[0] - a[0]]) / math.dist(a, b)
    reach = width_px / ink.darkness.pitch
    ways = a + np.linspace(0.1, 0.9, 40)[:, None, None] * (b - a)
    places = ways + np.linspace(-reach, reach, 13)[None, :, None] * across
    field = ink.darkness.along(np.array([a, b]), reach)
    return float(np.median(sampled(field, places).max(axis=1)))


def _patches(mask: NDArray[np.uint8]) -> list[Points]:
    """Return the pixels (x, y) of each large connected patch of ink, gaps bridged for it."""
    insides = np.asarray(cv2.erode(mask, np.ones((WIDEST_PX, WIDEST_PX), np.uint8)), np.uint8)
    lines = mask - insides  # no line is as wide as a blob
    ink = np.asarray(cv2.findNonZero(lines) if lines.any() else [], np.intp).reshape(-1, 2)
    coarse = np.zeros((mask.shape[0] // 2 + 1, mask.shape[1] // 2 + 1), np.uint8)
    coarse[ink[:, 1] // 2, ink[:, 0] // 2] = 1
    joined = cv2.morphologyEx(coarse, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(joined, connectivity=8)
    spans = 2.0 * np.hypot(stats[1:, cv2.CC_STAT_WIDTH], stats[1:, cv2.CC_STAT_HEIGHT])
    large = 1 + np.flatnonzero(spans > MIN_RUN * max(mask.shape))
    large = large[np.argsort(-spans[large - 1])][:MAX_PATCHES]
    of = labels[ink[:, 1] // 2, ink[:, 0] // 2]
    parts = [ink[of == k] for k in large]
    return [part.astype(float) for part in parts if len(part) < MAX_INK_PX]


def _runs(ink: Points, least: float) -> list[_Run]:
    """Return the straight runs in a patch of ink, the longest ones first."""
    rng = np.random.default_rng(SEED)
    runs: list[_Run] = []
    every = max(1, len(ink) // LOOKED_AT)
    left = ink[::every]
    while len(runs) < MAX_RUNS and every * len(left) > least:
        found = _longest_run(left, least, rng)
        if found is None:
            break
        ends, near = found
        area = float(every * near.sum())
        width = max(1.0, area / math.dist(*ends))
        runs.append(_Run(ends=ends, width=width, joined=_joined(ink, ends, width)))
        left = left[~near]
    return runs


def _longest_run(
    ink: Points, least: float, rng: np.random.Generator
) -> tuple[Points, NDArray[np.bool_]] | None:
    """Return the ends of the longest straight run, and which pixels lie on it."""
    some = ink if len(ink) <= TRIED else ink[rng.choice(len(ink), TRIED, replace=False)]
    a, b = (some[rng.integers(0, len(some), 6 * PAIRS)] for _ in range(2))
    length = np.hypot(*(b - a).T)
    far = np.flatnonzero(length > 0.6 * least)[:PAIRS]
    if not len(far):
        return None
    normals = np.column_stack([a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]])[far] / length[far, None]
    offsets = (normals * a[far]).sum(axis=1)
    few = some[:: max(1, len(some) // COUNTED)].astype(np.float32)
    nx, ny, shift = np.column_stack([normals, offsets]).T.astype(np.float32)[:, :, None]
    apart = nx * few[:, 0]  # a product of matrices would wake threads for less than it is worth
    apart += ny * few[:, 1]
    apart -= shift
    counts = np.count_nonzero(np.abs(apart, out=apart) < 1.6, axis=1)
    best: tuple[float, Points] | None = None
    for k in np.argsort(-counts)[:6]:
        line = np.array([*normals[k], offsets[k]])
        for _ in range(2):
            close = some[np.abs(some @ line[:2] - line[2]) < 2.5]
            line = line_through(close)
        ends = _run_on(ink, line)
        if ends is not None and (best is None or math.dist(*ends) > best[0]):
            best = (math.dist(*ends), ends)
    if best is None or best[0] < least:
        return None
    ends = best[1]
    along = (ends[1] - ends[0]) / best[0]
    x, y = (ink - ends[0]).T
    way, across = x * along[0] + y * along[1], y * along[0] - x * along[1]
    near = (np.abs(across) < _half_width(across) + 1.2) & (way > -2) & (way < best[0] + 2)
    return ends, near


def _half_width(across: Points) -> float:
    """Return half the width of the ink about a line, from how its pixels spread."""
    close = np.abs(across[np.abs(across) < 8.0])
    return float(max(1.0, 2.0 * np.median(close[close < 4.0]))) if (close < 4.0).any() else 1.0


def _run_on(ink: Points, line: Points) -> Points | None:
    """Return the ends of the longest run along a line that no wide gap breaks."""
    on = ink[np.abs(ink[:, 0] * line[0] + ink[:, 1] * line[1] - line[2]) < 1.8]
    if len(on) < 10:
        return None
    along = np.array([-line[1], line[0]])
    way = np.sort(on @ along)
    breaks = np.flatnonzero(np.diff(way) > MAX_GAP_PX)
    starts = np.concatenate([[0], breaks + 1])
    stops = np.concatenate([breaks, [len(way) - 1]])
    k = int(np.argmax(way[stops] - way[starts]))
    foot = line[2] * line[:2]
    return np.array([foot + way[starts[k]] * along, foot + way[stops[k]] * along])


def _joined(ink: Points, ends: Points, width: float) -> tuple[bool, bool]:
    """Return whether ink goes on from each end, farther than a tick would reach."""
    length = math.dist(*ends)
    radius = 0.05 * length + 2.0 * width + 3.0
    answers = []
    for end, other in ((ends[0], ends[1]), (ends[1], ends[0])):
        away = (end - other) / length
        x, y = (np.abs(places - at) <= radius + 2.0 for places, at in zip(ink.T, end, strict=True))
        from_end = ink[x & y] - end
        reach = np.hypot(*from_end.T)
        ring = (reach >= radius) & (reach <= radius + 2.0)
        inward = from_end @ -away / np.maximum(reach, 1e-9)
        answers.append(bool((ring & (inward < 0.94)).sum() >= 2))
    return answers[0], answers[1]


def _known(stroke: Stroke, others: list[Stroke]) -> bool:
    """Return whether a stroke is another one found again, or a part of it."""
    ends = np.array(stroke.ends_px)
    for other in others:
        a, b = np.array(other.ends_px)
        length = math.dist(a, b)
        along = (b - a) / length
        way = (ends - a) @ along
        across = (ends - a) @ np.array([-along[1], along[0]])
        limit = other.width_px + 2.0
        if (np.abs(across) < limit).all() and (way > -limit).all() and (way < length + limit).all():
            return True
    return False


def _marks(stroke: Stroke, joined: tuple[bool, bool], usual: float) -> float:
    """Return how likely a stroke is a drawn reference by what it looks like itself.

    Ticks at both ends are the surest sign; ink that goes on from an end makes it a side of
    something; a hand without a straightedge, faint rules and broken lines speak against it.
    """
    ends = 0.0
    for tick, far in zip(stroke.ticks, joined, strict=True):
        if far:
            ends += -0.4 if tick else -1.2
        else:
            ends += 1.5 if tick else 0.3
    both = 1.0 if all(stroke.ticks) and not any(joined) else 0.0
    rough = stroke.rough_px / float(np.clip(stroke.width_px, 3.0, 6.0))
    wavy = -min(3.0, 25.0 * max(0.0, rough - 0.08))
    faint = -3.0 * max(0.0, 0.75 - stroke.darkness / max(usual, 1e-6))
    broken = -4.0 * max(0.0, 0.9 - stroke.covered)
    return ends + both + wavy + faint + broken


def _surroundings(photo: Photo, ink: Ink, stroke: Stroke) -> float:
    """Return what a stroke's surroundings add: length for it, crowding and unlike sides against.

    A pen's line has the same paper on both sides; the edge of a steel scale, a shadow or a
    crease has not.
    """
    length = 0.4 * math.log2(max(stroke.length_px, 1.0) / (0.1 * max(photo.rgb.shape[:2])))
    crowded = -3.0 * max(0.0, _crowd(ink, stroke) - 0.25)
    unlike = -8.0 * max(0.0, _unlike_sides(photo, stroke) - 0.08)
    return min(length, 0.6) + crowded + max(unlike, -4.0)


def _unlike_sides(photo: Photo, stroke: Stroke) -> float:
    """Return how much darker one side of a stroke is than the other, 0 (alike) to 1."""
    a, b = np.array(stroke.ends_px)
    across = np.array([a[1] - b[1], b[0] - a[0]]) / stroke.length_px
    ways = a + np.linspace(0.04, 0.96, 150)[:, None, None] * (b - a)
    depth = np.linspace(1.5 * stroke.width_px + 2.0, 3.0 * stroke.width_px + 4.0, 6)
    sides = []
    for sign in (1.0, -1.0):
        places = ways + sign * depth[None, :, None] * across
        low = np.maximum(np.floor(places.min(axis=(0, 1))).astype(int) - 1, 0)
        high = np.ceil(places.max(axis=(0, 1))).astype(int) + 2
        part = photo.rgb[low[1] : high[1], low[0] : high[0], 1]
        if not part.size:
            return 1.0
        light = LIGHT[part]
        sides.append(float(np.median(sampled(light, places - low).max(axis=1))))
    return 1.0 - min(sides) / max(*sides, 1e-6)


def _crowd(ink: Ink, stroke: Stroke) -> float:
    """Return the share of a stroke's length with other ink close beside it, the busier side."""
    a, b = np.array(stroke.ends_px)
    along = (b - a) / stroke.length_px
    across = np.array([-along[1], along[0]])
    ways = np.linspace(0.06, 0.94, 200)[:, None, None] * (b - a)
    depth = np.linspace(1.5 * stroke.width_px + 2.0, 5.0 * stroke.width_px + 4.0, 12)
    shares = []
    for sign in (1.0, -1.0):
        places = np.rint(ink.cells(a + ways + sign * depth[None, :, None] * across)).astype(int)
        x = np.clip(places[..., 0], 0, ink.mask.shape[1] - 1)
        y = np.clip(places[..., 1], 0, ink.mask.shape[0] - 1)
        shares.append(float(ink.mask[y, x].any(axis=1).mean()))
    return max(shares)

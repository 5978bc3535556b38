"""Straight runs of ink on the cells: roughly where strokes are, before any is measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.profiles import SEED, line_through

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
CLOSE_PX, CLOSE_WIDTHS = 10.0, 4.0  # between the ends of lines drawn to meet, in their widths
CORNER_DEG = 40.0  # between two such lines; of a rectangle photographed aslant 50 and more


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """A straight run of ink on the cells."""

    ends: Points
    width: float
    joined: tuple[bool, bool]


def patches(mask: NDArray[np.uint8]) -> list[Points]:
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


def runs_of(ink: Points, least: float) -> list[Run]:
    """Return the straight runs in a patch of ink, the longest ones first."""
    rng = np.random.default_rng(SEED)
    runs: list[Run] = []
    every = max(1, len(ink) // LOOKED_AT)
    left = ink[::every]
    most = 2 * MAX_RUNS // (every + 1)  # a texture is full of short ones
    while len(runs) < most and every * len(left) > least:
        found = _longest_run(left, least, rng)
        if found is None:
            break
        ends, near = found
        area = float(every * near.sum())
        width = max(1.0, area / math.dist(*ends))
        runs.append(Run(ends=ends, width=width, joined=_joined(ink, ends, width)))
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
    lines = np.column_stack([normals, (normals * a[far]).sum(axis=1)])
    best: tuple[float, Points] | None = None
    for line in lines[np.argsort(-_counts(some, lines))[:6]]:
        for _ in range(2):
            close = some[np.abs(some @ line[:2] - line[2]) < 2.5]
            line = line_through(close)
        ends = _run_on(ink, line)
        if ends is not None and (best is None or math.dist(*ends) > best[0]):
            best = (math.dist(*ends), ends)
    if best is None or best[0] < least:
        return None
    return best[1], _near(ink, best[1])


def _counts(some: Points, lines: Points) -> NDArray[np.intp]:
    """Return how many of some pixels lie on each line (nx, ny, offset), by a part of them."""
    few = some[:: max(1, len(some) // COUNTED)].astype(np.float32)
    nx, ny, shift = lines.T.astype(np.float32)[:, :, None]
    apart = nx * few[:, 0]  # a product of matrices would wake threads for less than it is worth
    apart += ny * few[:, 1]
    apart -= shift
    return np.asarray(np.count_nonzero(np.abs(apart, out=apart) < 1.6, axis=1), np.intp)


def _near(ink: Points, ends: Points) -> NDArray[np.bool_]:
    """Return which pixels lie on the run between two ends."""
    length = math.dist(*ends)
    along = (ends[1] - ends[0]) / length
    x, y = (ink - ends[0]).T
    way, across = x * along[0] + y * along[1], y * along[0] - x * along[1]
    near = (np.abs(across) < _half_width(across) + 1.2) & (way > -2) & (way < length + 2)
    return np.asarray(near, bool)


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


def closing(runs: list[Run]) -> list[Run]:
    """Return the runs that may be sides of a drawn figure.

    Where ink goes on from an end of theirs, that is another such run, at a corner.
    """
    while True:
        kept = [
            run
            for run in runs
            if all(
                not far or _turned_at(run, end, runs)
                for far, end in zip(run.joined, run.ends, strict=True)
            )
        ]
        if len(kept) == len(runs):
            return kept
        runs = kept


def _turned_at(run: Run, end: Points, runs: list[Run]) -> bool:
    """Return whether another run meets an end of a run at a corner."""
    along = np.diff(run.ends, axis=0)[0] / math.dist(*run.ends)
    for other in runs:
        way = np.diff(other.ends, axis=0)[0] / math.dist(*other.ends)
        turned = abs(float(along[0] * way[1] - along[1] * way[0]))
        gap = min(math.dist(end, place) for place in other.ends)
        if turned > math.sin(math.radians(CORNER_DEG)) and gap < CLOSE_PX + CLOSE_WIDTHS * (
            run.width + other.width
        ):
            return True
    return False

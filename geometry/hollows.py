"""Where the edge of an outline is hollow: its inside corners and its inside curves.

Along a hollow the curvature rises and falls; each place where it is greatest is a curve by itself,
and so is each arc of a radius of its own, however tight the next one is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.along import motion
from geometry.curves import Arc, Cubic, Line, Point, Segment
from geometry.followed import SOFT_RAD, Hollow, rough_hollows, rough_pieces
from geometry.outline import Outline

Floats: TypeAlias = NDArray[np.float64]

SHARP_RAD = math.radians(1.0)  # a joint that turns more is a corner; smooth ones turn below 0.1
STRAIGHT_MM = 5000.0  # a rounder curve is straight for every wheel
STILL = 1e-9  # of its greatest speed: a cubic that is slower has no direction there
SAMPLES, ROUNDS = 33, 4  # of a search that narrows 16-fold each time
APART = 1.5  # two curves of one hollow are two where it is so much rounder between them
KINK_MM = 3.0  # a tighter curve is a notch or a kink: drilled or filed, not ground (practice)
LEVEL, LEVEL_RAD = 1.2, 0.3  # beside a kink: a radius that stays within that factor over that turn
ENDLESS = 1e12  # 1/mm: of a cusp


def inside_corners(outline: Outline) -> list[Point]:
    """Return where the edge turns sharply inward."""
    return [at for at, turn in _joints(outline) if turn < -SOFT_RAD]


def tightest_places(outline: Outline) -> list[Hollow]:
    """Return the inside curves: the least radius of each, mm, 0 at a cusp, and where it is.

    Pieces that meet at joints that turn little stand for a smooth curve, and are read as that.
    """
    turns = [turn for _, turn in _joints(outline)]
    rough = rough_pieces(outline.chain, turns, SHARP_RAD)
    drawn = {id(piece) for piece, is_rough in zip(outline.chain, rough, strict=True) if is_rough}
    peaks = [peak for run in _runs(outline) for peak in (*_peaks(run), *_beside_kinks(run))]
    found = [
        _tightest(peak.segment, peak.low, peak.high)
        for peak in peaks
        if id(peak.segment) not in drawn
    ]
    smooth = [tight for tight in found if tight is not None]
    return [*smooth, *rough_hollows(outline, turns, rough)]


def _joints(outline: Outline) -> list[tuple[Point, float]]:
    """Return the start of each piece and how far the edge turns there, left positive, rad."""
    joints = []
    for before, after in zip((outline.chain[-1], *outline.chain), outline.chain, strict=False):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        joints.append((after.start, math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)))
    return joints


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sample:
    """A place of the edge, or a whole arc: how hollow it is, 1/mm, how far it turns, its range."""

    segment: Segment
    low: float
    high: float
    hollow: float
    turn_rad: float = 0.0
    starts_apart: bool = False  # a corner is before it, or the radius jumps


def _runs(outline: Outline) -> list[list[_Sample]]:
    """Return the hollow stretches of the edge, cut at corners and where the radius jumps."""
    samples: list[_Sample] = []
    for segment, (_, turn) in zip(outline.chain, _joints(outline), strict=True):
        first, *others = _samples(segment)
        before = samples[-1].hollow if samples else _samples(outline.chain[-1])[-1].hollow
        apart = abs(turn) > SHARP_RAD or not 1 / APART < _ratio(first.hollow, before) < APART
        samples += [replace(first, starts_apart=apart), *others]
    start = next((i for i, each in enumerate(samples) if _parts_runs(each)), 0)
    runs: list[list[_Sample]] = [[]]
    for each in (*samples[start:], *samples[:start]):
        if _parts_runs(each):
            runs.append([])
        if each.hollow > 1 / STRAIGHT_MM:
            runs[-1].append(each)
            if math.isinf(each.hollow):
                runs.append([])
    return [run for run in runs if run]


def _parts_runs(sample: _Sample) -> bool:
    straight = sample.hollow <= 1 / STRAIGHT_MM
    return sample.starts_apart or straight or math.isinf(sample.hollow)


def _ratio(first: float, second: float) -> float:
    """Return the ratio of two curvatures of an inside curve; 1 where one of them is none."""
    return first / second if min(first, second) > 1 / STRAIGHT_MM else 1.0


def _samples(segment: Segment) -> list[_Sample]:
    """Return an arc or a line as one sample, a cubic as many; a fold is one with no end."""
    if not isinstance(segment, Cubic):
        inside = isinstance(segment, Arc) and segment.sweep_rad < 0
        hollow = 1 / segment.radius_mm if isinstance(segment, Arc) and inside else 0.0
        turn = -segment.sweep_rad if isinstance(segment, Arc) else 0.0
        return [_Sample(segment=segment, low=0.0, high=1.0, hollow=hollow, turn_rad=turn)]
    t, step = np.linspace(0.0, 1.0, SAMPLES), 1 / (SAMPLES - 1)
    hollow_at = _hollow(segment, t)
    turns = hollow_at * np.hypot(*segment.derivative(t).T) * step
    samples = [
        _Sample(
            segment=segment,
            low=max(at - step, 0.0),
            high=min(at + step, 1.0),
            hollow=each,
            turn_rad=turn,
        )
        for at, each, turn in zip(t.tolist(), hollow_at.tolist(), turns.tolist(), strict=True)
    ]
    fold = _fold(segment, t)
    if fold:
        low, high = fold
        sharp = _Sample(segment=segment, low=low, high=high, hollow=math.inf)
        samples.insert(int(np.searchsorted(t, high)), sharp)
    return samples


def _peaks(run: list[_Sample]) -> list[_Sample]:
    """Return the places of a hollow stretch that are tighter than what is round them."""
    peaks: list[_Sample] = []
    top: _Sample | None = run[0]
    least = math.inf
    for each in run[1:]:
        if top is None:
            least = min(least, each.hollow)
            top = each if each.hollow > APART * least else None
        elif each.hollow > top.hollow:
            top = each
        elif each.hollow * APART < top.hollow:
            peaks.append(top)
            top, least = None, each.hollow
    return peaks if top is None else [*peaks, top]


def _beside_kinks(run: list[_Sample]) -> list[_Sample]:
    """Return the tightest place of each even part of a hollow in which a kink lies.

    To the kink's sides the hollow goes on, with no place that is tighter than what is round it.
    """
    peaks = _peaks(run)
    if not any(peak.hollow > 1 / KINK_MM for peak in peaks):
        return []
    levels: list[list[_Sample]] = [[]]
    for each in run:
        hollows = [other.hollow for other in (*levels[-1], each)]
        if max(hollows) > LEVEL * min(hollows):
            levels.append([])
        levels[-1].append(each)
    return [
        max(level, key=lambda each: each.hollow)
        for level in levels
        if sum(each.turn_rad for each in level) >= LEVEL_RAD
        and max(each.hollow for each in level) <= 1 / KINK_MM
        and not any(each is peak for each in level for peak in peaks)
    ]


def _hollow(segment: Cubic, t: Floats) -> Floats:
    """Return how hollow a cubic is at some places, 1/mm; 0 where it has no direction."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.nan_to_num(-segment.curvature_per_mm(t), nan=0.0, posinf=ENDLESS, neginf=-ENDLESS)


def _tightest(segment: Segment, low: float, high: float) -> tuple[float, Point] | None:
    """Return the least inside radius of a part of a piece and its place; None without one."""
    if isinstance(segment, Line) or (isinstance(segment, Arc) and segment.sweep_rad > 0):
        return None
    if isinstance(segment, Arc):
        [(x, y)] = motion(segment, np.array([(low + high) / 2]))[0].tolist()
        return segment.radius_mm, (x, y)
    for _ in range(ROUNDS):
        t = np.linspace(low, high, SAMPLES)
        fold = _fold(segment, t)
        if fold:
            low, high = fold
            continue
        hollow = _hollow(segment, t)
        most = int(np.argmax(hollow))
        low, high = t[max(most - 1, 0)], t[min(most + 1, SAMPLES - 1)]
    if fold is None and hollow[most] <= 1 / STRAIGHT_MM:
        return None
    [(x, y)] = segment.at(np.array([(low + high) / 2]) if fold else t[[most]]).tolist()
    return 0.0 if fold else float(1 / hollow[most]), (x, y)


def _fold(segment: Cubic, t: Floats) -> tuple[float, float] | None:
    """Return between which samples a cubic turns back to the right, at a cusp or a tight bend."""
    ways = segment.derivative(t)
    speeds = np.hypot(*ways.T)
    going = speeds > STILL * speeds.max()
    t, ways = t[going], ways[going]
    (ux, uy), (vx, vy) = ways[:-1].T, ways[1:].T
    turns = np.arctan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if turns.min(initial=0.0) > -math.pi / 2:
        return None
    most = int(np.argmin(turns))
    return float(t[most]), float(t[most + 1])

"""One drawn straight stroke, measured to a fraction of a pixel.

The centreline is fitted to the centroids of darkness on profiles across the stroke.  An end is
where the centreline crosses the centreline of a tick (or of another stroke that starts there);
without one it is the stroke's tip, at half of its darkness.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.darkness import Darkness
from calibration.profiles import smooth_curve
from calibration.rings import sampled

Points = NDArray[np.float64]

STEP_PX = 0.5  # between samples of a profile
MAX_STATIONS = 240
FIRST_STATIONS = 100  # of the look that only brings the ends onto the stroke
TICK_PART = 0.40  # of the stroke's darkness, below which a tick is taken to have ended
TICK_REACH = 0.06  # of the stroke's length: a tick is looked for no farther out
MAX_TICK_PX = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A measured straight stroke.

    Parameters
    ----------
    ends_px : two (x, y)
        Crossings with the end ticks' centrelines, or the stroke's tips.
    ticks : (bool, bool)
        Whether each end carries a tick.
    width_px : float
        Width of the ink.
    darkness : float
        Mean of the centreline.
    bow_px : float
        How far the centreline leaves its chord in the middle (a lens does that).
    rough_px : float
        One standard deviation of the centreline about a smooth curve.
    covered : float
        Share of the length that shows ink along that curve.
    """

    ends_px: tuple[tuple[float, float], tuple[float, float]]
    ticks: tuple[bool, bool]
    width_px: float
    darkness: float
    bow_px: float
    rough_px: float
    covered: float

    @property
    def length_px(self) -> float:
        """Distance between the ends."""
        return math.dist(*self.ends_px)


def fit_stroke(darkness: Darkness, ends_px: Points, width_px: float) -> Stroke | None:
    """Return the stroke between two rough ends, None if no ink runs from one to the other.

    Parameters
    ----------
    darkness : Darkness
        Of the sheet.
    ends_px : ndarray, shape (2, 2)
        Pixels of the photo, good to about the stroke's width across it and to a few widths
        along it.
    width_px : float
        Rough width of the ink, pixels of the photo.
    """
    a, b = darkness.own(ends_px)
    width = max(1.0, width_px / darkness.pitch)
    line = _centreline(darkness, a, b, width, max(2.5 * width, 6.0), FIRST_STATIONS)
    if line is not None:
        width, reach = line.width_px, max(1.8 * line.width_px, 4.0)
        line = _centreline(darkness, line.a, line.b, width, reach, MAX_STATIONS)
    if line is None:
        return None
    (first, tick_a), (last, tick_b) = (_end(darkness, line, at_start) for at_start in (True, False))
    if math.dist(first, last) < 4.0 * line.width_px:
        return None
    first, last = darkness.photo(first), darkness.photo(last)
    return Stroke(
        ends_px=((float(first[0]), float(first[1])), (float(last[0]), float(last[1]))),
        ticks=(tick_a, tick_b),
        width_px=line.width_px * darkness.pitch,
        darkness=line.darkness,
        bow_px=line.bow_px * darkness.pitch,
        rough_px=line.rough_px * darkness.pitch,
        covered=line.covered,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    """A centreline: the chord a-b and a parabola about it."""

    a: Points
    b: Points
    curve: Points  # offsets c0 + c1 t + c2 t^2 of the place t = -1..1 on the chord
    width_px: float
    darkness: float
    bow_px: float
    rough_px: float
    covered: float

    @property
    def along(self) -> Points:
        return np.asarray((self.b - self.a) / math.dist(self.a, self.b), float)

    def offset(self, way_px: float) -> float:
        """Return the centreline's offset at a way along the chord from a, px."""
        t = 2.0 * way_px / math.dist(self.a, self.b) - 1.0
        return float(self.curve @ [1.0, t, t * t])


def _centreline(
    darkness: Darkness, a: Points, b: Points, width_px: float, reach_px: float, stations: int
) -> _Line | None:
    """Return the centreline near a chord, None where too little of it shows ink."""
    length = math.dist(a, b)
    margin = min(0.15, 2.0 * width_px / length)  # keeps clear of the ticks
    count = int(np.clip(length / 1.5, 24, stations))
    t = np.linspace(-1.0 + 2.0 * margin, 1.0 - 2.0 * margin, count)
    offsets = np.arange(-reach_px, reach_px + STEP_PX / 2, STEP_PX)
    ink = _above_paper(_profiles(darkness, a, b, t, offsets))
    centres, widths, tops = _centroids(ink, offsets, width_px)
    typical = float(np.quantile(tops, 0.6))
    if typical <= 0.02:
        return None
    centres[tops < 0.35 * typical] = np.nan
    _, kept = smooth_curve(centres, first_px=max(1.0, 0.6 * width_px), least_px=0.3)
    if kept.sum() < max(10, 0.35 * count):
        return None
    basis = np.column_stack([np.ones(count), t, t * t])[kept]
    fit, *_ = np.linalg.lstsq(basis, centres[kept], rcond=None)
    across = _across(a, b)
    # the chord moves onto the curve's ends; what is left of the curve is its bow
    return _Line(
        a=a + float(fit @ [1.0, -1.0, 1.0]) * across,
        b=b + float(fit @ [1.0, 1.0, 1.0]) * across,
        curve=np.array([-float(fit[2]), 0.0, float(fit[2])]),
        width_px=float(np.clip(np.median(widths[kept]), 1.0, reach_px)),
        darkness=float(np.median(tops[kept])),
        bow_px=abs(float(fit[2])),
        rough_px=float(np.std(centres[kept] - basis @ fit)),
        covered=float(kept.mean()),
    )


def _across(a: Points, b: Points) -> Points:
    """Return the unit vector square to the way from a to b."""
    along = (b - a) / math.dist(a, b)
    return np.array([-along[1], along[0]])


def _profiles(darkness: Darkness, a: Points, b: Points, t: Points, offsets: Points) -> Points:
    """Return the darkness across a chord, (n, m), at n places t = -1..1 and m offsets."""
    places = 0.5 * (a + b) + 0.5 * t[:, None] * (b - a)
    field = darkness.along(np.array([a, b]), float(offsets[-1]))
    return sampled(field, places[:, None, :] + offsets[None, :, None] * _across(a, b))


def _above_paper(values: Points) -> Points:
    """Return the profiles (n, m) above the paper beside the line, never below zero."""
    rim = max(2, values.shape[1] // 6)
    sides = np.stack([values[:, :rim].mean(axis=1), values[:, -rim:].mean(axis=1)])
    paper = np.minimum(sides.min(axis=0), 0.5 * values.max(axis=1))
    return np.asarray(np.maximum(values - paper[:, None], 0.0), float)


def _centroids(ink: Points, offsets: Points, width_px: float) -> tuple[Points, Points, Points]:
    """Return centre, width and height of the bump nearest the middle of each profile."""
    near = np.exp(-0.5 * (offsets / max(1.5 * width_px, 2.0)) ** 2)
    peak = (ink * near).argmax(axis=1)
    rows = np.arange(len(ink))
    tops = ink[rows, peak]
    apart = np.abs(offsets[None, :] - offsets[peak][:, None])
    window = apart <= max(1.1 * width_px, 2.5)
    weights = np.where(window & (ink > 0.12 * tops[:, None]), ink, 0.0)
    total = np.maximum(weights.sum(axis=1), 1e-9)
    centres = (weights * offsets).sum(axis=1) / total
    widths = (ink * window > 0.5 * tops[:, None]).sum(axis=1) * STEP_PX
    return centres, widths, tops


def _end(darkness: Darkness, line: _Line, at_start: bool) -> tuple[Points, bool]:
    """Return where a stroke ends, px, and whether a tick says so."""
    length = math.dist(line.a, line.b)
    outward = -line.along if at_start else line.along
    corner = line.a if at_start else line.b
    across = np.array([-line.along[1], line.along[0]])
    reach_along = max(5.0 * line.width_px, 12.0, 0.02 * length)
    reach_across = float(np.clip(TICK_REACH * length, 4.0 * line.width_px, MAX_TICK_PX))
    ways = np.arange(-reach_along, reach_along + STEP_PX / 2, STEP_PX)
    sides = np.arange(-reach_across, reach_across + 0.5, 1.0)
    grid = corner + ways[None, :, None] * outward + sides[:, None, None] * across
    rim = np.array([corner - reach_along * outward, corner + reach_along * outward])
    patch = np.maximum(sampled(darkness.along(rim, reach_across), grid), 0.0)
    tip = _tip(patch, ways, sides, line)
    beside = ways <= tip + max(1.1 * line.width_px, 2.5)  # beyond lies what the stroke is not on
    tick = _tick(np.where(beside, patch, 0.0), ways, sides, line)
    if tick is not None:
        slope, start = tick  # way = start + slope * side
        way = start
        for _ in range(3):
            side = line.offset(-way if at_start else length + way)
            way = start + slope * side
        return corner + way * outward + side * across, True
    side = line.offset(-tip if at_start else length + tip)
    return corner + tip * outward + side * across, False


def _tick(patch: Points, ways: Points, sides: Points, line: _Line) -> tuple[float, float] | None:
    """Return slope and start of a tick's centreline in a patch round an end, None without one."""
    clear = 0.75 * line.width_px + 1.0
    found: list[tuple[float, float]] = []
    runs = []
    for sign in (1.0, -1.0):
        order = np.flatnonzero(sign * sides >= clear)
        order = order if sign > 0 else order[::-1]
        run = _followed(patch[order], ways, line)
        runs.append(len(run))
        found += [(float(sides[k]), way) for k, way in zip(order, run, strict=False)]
    if max(runs) < max(3.0, 0.8 * line.width_px) or sum(runs) < max(5.0, 1.2 * line.width_px):
        return None
    places = np.array(found)
    slope, start = np.polyfit(places[:, 0], places[:, 1], 1)
    for _ in range(3):
        errors = np.abs(places[:, 1] - start - slope * places[:, 0])
        good = errors <= max(0.5, 2.5 * float(np.median(errors)))
        slope, start = np.polyfit(places[good, 0], places[good, 1], 1)
    return (float(slope), float(start)) if abs(slope) < 0.7 else None


def _followed(rows: Points, ways: Points, line: _Line) -> list[float]:
    """Return the centres of a tick in rows going out from the stroke, as far as it goes."""
    centres: list[float] = []
    floor = TICK_PART * line.darkness
    half = max(1.1 * line.width_px, 2.5)
    allowed = np.ones(len(ways), bool)
    for row in rows - np.median(rows, axis=1, keepdims=True):
        ink = np.where(allowed, row, 0.0)
        k = int(ink.argmax())
        if ink[k] < floor:
            break
        window = np.abs(ways - ways[k]) <= half
        weights = np.where(window & (ink > 0.15 * ink[k]), ink, 0.0)
        centres.append(float((weights * ways).sum() / weights.sum()))
        allowed = np.abs(ways - centres[-1]) <= half + 1.0
        if abs(ways[k]) > 0.95 * ways[-1]:
            return []
    return centres


def _tip(patch: Points, ways: Points, sides: Points, line: _Line) -> float:
    """Return the way along a stroke at which its darkness falls through half, px."""
    core = np.abs(sides) <= max(0.3 * line.width_px, 0.6)
    profile = patch[core].mean(axis=0)
    half = 0.5 * line.darkness
    dark = profile >= half
    if not dark.any():
        return 0.0
    gaps = np.flatnonzero(~dark)
    begin = int(np.argmax(dark))
    after = gaps[gaps > begin]
    # a gap shorter than two widths is the pen skipping, not the end
    for k in after:
        stop = min(len(dark), k + round(2.0 * line.width_px / STEP_PX))
        if not dark[k:stop].any():
            rise = (profile[k - 1] - half) / max(profile[k - 1] - profile[k], 1e-9)
            return float(ways[k - 1] + rise * STEP_PX)
    return float(ways[-1])

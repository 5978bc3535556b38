"""Where a dense line is broken into lines and arcs, as few as can be."""

from __future__ import annotations

import math

import numpy as np

from geometry.arc_spans import Band, Bools, Floats, Ints, Spans, spans_from
from geometry.curves import Arc, Chain, Line, Point, Segment

CORNER_RAD = math.radians(30.0)  # a sharper turn is a corner, and stays one
ARM = 5.0  # tolerances: over such arms a turn is told from noise
KEEN = 0.7  # of its turn, a corner makes within a quarter of the arms; an arc makes a quarter
MOST_STARTS = 40
MISFIT_WORTH = 1e-3  # the misfit only decides between equal numbers of pieces


def fewest_open(line_mm: Floats, band: Band) -> Chain:
    """Return the fewest lines and arcs from the first to the last vertex of a dense line."""
    last = len(line_mm) - 1
    spans = [spans_from(i, last, line_mm, line_mm, band) for i in range(last)]
    return _chain(line_mm, _cheapest(spans, 0, last, _worth(line_mm, band))[1])


def fewest_closed(line_mm: Floats, breaks_mm: Floats, corners: Bools, band: Band) -> Chain:
    """Return the fewest lines and arcs round a ring, none past a corner; none if there is no way.

    A ring without corners has no first vertex. All are tried that one span can pass over: one of
    them is a break (of very many, some are tried).
    """
    count = len(line_mm)
    twice, twice_breaks = np.vstack([line_mm, line_mm]), np.vstack([breaks_mm, breaks_mm])
    at = np.flatnonzero(np.tile(corners, 2))
    spans = []
    for i in range(count):
        ahead = at[at > i]
        last = min(i + count - 1, int(ahead[0]) if len(ahead) else 2 * count)
        spans.append(spans_from(i, last, twice, twice_breaks, band))
    starts = at[:1] if len(at) else _first_breaks(spans)
    worth = _worth(np.vstack([line_mm, line_mm[:1]]), band)
    found = [_cheapest(spans, int(start), count, worth) for start in starts]
    return _chain(breaks_mm, min(found, key=lambda each: each[0])[1])


def _first_breaks(spans: list[Spans]) -> Ints:
    """Return vertices of a ring of which one is a break, whatever the way round."""
    count = len(spans)
    ends = np.array([each.ends.max(initial=i) for i, each in enumerate(spans)])
    passed = np.maximum.accumulate(np.append(ends, ends + count)) - np.arange(2 * count)
    least = count + int(passed[count:].argmin())
    window = np.arange(least, least + passed[least] + 1)
    return window[:: -(-len(window) // MOST_STARTS)] % count


def corners_of(line_mm: Floats, tolerance_mm: float) -> Bools:
    """Return which vertices of a ring are sharp corners, told from noise and from small arcs."""
    arm_mm = ARM * tolerance_mm
    steps = np.hypot(*(np.roll(line_mm, -1, axis=0) - line_mm).T)
    reached = np.append(0.0, np.cumsum(steps))
    if reached[-1] < 8 * arm_mm:
        return np.zeros(len(line_mm), bool)
    closed = np.vstack([line_mm, line_mm[:1]])
    turn, near = (_turn_rad(closed, reached, arm) for arm in (arm_mm, arm_mm / 4))
    sharp = (turn >= CORNER_RAD) & (near >= KEEN * turn)
    for index in np.flatnonzero(sharp):
        away = np.abs(reached[:-1] - reached[index])
        close = np.minimum(away, reached[-1] - away) < arm_mm / 2
        sharp[index] = near[index] >= near[close].max()
    return sharp


def breaks_beside(line_mm: Floats, corners: Bools, inset_mm: float) -> Floats:
    """Return where pieces meet at each vertex of a ring: on its left by so much, or a corner."""
    ahead = np.roll(line_mm, -1, axis=0) - line_mm
    unit = ahead / np.maximum(np.hypot(*ahead.T), 1e-12)[:, None]
    both = unit + np.roll(unit, 1, axis=0)
    both /= np.maximum(np.hypot(*both.T), 1e-12)[:, None]
    left = np.column_stack([-both[:, 1], both[:, 0]])
    beside: Floats = np.where(corners[:, None], line_mm, line_mm + inset_mm * left)
    return beside


def _turn_rad(closed: Floats, reached: Floats, arm_mm: float) -> Floats:
    """Return the angle turned at each vertex between arms of a length along the ring."""

    def at(way: Floats) -> Floats:
        return np.column_stack([np.interp(way % reached[-1], reached, axis) for axis in closed.T])

    here = closed[:-1]
    back, on = here - at(reached[:-1] - arm_mm), at(reached[:-1] + arm_mm) - here
    cross = back[:, 0] * on[:, 1] - back[:, 1] * on[:, 0]
    turn: Floats = np.abs(np.arctan2(cross, (back * on).sum(axis=1)))
    return turn


def _worth(line_mm: Floats, band: Band) -> float:
    """Return what a misfit costs in pieces, 1/mm3: the worst all along is a small share of one."""
    length_mm = float(np.hypot(*np.diff(line_mm, axis=0).T).sum())
    return MISFIT_WORTH / (max(band.left_mm, band.right_mm) ** 2 * length_mm)


def _cheapest(
    spans: list[Spans], start: int, count: int, worth: float
) -> tuple[float, list[tuple[int, int, float]]]:
    """Return the cost of the cheapest way over a number of vertices, and its pieces."""
    around = len(spans)
    cost, came, half = np.full(count + 1, np.inf), np.zeros(count + 1, int), np.zeros(count + 1)
    cost[0] = 0.0
    for here in range(count):
        vertex = (start + here) % around
        ends, sweeps, misfits = spans[vertex]
        there = ends - vertex + here
        usable = there <= count
        there = there[usable]
        new = cost[here] + 1.0 + worth * misfits[usable]
        better = new < cost[there]
        there = there[better]
        cost[there], came[there], half[there] = new[better], here, sweeps[usable][better]
    if not np.isfinite(cost[count]):
        return math.inf, []
    pieces, end = [], count
    while end:
        pieces.append(((start + int(came[end])), start + end, float(half[end])))
        end = int(came[end])
    return float(cost[count]), pieces[::-1]


def _chain(breaks_mm: Floats, pieces: list[tuple[int, int, float]]) -> Chain:
    count = len(breaks_mm)
    places: list[Point] = [(x, y) for x, y in breaks_mm.tolist()]
    chain: list[Segment] = []
    for first, last, half in pieces:
        start, end = places[first % count], places[last % count]
        chain.append(
            Arc(start=start, end=end, sweep_rad=2 * half) if half else Line(start=start, end=end)
        )
    return tuple(chain)

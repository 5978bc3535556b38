"""Stretches of an edge that no ink shows: over gaps, past overruns, across writing that touches.

Such a stretch is cut out and replaced by what its two sides foretell: a smooth curve, or a corner
where their tangents meet.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Flags = NDArray[np.bool_]

STRAIGHT_PX = 45  # length of a straight side from which its direction is taken
BENT_PX = 24  # the same of a bent side
LEAST_TANGENT_PX = 6  # a shorter side tells no direction
FIT_PX = 0.4  # a side that strays more than this from a line is bent
LEAST_AHEAD = 0.5  # cosine; a side that turns away more than this is not followed
SMOOTH_TURN_RAD = 0.35  # a smaller turn over the stretch is bent, a larger one is a corner


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Repaired:
    """An edge with stretches replaced.

    Parameters
    ----------
    points_px : ndarray, (N, 2)
        The closed edge, open in the array.
    source : ndarray of int, (N,)
        The point of the edge given that each came from; -1 in replaced stretches.
    doubt_px : ndarray, (N,)
        Added uncertainty, 0 outside of replaced stretches.
    """

    points_px: Points
    source: NDArray[np.intp]
    doubt_px: NDArray[np.float64]


def repaired(points: Points, bad: Flags, *, bend: bool = True) -> Repaired:
    """Return an edge whose bad stretches are replaced from their sides.

    Parameters
    ----------
    points : ndarray, (N, 2)
        A closed edge, open in the array, evenly spaced.
    bad : ndarray of bool, (N,)
        Points to replace; at most about half of them.
    bend : bool
        Whether stretches follow the directions of their sides; else they are straight.
    """
    count = len(points)
    if not bad.any() or bad.all():
        return Repaired(points_px=points, source=np.arange(count), doubt_px=np.zeros(count))
    first_good = int(np.flatnonzero(~bad & np.roll(bad, 1))[0])
    order = (np.arange(count) + first_good) % count
    flags = bad[order]
    pieces: list[Points] = []
    sources: list[NDArray[np.intp]] = []
    doubts: list[NDArray[np.float64]] = []
    changes = [0, *(np.flatnonzero(np.diff(flags)) + 1).tolist(), count]
    for start, stop in itertools.pairwise(changes):
        stretch = order[start:stop]
        if flags[start]:
            way = _replacement(points, bad, int(stretch[0]) - 1, int(stretch[-1]) + 1, bend)
            middle = np.sin(np.linspace(0.0, np.pi, len(way)))
            pieces.append(way)
            sources.append(np.full(len(way), -1, np.intp))
            doubts.append(0.5 + 0.04 * len(way) * middle)
        else:
            pieces.append(points[stretch])
            sources.append(stretch.astype(np.intp))
            doubts.append(np.zeros(len(stretch)))
    return Repaired(
        points_px=np.vstack(pieces),
        source=np.concatenate(sources),
        doubt_px=np.concatenate(doubts),
    )


def _replacement(points: Points, bad: Flags, before: int, after: int, bend: bool) -> Points:
    """Return the points between two good ones, at steps of 1 px, ends left out."""
    count = len(points)
    start, stop = points[before % count], points[after % count]
    if not bend:
        return stepped(np.vstack([start, stop]))[1:-1]
    leaving, first_straight = _side(points, bad, before, -1)
    backward, second_straight = _side(points, bad, after, 1)
    arriving = -backward
    corner = _corner(start, leaving, stop, arriving)
    length = float(np.hypot(*(stop - start)))
    if corner is not None and first_straight and second_straight:
        return stepped(np.vstack([start, corner, stop]))[1:-1]
    along = (stop - start) / max(length, 1e-9)
    if min(leaving @ along, arriving @ along) < LEAST_AHEAD:
        leaving = arriving = along
    return stepped(_hermite(start, leaving * length, stop, arriving * length))[1:-1]


def _side(points: Points, bad: Flags, index: int, way: int) -> tuple[Points, bool]:
    """Return the unit direction of the good side, toward the stretch, and if it is straight.

    A parabola's direction at its end serves where a line does not follow the side.
    """
    count = len(points)
    places = (index + way * np.arange(STRAIGHT_PX)) % count
    good = STRAIGHT_PX if not bad[places].any() else int(np.argmax(bad[places]))
    if good < LEAST_TANGENT_PX:
        return np.zeros(2), False
    side = points[places[:good]]
    along = np.arange(good, dtype=float)
    line = np.polynomial.polynomial.polyfit(along, side, 1)
    off = side - np.polynomial.polynomial.polyval(along, line).T
    straight = bool(np.sqrt((off**2).sum(axis=1).mean()) < FIT_PX)
    slope = line[1]
    if not straight:
        near = min(good, BENT_PX)
        slope = np.polynomial.polynomial.polyfit(along[:near], side[:near], 2)[1]
    return np.asarray(-slope / max(float(np.hypot(*slope)), 1e-9)), straight


def _corner(start: Points, leaving: Points, stop: Points, arriving: Points) -> Points | None:
    """Return where the tangents meet, if that lies between the two points."""
    turn = abs(float(leaving[0] * arriving[1] - leaving[1] * arriving[0]))
    if turn < np.sin(SMOOTH_TURN_RAD):
        return None
    forth = np.linalg.solve(np.column_stack([leaving, arriving]), stop - start)
    length = float(np.hypot(*(stop - start)))
    if forth.min() < 0.0 or forth.max() > 1.5 * length:
        return None
    return np.asarray(start + forth[0] * leaving)


def _hermite(start: Points, leaving: Points, stop: Points, arriving: Points) -> Points:
    u = np.linspace(0.0, 1.0, 33)[:, None]
    return np.asarray(
        (1 + 2 * u) * (1 - u) ** 2 * start
        + u * (1 - u) ** 2 * leaving
        + u**2 * (3 - 2 * u) * stop
        + u**2 * (u - 1) * arriving
    )


def stepped(path: Points) -> Points:
    """Return an open path at steps of about 1 px, both ends and corners kept."""
    pieces = []
    for start, stop in itertools.pairwise(path):
        steps = max(1, round(float(np.hypot(*(stop - start)))))
        pieces.append(start + np.arange(steps)[:, None] / steps * (stop - start))
    return np.vstack([*pieces, path[-1:]])

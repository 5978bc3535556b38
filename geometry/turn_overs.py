"""How often an edge bends over from hollow to full and back: what an eye takes for a wave."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Arc, Chain, Cubic, Segment

LEAST_BEND_RAD = math.radians(2)  # a bend that turns less is not seen
CORNER_RAD = math.radians(20)  # a joint that turns more parts one curve from the next
_LOOKED_AT = np.linspace(0.0, 1.0, 17)[:, None]  # on a cubic


def turn_overs(chain: Chain, least_rad: float = LEAST_BEND_RAD) -> int:
    """Return how often a closed edge bends the other way, corners parting its curves.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge.
    least_rad : float
        Bends that turn less between two others are taken as part of them.

    Examples
    --------
    >>> from geometry.curves import Line
    >>> one = Arc(start=(0.0, 0.0), end=(10.0, 0.0), sweep_rad=1.0)
    >>> other = Arc(start=(10.0, 0.0), end=(20.0, 0.0), sweep_rad=-1.0)
    >>> turn_overs((one, other, Line(start=other.end, end=one.start)))
    1
    """
    curves: list[list[float]] = [[]]
    for turn, bends in zip(_joints_rad(chain), _bends_rad(chain), strict=True):
        if abs(turn) > CORNER_RAD:
            curves.append([])
        else:
            curves[-1].append(turn)
        curves[-1] += bends
    if len(curves) > 1:
        curves[-1] += curves.pop(0)  # the edge closes
    return sum(_changes(curve, least_rad) for curve in curves)


def typical_joint_rad(chain: Chain) -> float:
    """Return what joints that are no corners turn by: none, but on an edge of short lines.

    Three of four turn by less. Bends have to turn by more than that to be seen.
    """
    turns = np.abs(_joints_rad(chain))
    smooth = turns[turns <= CORNER_RAD]
    return float(np.percentile(smooth, 75)) if smooth.size else 0.0


def _joints_rad(chain: Chain) -> list[float]:
    """Return how far each piece turns left from the one before it."""
    into = np.roll([segment.end_direction for segment in chain], 1, axis=0).T
    out = np.array([segment.start_direction for segment in chain]).T
    turns: list[float] = np.arctan2(
        into[0] * out[1] - into[1] * out[0], (into * out).sum(axis=0)
    ).tolist()
    return turns


def _bends_rad(chain: Chain) -> list[list[float]]:
    """Return how far each piece turns left, step by step."""
    bends: list[list[float]] = [
        [segment.sweep_rad] if isinstance(segment, Arc) else [] for segment in chain
    ]
    which = [i for i, segment in enumerate(chain) if isinstance(segment, Cubic)]
    if not which:
        return bends
    controls = np.array([cubic.controls for cubic in chain if isinstance(cubic, Cubic)])
    p0, p1, p2, p3 = controls[:, None].transpose(2, 0, 1, 3)
    t, u = _LOOKED_AT, 1 - _LOOKED_AT
    ways = u * u * (p1 - p0) + 2 * t * u * (p2 - p1) + t * t * (p3 - p2)
    turns: NDArray[np.float64] = np.arctan2(
        ways[:, :-1, 0] * ways[:, 1:, 1] - ways[:, :-1, 1] * ways[:, 1:, 0],
        (ways[:, :-1] * ways[:, 1:]).sum(axis=2),
    )
    for i, steps in zip(which, turns.tolist(), strict=True):
        bends[i] = steps
    return bends


def _changes(bends: list[float], least_rad: float) -> int:
    """Return how often the sum of bends turns back by the least that counts."""
    count, side = 0, 0
    angle = lowest = highest = 0.0
    for bend in bends:
        angle += bend
        if side >= 0 and angle <= highest - least_rad:
            count, side, lowest = count + (side > 0), -1, angle
        elif side <= 0 and angle >= lowest + least_rad:
            count, side, highest = count + (side < 0), 1, angle
        lowest = min(lowest, angle) if side <= 0 else lowest
        highest = max(highest, angle) if side >= 0 else highest
    return count


@dataclass(frozen=True, slots=True, kw_only=True)
class HollowBend:
    """A stretch of an edge that bends inward: how far it turns, rad, and its least radius, mm."""

    turn_rad: float
    radius_mm: float


def hollow_bends(chain: Chain, least_rad: float = LEAST_BEND_RAD) -> list[HollowBend]:
    """Return the stretches of a closed edge that bend inward, those that turn less left out.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge, counter-clockwise, mm.
    least_rad : float
        The least that a stretch turns by.

    Examples
    --------
    >>> from geometry.curves import Line
    >>> one = Arc(start=(0.0, 0.0), end=(10.0, 0.0), sweep_rad=-1.0)
    >>> over = Line(start=(10.0, 0.0), end=(5.0, 20.0)), Line(start=(5.0, 20.0), end=(0.0, 0.0))
    >>> [bend] = hollow_bends((one, *over))
    >>> bend.turn_rad, round(bend.radius_mm, 3) == round(one.radius_mm, 3)
    (1.0, True)
    """
    runs: list[list[tuple[float, float]]] = [[]]
    joints = zip(_joints_rad(chain), _bends_rad(chain), chain, strict=True)
    for joint, bends, segment in joints:
        if abs(joint) > CORNER_RAD or not bends:
            runs.append([])
        for turn, length in zip(bends, _lengths_mm(segment, len(bends)), strict=True):
            if turn >= 0:
                runs.append([])
            else:
                runs[-1].append((-turn, length))
    if len(runs) > 1 and abs(_joints_rad(chain)[0]) <= CORNER_RAD:
        runs[0] = [*runs.pop(), *runs[0]]  # the edge closes
    return [
        HollowBend(
            turn_rad=sum(turn for turn, _ in run),
            radius_mm=min(length / turn for turn, length in run),
        )
        for run in runs
        if sum(turn for turn, _ in run) >= least_rad
    ]


def _lengths_mm(segment: Segment, count: int) -> list[float]:
    """Return the lengths of the steps that a piece's bends are taken over, mm."""
    if not isinstance(segment, Cubic):
        return [segment.length_mm] * count
    lengths: list[float] = np.hypot(*np.diff(segment.at(_LOOKED_AT[:, 0]), axis=0).T).tolist()
    return lengths

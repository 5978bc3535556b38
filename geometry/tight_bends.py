"""Where an edge bends tightly: how far each bend reaches, how far it turns, how tight it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Arc, Chain, Cubic, Point, Segment

Array: TypeAlias = NDArray[np.float64]
Place: TypeAlias = tuple[int, float]  # which piece of a chain, and the parameter on it

BEND_MM = 10.0  # a bend reaches as far as its radius is smaller than this
ARC_MM = 16.0  # an arc of no larger radius was drawn on purpose: all of it is a bend
LEAST_TURN_RAD = math.radians(30)  # one that turns less is hardly seen
LEAST_ARC_RAD = math.radians(1)  # but of arcs: their radius was meant, however little they turn
SAME_MM = 1e-9
MEET_MM = 1e-6
_STEPS = 16  # a cubic is looked at in


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bend:
    """A tight bend of an edge.

    Parameters
    ----------
    points : ndarray, (N, 2)
        Places along it, mm.
    turn_rad : float
        How far it turns, to the left above zero.
    start, end : tuple of int and float
        The piece where it begins and ends, and the parameter there.
    of_arcs : bool
        Whether all of it is arcs.
    """

    points: Array
    turn_rad: float
    start: Place
    end: Place
    of_arcs: bool = False

    @property
    def radius_mm(self) -> float:
        """The least radius along it, mm."""
        lengths, angles = steps_of(self.points)
        if len(lengths) < 2:
            return 0.0  # one step that turns enough by itself
        turns = np.maximum(np.abs(np.diff(angles)), 1e-12)
        return float(((lengths[:-1] + lengths[1:]) / 2 / turns).min())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Run:
    points: list[Point]
    turn_rad: float
    start: Place
    end: Place
    of_arcs: bool = False

    def on_to(self, other: _Run) -> _Run:
        """Return both as one."""
        return _Run(
            points=self.points + other.points,
            turn_rad=self.turn_rad + other.turn_rad,
            start=self.start,
            end=other.end,
            of_arcs=self.of_arcs and other.of_arcs,
        )

    def meets(self, other: _Run) -> bool:
        """Return whether it goes on as another: one place, and it bends the same way."""
        near = math.dist(self.points[-1], other.points[0]) < MEET_MM
        return near and self.turn_rad * other.turn_rad > 0


def tight_bends(chain: Chain) -> tuple[Bend, ...]:
    """Return the bends of a closed edge that turn by 30 degrees or more, arcs by 1, in its order.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge, mm. Straight pieces are never tight, however sharp the corner between.

    Examples
    --------
    >>> from geometry.curves import Line
    >>> end = Arc(start=(0.0, 0.0), end=(0.0, 6.0), sweep_rad=math.pi)
    >>> far, back = Line(start=end.end, end=(-60.0, 3.0)), Line(start=(-60.0, 3.0), end=end.start)
    >>> [bend] = tight_bends((end, far, back))
    >>> bend.start, bend.end, round(bend.radius_mm, 1)
    ((0, 0.0), (0, 1.0), 3.0)
    """
    runs: list[_Run] = []
    for index, segment in enumerate(chain):
        for run in _runs(index, segment):
            if runs and runs[-1].meets(run):
                run = runs.pop().on_to(run)
            runs.append(run)
    if len(runs) > 1 and runs[-1].meets(runs[0]):
        runs[0] = runs.pop().on_to(runs[0])
    return tuple(
        Bend(
            points=np.array(run.points),
            turn_rad=run.turn_rad,
            start=run.start,
            end=run.end,
            of_arcs=run.of_arcs,
        )
        for run in runs
        if abs(run.turn_rad) >= (LEAST_ARC_RAD if run.of_arcs else LEAST_TURN_RAD)
    )


def steps_of(points: Array) -> tuple[Array, Array]:
    """Return the lengths of the steps between points, mm, and their directions, rad."""
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    steps = steps[lengths > SAME_MM]
    return lengths[lengths > SAME_MM], np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))


def _runs(index: int, segment: Segment) -> list[_Run]:
    """Return the tight stretches of a piece that bend one way.

    They are those that may belong to a bend; whether it gets tight is seen when it is whole.
    """
    if isinstance(segment, Arc):
        if segment.radius_mm > ARC_MM:
            return []
        inner = segment.flattened(segment.radius_mm * 0.02).tolist()
        points = [(x, y) for x, y in inner] + [segment.end]
        return [
            _Run(
                points=points,
                turn_rad=segment.sweep_rad,
                start=(index, 0.0),
                end=(index, 1.0),
                of_arcs=True,
            )
        ]
    if not isinstance(segment, Cubic):
        return []
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    places = segment.at(t)
    turns = np.diff(np.unwrap(np.arctan2(*segment.derivative(t).T[::-1])))
    tight = np.abs(turns) * BEND_MM > np.hypot(*np.diff(places, axis=0).T)
    points = [(x, y) for x, y in places.tolist()]
    runs: list[_Run] = []
    for i in np.flatnonzero(tight).tolist():
        run = _Run(
            points=[points[i], points[i + 1]],
            turn_rad=float(turns[i]),
            start=(index, float(t[i])),
            end=(index, float(t[i + 1])),
        )
        if runs and i and tight[i - 1] and runs[-1].meets(run):
            run = runs.pop().on_to(run)
        runs.append(run)
    return runs

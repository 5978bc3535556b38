"""The best pose over a whole piece of steel, with a bound that no pose can beat.

Branch and bound: boxes of poses are bounded by what discs of the outline leave to discs that are
no steel (`geometry/disc_gaps.py`); those that cannot beat the best pose known by more than a
given gap are dropped, the others halved. The best pose comes from climbs out of the most promising
boxes, and is measured exactly; the bound is proven by the boxes alone, whatever the climbs missed.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from geometry.box_program import box_bounds
from geometry.disc_gaps import NO_ROW, DiscGaps, Rows
from geometry.errors import Cancelled
from geometry.pose import Pose
from geometry.pose_boxes import PoseBoxes, first_boxes, halved
from geometry.report import Progress
from geometry.segments import Floats

FEW = 6  # discs that throw out most boxes
ROWS_AT_ONCE = 200_000  # so that the work space stays small
RANKED, CLIMBED = 300, 20  # boxes climbed from at first: roughly, then farther
ROUGH_ROUNDS, ROUNDS = 3, 6
SHRUNK = 0.55  # of the box that a climb looks at, each round
CLIMB_EXCHANGES = 8
WORTH_MEASURING_MM = 0.05  # below the best: the discs' own slack, and more
MEASURED = 6  # climbed poses measured exactly at once
APART_MM = 0.5  # poses that are nearer are one
TRIES, TRIED = 3, 6  # rounds in which the boxes of greatest bounds are climbed from
BETTER_MM = 2e-3  # a box's middle that is so much better than the best pose is climbed from
LEAST_MOVE_PER_RIM = 1e-5  # boxes that move the outline less cannot be told apart
FINE_AFTER = (
    30_000  # boxes: where so many stay open, an outline that sticks out is looked at closer
)
PLAIN_ROUNDS = 3  # before the discs outside are chosen for an outline that sticks out
LESS_OUT = 0.8  # of how far it sticks out: the discs outside are chosen anew
MOST_OPEN = 400_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Best:
    """The best pose known and its exact clearance, mm."""

    pose: Pose
    value_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What a search came to.

    Parameters
    ----------
    best : Best or None
        The best pose found; None where none was looked for.
    bound_mm : float
        No pose has a greater clearance.
    boxes : int
        Boxes of poses that were looked at.
    closed : bool
        Whether every box was dropped for a proven reason; else time or sharpness ran out.
    open_scale : float
        The greatest scale of a box that was not dropped; 0 if all were.
    """

    best: Best | None
    bound_mm: float
    boxes: int
    closed: bool
    open_scale: float = 0.0


Measure = Callable[[Pose], Best]  # climbs from a pose on the true shapes and measures exactly


class PoseSearch:
    """A search in one part of the steel.

    Parameters
    ----------
    gaps : DiscGaps
        The outline and the part.
    measure : callable
        Betters a pose on the true shapes and measures it.
    mirror : bool
        Whether the outline may be turned over.
    scales : tuple of float
        The least and the greatest scale of the poses; may be equal.
    gap_mm : float
        How far the bound may lie above the best pose.
    enough_mm : float, optional
        Only asks whether any pose has so much: the search ends at the first that has, and boxes
        that have less are dropped.
    """

    def __init__(
        self,
        gaps: DiscGaps,
        measure: Measure,
        *,
        mirror: bool,
        scales: tuple[float, float],
        gap_mm: float,
        enough_mm: float | None = None,
    ) -> None:
        self._given, self._gaps, self._out_mm, self._fine = gaps, gaps, 0.0, False
        self._tries = self._rounds = 0
        self._measure, self._scales = measure, scales
        self._mirror, self._gap_mm, self._enough_mm = mirror, gap_mm, enough_mm
        self.best: Best | None = None
        self._boxes = 0
        self._dropped_mm = -np.inf

    def limit_mm(self) -> float:
        """Return the bound at or below which a box is dropped."""
        if self._enough_mm is not None:
            return float(np.nextafter(self._enough_mm, -np.inf))
        return -np.inf if self.best is None else self.best.value_mm + self._gap_mm

    def found_enough(self) -> bool:
        """Return whether the pose asked for is known."""
        if self._enough_mm is None or self.best is None:
            return False
        return self.best.value_mm >= self._enough_mm

    def start(self, best: Best | None, tell: Progress) -> None:
        """Climb from the most promising of the first boxes, and from a pose known already."""
        self.best = best
        tell(0.0)
        if best is not None:
            self._take(self._measure(best.pose))
        boxes, most = self._first_boxes, self._first_most = self._first(0.0)
        if self.found_enough() or not len(most):
            return
        ranked = boxes.kept(np.argsort(-most)[:RANKED])
        ranked, middle = self._climbed(ranked, ROUGH_ROUNDS, every=False)
        tell(0.4)
        ranked, middle = self._climbed(ranked.kept(np.argsort(-middle)[:CLIMBED]), ROUNDS)
        tell(0.6)
        self._measured(ranked, middle)
        tell(1.0)

    def prove(self, deadline: float, tell: Progress) -> Proof:
        """Drop and halve boxes until none is left, or until the deadline (of `time.monotonic`).

        Told to stop, it ends with the bound that it has, as at the deadline.
        """
        if self.best is not None and self.best.value_mm < 0.0:  # it reaches over the edge
            boxes, bounds = self._first(-self.best.value_mm)
        else:
            boxes, bounds = self._kept(self._first_boxes, self._first_most)
        whole = max(_volume(boxes), 1e-300)
        try:
            while len(bounds) and not self.found_enough():
                tell(1.0 - min(1.0, _volume(boxes) / whole))
                if self._gives_up(boxes, deadline):
                    return self._left_open(boxes, bounds)
                boxes, bounds = self._round(boxes, bounds)
        except Cancelled:
            return self._left_open(boxes, bounds)
        return self._proof(np.inf if self.found_enough() else -np.inf, closed=True)

    def _left_open(self, boxes: PoseBoxes, bounds: Floats) -> Proof:
        scale = float((boxes.middle[:, 3] + boxes.half[:, 3]).max(initial=0.0))
        open_mm = float(bounds.max(initial=-np.inf))
        return replace(self._proof(open_mm, closed=False), open_scale=scale)

    def _proof(self, open_mm: float, *, closed: bool) -> Proof:
        value = -np.inf if self.best is None else self.best.value_mm
        bound = max(open_mm, self._dropped_mm, value)
        return Proof(best=self.best, bound_mm=bound, boxes=self._boxes, closed=closed)

    def _gives_up(self, boxes: PoseBoxes, deadline: float) -> bool:
        turns = boxes.middle[:, 3] * boxes.half[:, 2] + boxes.half[:, 3]
        rim_mm = self._gaps.discs.rim_mm
        moves = (np.hypot(*boxes.half[:, :2].T) + rim_mm * turns) / (rim_mm * boxes.middle[:, 3])
        return (
            time.monotonic() > deadline
            or len(boxes.face) > MOST_OPEN
            or float(moves.min()) < LEAST_MOVE_PER_RIM
        )

    def _first(self, out_mm: float) -> tuple[PoseBoxes, Floats]:
        """Return the first boxes that are not dropped at once, and their bounds."""
        x1, y1, x2, y2 = self._gaps.no_steel.steel.bounds
        boxes = first_boxes(
            (x1 - out_mm, y1 - out_mm, x2 + out_mm, y2 + out_mm),
            self._gaps.discs.rim_mm,
            mirror=self._mirror,
            scales=self._scales,
        )
        self._boxes += len(boxes.face)
        return self._kept(boxes, self._most(boxes, self._gaps.discs.leaders))

    def _kept(self, boxes: PoseBoxes, bounds: Floats) -> tuple[PoseBoxes, Floats]:
        keep = self._keep(bounds)
        return boxes.kept(keep), bounds[keep]

    def _keep(self, bounds: Floats) -> NDArray[np.bool_]:
        keep: NDArray[np.bool_] = bounds > self.limit_mm()
        self._dropped_mm = max(self._dropped_mm, float(bounds[~keep].max(initial=-np.inf)))
        return keep

    def _most(self, boxes: PoseBoxes, discs: NDArray[np.intp]) -> Floats:
        """Return what each box's best pose cannot exceed, one row at a time."""
        lots = [self._gaps.rows(part, discs).most for part in _parts(boxes, len(discs))]
        return np.concatenate([np.empty(0), *(lot.min(axis=1) for lot in lots)])

    def _round(self, boxes: PoseBoxes, bounds: Floats) -> tuple[PoseBoxes, Floats]:
        """Drop boxes by fewer, then by more witnesses; halve the others."""
        self._reach_over()
        leaders = self._gaps.discs.leaders
        boxes, bounds = self._lowered(boxes, bounds, self._most(boxes, leaders[:FEW]))
        plain = self._bounded(boxes, lambda part: self._gaps.rows(part, leaders), len(leaders))
        boxes, bounds = self._lowered(boxes, bounds, plain.most)
        found = self._bounded(boxes, self._gaps.telling, len(self._gaps.discs.radii_mm))
        self._look_for_better(boxes, found)
        bounds = np.minimum(bounds, found.most)
        keep = self._keep(bounds)
        parts, whole = halved(boxes.kept(keep), found.lean[keep], self._gaps.discs.rim_mm)
        self._boxes += len(whole)
        return parts, bounds[keep][whole]

    def _look_for_better(self, boxes: PoseBoxes, found: _Bounded) -> None:
        """Climb where a middle is better than the best pose, and from the most promising boxes."""
        value = -np.inf if self.best is None else self.best.value_mm
        if float(found.middle.max(initial=-np.inf)) > value + BETTER_MM:
            better = boxes.kept(np.argsort(-found.middle)[:CLIMBED])
            self._measured(*self._climbed(better, ROUNDS))
        if len(boxes.face) and self._tries < TRIES and self._enough_mm is None:
            self._tries += 1
            tried, middle = self._climbed(boxes.kept(np.argsort(-found.most)[:TRIED]), ROUNDS)
            above = middle > (-np.inf if self.best is None else self.best.value_mm) + BETTER_MM
            self._measured(tried.kept(above), middle[above])

    def _reach_over(self) -> None:
        """Ask only discs outside that can show how far the outline must stick out at least."""
        self._rounds += 1
        if self._rounds <= PLAIN_ROUNDS:
            return  # the first climbs may have missed a place where it does not stick out
        limit = self.limit_mm()
        out_mm = max(0.0, -limit) if math.isfinite(limit) else 0.0
        fine = self._boxes > FINE_AFTER
        if out_mm < LESS_OUT * self._out_mm or out_mm > self._out_mm or fine > self._fine:
            self._out_mm, self._fine = out_mm, fine
            given = self._given
            self._gaps = given if out_mm == 0.0 else given.reaching_over(out_mm, fine=fine)

    def _lowered(self, boxes: PoseBoxes, bounds: Floats, found: Floats) -> tuple[PoseBoxes, Floats]:
        return self._kept(boxes, np.minimum(bounds, found))

    def _bounded(
        self, boxes: PoseBoxes, rows_of: Callable[[PoseBoxes], Rows], width: int
    ) -> _Bounded:
        """Bound each box by all its rows together."""
        limit = self.limit_mm()
        found = [_Bounded(np.empty(0), np.empty((0, 4)), np.empty(0))]
        for part in _parts(boxes, width):
            rows = rows_of(part)
            # A disc outside that is too small to show the limit says nothing of it.
            says = (rows.floor <= limit) | np.isneginf(limit)
            values = np.where(says, rows.values, NO_ROW)
            bounds = box_bounds(values, rows.slopes * says[:, :, None], enough=limit)
            floor = np.where(says, rows.floor, -np.inf).max(axis=1)
            most = np.maximum(bounds.greatest, floor)
            found.append(_Bounded(most, bounds.lean, rows.middle.min(axis=1)))
        return _Bounded(*(np.concatenate(each) for each in zip(*found, strict=True)))

    def _climbed(
        self, boxes: PoseBoxes, rounds: int, *, every: bool = True
    ) -> tuple[PoseBoxes, Floats]:
        """Move boxes to where the discs leave most room, smaller each round; return the room."""
        leaders = self._gaps.discs.leaders
        for number in range(rounds + 1):
            rows = self._gaps.telling(boxes) if every else self._gaps.rows(boxes, leaders)
            if number == rounds:
                break
            at = box_bounds(rows.middle, rows.slopes, enough=-np.inf, most=CLIMB_EXCHANGES).at
            boxes = boxes.moved(at, SHRUNK)
            np.clip(boxes.middle[:, 3], *self._scales, out=boxes.middle[:, 3])
        return boxes, rows.middle.min(axis=1)

    def _measured(self, boxes: PoseBoxes, middle: Floats) -> None:
        """Measure the best of some climbed poses exactly, those that may be worth it."""
        seen: list[int] = []
        for one in np.argsort(-middle).tolist():
            least = -np.inf if self.best is None else self.best.value_mm
            if self._enough_mm is not None:
                least = max(least, self._enough_mm)
            worth = middle[one] > least - WORTH_MEASURING_MM
            if len(seen) == MEASURED or not worth or self.found_enough():
                break
            if all(self._apart_mm(boxes, one, other) >= APART_MM for other in seen):
                seen.append(one)
                self._take(self._measure(self._pose(boxes, one)))

    def _take(self, found: Best) -> None:
        if self.best is None or found.value_mm > self.best.value_mm:
            self.best = found

    def _apart_mm(self, boxes: PoseBoxes, one: int, other: int) -> float:
        if boxes.face[one] != boxes.face[other]:
            return math.inf
        x, y, turn, grow = (boxes.middle[one] - boxes.middle[other]).tolist()
        turn = math.remainder(turn, math.tau) * float(boxes.middle[one, 3])
        rim_mm = self._gaps.discs.rim_mm
        return float(math.hypot(x, y) + rim_mm * (abs(turn) + abs(grow)))

    def _pose(self, boxes: PoseBoxes, one: int) -> Pose:
        x, y, theta, scale = boxes.middle[one].tolist()
        mirrored = bool(boxes.face[one] < 0.0)
        turned = Pose(theta_rad=math.remainder(theta, math.tau), mirrored=mirrored, scale=scale)
        off_x, off_y = turned.points(self._gaps.discs.centre_mm[None])[0].tolist()
        return replace(turned, x_mm=x - off_x, y_mm=y - off_y)


class _Bounded(NamedTuple):
    """Of B boxes: what no pose exceeds, what that owes to each axis, and the same at the middle."""

    most: Floats
    lean: Floats
    middle: Floats


def _volume(boxes: PoseBoxes) -> float:
    return float(boxes.half.prod(axis=1).sum())


def _parts(boxes: PoseBoxes, width: int) -> Sequence[PoseBoxes]:
    """Return boxes in lots whose rows of some width fit the work space."""
    size = max(1, ROWS_AT_ONCE // width)
    count = len(boxes.face)
    return [boxes.kept(np.arange(at, min(at + size, count))) for at in range(0, count, size)]

"""Promising poses over a whole piece of steel: all places, all angles, both faces.

Boxes of poses (a square of places by a span of angles) are scored at their middle, all at once in
arrays, on the rough distance field. The boxes whose middle is so bad that even their best pose
could hardly beat the best middle are dropped, the rest are halved in all three directions. This
finds poses; it proves nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from geometry.contacts import Fitting
from geometry.distance_field import DistanceField, Singles
from geometry.pose import Pose
from geometry.segments import Floats

FIRST_ANGLES = 72  # 5 degrees
FIRST_STEP_PER_RIM = 0.07  # a first square moves points about as far as a first span of angles
MOST_FIRST_BOXES = 300_000
LAST_STEP_MM = 0.6
LEAST_ROUNDS = 3  # down to 0.6 degrees, for small outlines
KEPT = 4000  # boxes a round; more cost time and found nothing more
TRUST = 0.7  # of the farthest that a box moves any point; 1 would be a bound, but keeps far more
FAR_APART, NEAR_APART = 8.0, 2.0  # of the last step: poses that are climbed from
SAMPLES = 90
FEW = 14  # samples that throw out most poses first
CHUNK = 100_000  # values looked up at once: the work space stays in the processor's cache


class _Boxes(NamedTuple):
    """Middles of boxes of poses: the place of the outline's centre, and the angle."""

    x_mm: Singles
    y_mm: Singles
    theta_rad: Singles
    face: Singles  # 1, or -1 where mirrored

    def kept(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> _Boxes:
        return _Boxes(*(part[chosen] for part in self))


class Scorer:
    """Rough clearances of many poses of one outline at one scale."""

    def __init__(self, fitting: Fitting, scale: float = 1.0) -> None:
        self._field: DistanceField = fitting.field
        self._fitting = fitting
        self._discs = fitting.discs_mm.astype(np.float32)
        self._centre = fitting.centre_mm.astype(np.float32)
        self._scale = np.float32(scale)
        samples = (fitting.points_mm - fitting.centre_mm) * scale
        self._all_samples = samples.astype(np.float32)
        samples = spread_points(fitting.outline, fitting.centre_mm, SAMPLES) - fitting.centre_mm
        self._samples = (samples * scale).astype(np.float32)

    def scores_mm(self, boxes: _Boxes, floor_mm: float, *, every_point: bool = False) -> Floats:
        """Return each pose's least value; where it is below the floor, something below that."""
        scores = np.full(len(boxes.x_mm), np.inf)
        going = np.arange(len(scores))
        measures: list[tuple[Callable[[_Boxes, Singles], Singles], Singles]]
        measures = [(self._least, self._samples[:FEW]), (self._least, self._samples[FEW:])]
        if every_point:
            measures.append((self._least, self._all_samples))
        if len(self._discs):
            measures.append((self._from_discs, self._discs))
        for measure, against in measures:
            size = CHUNK // len(against) + 1
            for first in range(0, len(going), size):
                some = going[first : first + size]
                scores[some] = np.minimum(scores[some], measure(boxes.kept(some), against))
            going = going[scores[going] > floor_mm]
        return scores

    def _least(self, boxes: _Boxes, samples: Singles) -> Singles:
        """Return each pose's least value at points of the outline."""
        cos, sin = np.cos(boxes.theta_rad)[:, None], np.sin(boxes.theta_rad)[:, None]
        along, up = samples[:, 0], samples[:, 1] * boxes.face[:, None]
        x = boxes.x_mm[:, None] + cos * along - sin * up
        y = boxes.y_mm[:, None] + sin * along + cos * up
        least: Singles = self._field.rough(x, y).min(axis=1)
        return least

    def _from_discs(self, boxes: _Boxes, discs: Singles) -> Singles:
        """Return each pose's least distance from the discs in holes and flaws."""
        cos, sin = np.cos(boxes.theta_rad)[:, None], np.sin(boxes.theta_rad)[:, None]
        right = discs[:, 0] - boxes.x_mm[:, None]
        up = discs[:, 1] - boxes.y_mm[:, None]
        own_x = (cos * right + sin * up) / self._scale + self._centre[0]
        own_y = boxes.face[:, None] * (cos * up - sin * right) / self._scale + self._centre[1]
        depth = self._fitting.outline_depth(own_x, own_y)
        gaps = -self._scale * depth - discs[:, 2]
        least: Singles = gaps.min(axis=1)
        return least


def promising_poses(
    fitting: Fitting,
    *,
    mirror: bool,
    count: int,
    seed: int = 0,
    scale: float = 1.0,
    each_round: Callable[[float], None] = lambda share: None,
) -> list[Pose]:
    """Return up to `count` distinct poses, the best first.

    Parameters
    ----------
    fitting : Fitting
        The outline and the steel.
    mirror : bool
        Whether the outline may be turned over.
    count : int
        Poses wanted.
    seed : int
        Shifts the first grid, so that another seed looks at other poses.
    scale : float
        Scale of the outline.
    each_round : callable
        Called before each round with the share of the work done; may raise.
    """
    scorer = Scorer(fitting, scale)
    rim = fitting.rim_mm * scale
    step, turn = _first_step_mm(fitting, rim, mirror), 2.0 * np.pi / FIRST_ANGLES
    boxes = _first_boxes(fitting, step, mirror, seed)
    rounds = max(LEAST_ROUNDS, int(np.ceil(np.log2(step / LAST_STEP_MM))))
    best = -np.inf
    for number in range(rounds + 1):
        each_round(number / (rounds + 1))
        moves = TRUST * (step * np.sqrt(0.5) + rim * turn / 2.0) + fitting.field.cell_mm
        scores = scorer.scores_mm(boxes, best - moves)
        best = max(best, float(scores.max()))
        chosen = np.flatnonzero(scores > best - moves)
        if len(chosen) > KEPT:
            chosen = chosen[np.argpartition(scores[chosen], -KEPT)[-KEPT:]]
        boxes, scores = boxes.kept(chosen), scores[chosen]
        if number < rounds:
            step, turn = step / 2.0, turn / 2.0
            boxes = _divided(boxes, step, turn)
    # Between the samples a rough edge may reach in: all points rank what is left.
    scores = scorer.scores_mm(boxes, -np.inf, every_point=True)
    picked = _distinct(boxes, scores, rim, step, count)
    return [
        fitting.pose_at(
            np.array([boxes.x_mm[i], boxes.y_mm[i]]),
            float(boxes.theta_rad[i]),
            bool(boxes.face[i] < 0.0),
            scale,
        )
        for i in picked
    ]


def _first_step_mm(fitting: Fitting, rim: float, mirror: bool) -> float:
    """Return the side of a first square, larger where a small outline lies in a large sheet."""
    x1, y1, x2, y2 = fitting.steel.bounds
    squares = MOST_FIRST_BOXES / (FIRST_ANGLES * (2 if mirror else 1))
    return max(FIRST_STEP_PER_RIM * rim, float(np.sqrt((x2 - x1) * (y2 - y1) / squares)))


def _first_boxes(fitting: Fitting, step: float, mirror: bool, seed: int) -> _Boxes:
    shift = np.random.default_rng(seed).uniform(0.0, 1.0, 3)
    x1, y1, x2, y2 = fitting.steel.bounds
    x = np.arange(x1 - shift[0] * step, x2 + step, step)
    y = np.arange(y1 - shift[1] * step, y2 + step, step)
    theta = (np.arange(FIRST_ANGLES) + shift[2]) * (2.0 * np.pi / FIRST_ANGLES)
    faces = np.array([1.0, -1.0] if mirror else [1.0])
    axes = (axis.astype(np.float32) for axis in (x, y, theta, faces))
    return _Boxes(*(axis.ravel() for axis in np.meshgrid(*axes)))


def _divided(boxes: _Boxes, step: float, turn: float) -> _Boxes:
    """Return the eight boxes of half the size in each box."""
    signs = np.array([[a, b, c] for a in (-1, 1) for b in (-1, 1) for c in (-1, 1)])
    offsets = (signs * (step / 2.0, step / 2.0, turn / 2.0)).astype(np.float32)
    return _Boxes(
        (boxes.x_mm[:, None] + offsets[:, 0]).ravel(),
        (boxes.y_mm[:, None] + offsets[:, 1]).ravel(),
        (boxes.theta_rad[:, None] + offsets[:, 2]).ravel(),
        np.repeat(boxes.face, 8),
    )


def _distinct(boxes: _Boxes, scores: Floats, rim: float, step: float, count: int) -> list[int]:
    """Return poses that lie well apart from all better ones picked, then some that lie closer.

    A rough edge has many local bests within a millimetre or two of each other.
    """
    picked: list[int] = []
    for apart in (FAR_APART * step, NEAR_APART * step):
        left = np.argsort(-scores, kind="stable")
        for one in picked:
            left = left[_distances_mm(boxes, left, one, rim) >= apart]
        while len(left) and len(picked) < count:
            picked.append(int(left[0]))
            left = left[_distances_mm(boxes, left, picked[-1], rim) >= apart]
    return picked


def _distances_mm(boxes: _Boxes, some: NDArray[np.intp], one: int, rim: float) -> Floats:
    """Return how far some poses carry the outline's points from where one pose has them."""
    turn = boxes.theta_rad[some] - boxes.theta_rad[one]
    turned = np.abs(np.arctan2(np.sin(turn), np.cos(turn))) * rim
    shifted = np.hypot(boxes.x_mm[some] - boxes.x_mm[one], boxes.y_mm[some] - boxes.y_mm[one])
    distances: Floats = shifted + turned
    return np.where(boxes.face[some] == boxes.face[one], distances, np.inf)


def spread_points(outline: Polygon, centre_mm: Floats, count: int) -> Floats:
    """Return points of an outline's edge, each as far as can be from those before it.

    The first is the farthest from the centre. So any first few already speak for the whole.
    """
    step = outline.exterior.length / (4 * count)
    points = shapely.get_coordinates(outline.exterior.segmentize(step))[:-1]
    chosen = [int(np.hypot(*(points - centre_mm).T).argmax())]
    lonely = np.hypot(*(points - points[chosen[0]]).T)
    while len(chosen) < min(count, len(points)):
        chosen.append(int(lonely.argmax()))
        lonely = np.minimum(lonely, np.hypot(*(points - points[chosen[-1]]).T))
    return points[chosen]

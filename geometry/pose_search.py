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
from geometry.distance_field import DistanceField
from geometry.pose import Pose
from geometry.segments import Floats

FIRST_ANGLES = 72  # 5 degrees
FIRST_STEP_PER_RIM = 0.07  # a first square moves points about as far as a first span of angles
LAST_STEP_MM = 0.6
LEAST_ROUNDS = 3  # down to 0.6 degrees, for small outlines
KEPT = 4000  # boxes a round; more cost time and found nothing more
TRUST = 0.7  # of the farthest that a box moves any point; 1 would be a bound, but keeps far more
SAMPLES = 90
FEW = 14  # samples that throw out most poses first
CHUNK = 20_000  # poses scored at once: some 10 MB of work space


class _Boxes(NamedTuple):
    """Middles of boxes of poses: the place of the outline's centre, and the angle."""

    x_mm: Floats
    y_mm: Floats
    theta_rad: Floats
    face: Floats  # 1, or -1 where mirrored

    def kept(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> _Boxes:
        return _Boxes(*(part[chosen] for part in self))


class Scorer:
    """Rough clearances of many poses of one outline at one scale."""

    def __init__(self, fitting: Fitting, scale: float = 1.0) -> None:
        self._field: DistanceField = fitting.field
        self._discs = fitting.discs_mm
        self._scale = scale
        samples = spread_points(fitting.outline, fitting.centre_mm, SAMPLES)
        self._samples = (samples - fitting.centre_mm) * scale
        self._fitting = fitting

    def scores_mm(self, boxes: _Boxes, floor_mm: float) -> Floats:
        """Return each pose's least value, or something below the floor where it is below it."""
        scores = np.full(len(boxes.x_mm), -np.inf)
        for first in range(0, len(scores), CHUNK):
            part = np.arange(first, min(first + CHUNK, len(scores)))
            few = self._least(boxes.kept(part), self._samples[:FEW])
            going = part[few > floor_mm]
            if not len(going):
                continue
            rest = self._least(boxes.kept(going), self._samples[FEW:])
            scores[going] = np.minimum(few[few > floor_mm], rest)
            self._lower_by_discs(boxes, going, scores)
        return scores

    def _least(self, boxes: _Boxes, samples: Floats) -> Floats:
        cos, sin = np.cos(boxes.theta_rad)[:, None], np.sin(boxes.theta_rad)[:, None]
        along, up = samples[:, 0], samples[:, 1] * boxes.face[:, None]
        x = boxes.x_mm[:, None] + cos * along - sin * up
        y = boxes.y_mm[:, None] + sin * along + cos * up
        least: Floats = self._field.rough(x, y).min(axis=1).astype(float)
        return least

    def _lower_by_discs(self, boxes: _Boxes, going: NDArray[np.intp], scores: Floats) -> None:
        """Lower the scores of poses in which the outline comes near a hole of the steel."""
        if not len(self._discs):
            return
        some = boxes.kept(going)
        cos, sin = np.cos(some.theta_rad)[:, None], np.sin(some.theta_rad)[:, None]
        right = self._discs[:, 0] - some.x_mm[:, None]
        up = self._discs[:, 1] - some.y_mm[:, None]
        own_x = (cos * right + sin * up) / self._scale + self._fitting.centre_mm[0]
        own_y = some.face[:, None] * (cos * up - sin * right) / self._scale
        depth = self._fitting.outline_depth(own_x, own_y + self._fitting.centre_mm[1])
        gaps = -self._scale * depth - self._discs[:, 2]
        scores[going] = np.minimum(scores[going], gaps.min(axis=1))


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
    step, turn = FIRST_STEP_PER_RIM * rim, 2.0 * np.pi / FIRST_ANGLES
    boxes = _first_boxes(fitting, step, mirror, seed)
    rounds = max(LEAST_ROUNDS, int(np.ceil(np.log2(step / LAST_STEP_MM))))
    best = -np.inf
    for number in range(rounds + 1):
        each_round(number / (rounds + 1))
        moves = TRUST * (step * np.sqrt(0.5) + rim * turn / 2.0)
        scores = scorer.scores_mm(boxes, best - moves)
        best = max(best, float(scores.max()))
        chosen = np.flatnonzero(scores > best - moves)
        if len(chosen) > KEPT:
            chosen = chosen[np.argpartition(scores[chosen], -KEPT)[-KEPT:]]
        boxes, scores = boxes.kept(chosen), scores[chosen]
        if number < rounds:
            step, turn = step / 2.0, turn / 2.0
            boxes = _divided(boxes, step, turn)
    picked = _distinct(boxes, scores, rim, 8.0 * step, count)
    return [
        fitting.pose_at(
            np.array([boxes.x_mm[i], boxes.y_mm[i]]),
            float(boxes.theta_rad[i]),
            bool(boxes.face[i] < 0.0),
            scale,
        )
        for i in picked
    ]


def _first_boxes(fitting: Fitting, step: float, mirror: bool, seed: int) -> _Boxes:
    shift = np.random.default_rng(seed).uniform(0.0, 1.0, 3)
    x1, y1, x2, y2 = fitting.steel.bounds
    x = np.arange(x1 - shift[0] * step, x2 + step, step)
    y = np.arange(y1 - shift[1] * step, y2 + step, step)
    theta = (np.arange(FIRST_ANGLES) + shift[2]) * (2.0 * np.pi / FIRST_ANGLES)
    faces = np.array([1.0, -1.0] if mirror else [1.0])
    return _Boxes(*(axis.ravel() for axis in np.meshgrid(x, y, theta, faces)))


def _divided(boxes: _Boxes, step: float, turn: float) -> _Boxes:
    """Return the eight boxes of half the size in each box."""
    signs = np.array([[a, b, c] for a in (-1, 1) for b in (-1, 1) for c in (-1, 1)]) / 2.0
    return _Boxes(
        (boxes.x_mm[:, None] + step * signs[:, 0]).ravel(),
        (boxes.y_mm[:, None] + step * signs[:, 1]).ravel(),
        (boxes.theta_rad[:, None] + turn * signs[:, 2]).ravel(),
        np.repeat(boxes.face, 8),
    )


def _distinct(boxes: _Boxes, scores: Floats, rim: float, apart: float, count: int) -> list[int]:
    """Return the best poses that lie apart from all better ones picked."""
    left = np.argsort(-scores, kind="stable")
    picked: list[int] = []
    while len(left) and len(picked) < count:
        best = left[0]
        picked.append(int(best))
        turn = boxes.theta_rad[left] - boxes.theta_rad[best]
        turned = np.abs(np.arctan2(np.sin(turn), np.cos(turn))) * rim
        shifted = np.hypot(boxes.x_mm[left] - boxes.x_mm[best], boxes.y_mm[left] - boxes.y_mm[best])
        same = (shifted + turned < apart) & (boxes.face[left] == boxes.face[best])
        left = left[~same]
    return picked


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

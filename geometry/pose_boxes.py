"""Boxes of poses: a rectangle of places for the outline's centre, by spans of angles and scales."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from geometry.segments import Floats

FIRST_PER_RIM = 0.1  # half a first square's side: so much of the outline's enclosing radius
MOST_FIRST = 60_000
SHARE_TO_HALVE = 0.4  # of the axis that counts most: an axis that counts so much is halved too
SIZE_COUNTS = 0.02  # the width of a box against what its bound owes to it


class PoseBoxes(NamedTuple):
    """Boxes of poses.

    ``middle`` (B, 4) x, y (mm), angle (rad) and scale at the middle, ``half`` (B, 4) half the
    sides, ``face`` (B,) 1, or -1 where the outline is turned over.
    """

    middle: Floats
    half: Floats
    face: Floats

    def kept(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> PoseBoxes:
        """Return some of the boxes."""
        return PoseBoxes(self.middle[chosen], self.half[chosen], self.face[chosen])

    def moved(self, at: Floats, shrunk: float) -> PoseBoxes:
        """Return boxes about (B, 4) points, -1 to 1 in the old ones, their sides multiplied."""
        return PoseBoxes(self.middle + at * self.half, self.half * shrunk, self.face)


def first_boxes(
    bounds: tuple[float, float, float, float],
    rim_mm: float,
    *,
    mirror: bool,
    scales: tuple[float, float],
) -> PoseBoxes:
    """Return boxes that cover a rectangle of places, all angles, some scales, the faces allowed.

    Parameters
    ----------
    bounds : tuple of float
        The rectangle, mm: left, bottom, right, top.
    rim_mm : float
        The radius of the circle round the outline at scale 1.
    mirror : bool
        Whether the outline may be turned over.
    scales : tuple of float
        The least and the greatest scale; may be equal.
    """
    x1, y1, x2, y2 = bounds
    faces = np.array([1.0, -1.0] if mirror else [1.0])
    turns = np.ceil(np.pi / FIRST_PER_RIM)
    half = max(
        FIRST_PER_RIM * rim_mm * scales[1],
        float(np.sqrt((x2 - x1) * (y2 - y1) * turns * len(faces) / (4.0 * MOST_FIRST))),
    )
    x, half_x = _cut(x1, x2, half)
    y, half_y = _cut(y1, y2, half)
    theta, half_theta = _cut(0.0, 2.0 * np.pi, FIRST_PER_RIM)
    scale, half_scale = sum(scales) / 2.0, (scales[1] - scales[0]) / 2.0
    grid = np.meshgrid(x, y, theta, scale, faces)
    middle = np.column_stack([axis.ravel() for axis in grid[:4]])
    halves = np.broadcast_to([half_x, half_y, half_theta, half_scale], middle.shape).copy()
    return PoseBoxes(middle, halves, grid[4].ravel())


def _cut(low: float, high: float, half: float) -> tuple[Floats, float]:
    count = max(1, int(np.ceil((high - low) / (2.0 * half))))
    half = (high - low) / (2.0 * count)
    return np.linspace(low + half, high - half, count), half


def halved(boxes: PoseBoxes, lean: Floats, rim_mm: float) -> tuple[PoseBoxes, NDArray[np.intp]]:
    """Return the boxes cut in halves along the axes that their bounds owe most to.

    Parameters
    ----------
    boxes : PoseBoxes
        B boxes.
    lean : numpy.ndarray
        (B, 4) what each bound owes to each axis, mm.
    rim_mm : float
        The radius of the circle round the outline at scale 1.

    Returns
    -------
    boxes, whole : PoseBoxes, numpy.ndarray
        The parts, and (N,) the number of the box that each is part of.
    """
    size = boxes.half * (1.0, 1.0, rim_mm, rim_mm)
    size[:, 2] *= boxes.middle[:, 3]
    owed = lean + SIZE_COUNTS * size
    wanted = owed > SHARE_TO_HALVE * owed.max(axis=1, keepdims=True)
    whole = np.arange(len(boxes.face))
    for axis in range(4):
        cut = wanted[whole, axis]
        step = np.zeros((int(cut.sum()), 4))
        step[:, axis] = boxes.half[cut, axis] / 2.0
        one = boxes.kept(cut)
        half = one.half - step
        boxes = PoseBoxes(
            np.concatenate([one.middle - step, one.middle + step, boxes.middle[~cut]]),
            np.concatenate([half, half, boxes.half[~cut]]),
            np.concatenate([one.face, one.face, boxes.face[~cut]]),
        )
        whole = np.concatenate([whole[cut], whole[cut], whole[~cut]])
    return boxes, whole

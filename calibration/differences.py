"""How far what was seen lies off what it should be, in units of its standard deviation.

The unknown numbers are the camera's, three of the bend if the surface may bend, then five
of the sheet's shape if there is a sheet, then five for each figure: where it lies on the sheet (x,
y, angle) and how far it is stretched.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from calibration.bend import BEND, CURVATURE, DOME
from calibration.camera import BENT_STEPS, CAMERA, back_project
from calibration.seen import PlacesSeen, Seen, SheetSeen, SquareSeen

Points = NDArray[np.float64]

# standard deviations of what a maker's desk gives
SQUARE = 0.0007  # of the angles between a paper's sides, rad: 0.2 mm over a long side
SQUARE_UNKNOWN = 0.006  # of those of a sheet that was cut nobody knows how: 0.35 deg
EDGE_NODE_MM = 0.12  # a mean of ten edge places: the cut, the shadow under it, the fit
#: Each way, of a photo that a hand took "from straight above": as wide as if every lean up to 20
#: degrees, whichever way, were equally likely (half of that each way).
TILT_RAD = math.radians(10.0)
_PINNED = 1e-3  # mm, and share of a radian: holds the frame where nothing measures it
_STEPS_SHEET = (1e-3, 1e-3, 1e-6, 1e-6, 1e-6)
_STEPS_FIGURE = (1e-3, 1e-3, 1e-6, 1e-6, 1e-6)


class Differences:
    """The function from numbers (..., n) to differences (..., m), and its derivatives."""

    def __init__(self, seen: Seen) -> None:
        self.seen = seen
        parts = [line.ends_px for line in seen.lines]
        parts += [square.ends_px.reshape(-1, 2) for square in seen.squares]
        if seen.sheet is not None:
            parts += list(seen.sheet.edges.sides_px)
        parts += [figure.points_px for figure in seen.figures]
        self._points_px = np.vstack([np.empty((0, 2)), *parts])
        self._ends = np.cumsum([len(part) for part in parts])[:-1]
        sheet = _STEPS_SHEET if seen.sheet is not None else ()
        self.count = len(CAMERA) + len(BEND) * seen.bends
        self.steps = np.array(
            [*BENT_STEPS[: self.count], *sheet, *_STEPS_FIGURE * len(seen.figures)]
        )

    def __call__(self, numbers: Points) -> Points:
        """Return the differences in units of their deviations."""
        seen = self.seen
        camera, extra = numbers[..., : self.count], numbers[..., self.count :]
        measured = back_project(camera, seen.middle_px, self._points_px)
        places = iter(np.split(measured, self._ends, axis=-2))
        parts = [self._of_camera(camera)]
        for k, line in enumerate(seen.lines):
            ends = next(places)
            way = ends[..., 1, :] - ends[..., 0, :]
            length = np.hypot(way[..., 0], way[..., 1])
            parts.append((length - line.length_mm)[..., None] / line.sigma_mm)
            if k == 0 and not seen.shaped:
                pinned = [ends[..., 0, 0], ends[..., 0, 1], ends[..., 1, 1]]
                parts.append(np.stack(pinned, axis=-1) / _PINNED)
        parts += [_off_square(square, next(places)) for square in seen.squares]
        if seen.sheet is not None:
            sides = [next(places) for _ in range(4)]
            parts.append(_off_sheet(seen.sheet, extra[..., :5], sides))
            extra = extra[..., 5:]
        for k, figure in enumerate(seen.figures):
            numbers_of_it = extra[..., 5 * k : 5 * k + 5]
            parts.append(_off_figure(figure, numbers_of_it, next(places)))
            if k == 0 and seen.sheet is None:
                parts.append(numbers_of_it[..., :3] / (_PINNED, _PINNED, 1e-2 * _PINNED))
        return np.concatenate(parts, axis=-1)

    def derivatives(self, numbers: Points) -> Points:
        """Return how each difference changes with each number, (m, n)."""
        moved = self(numbers + np.vstack([np.zeros(len(self.steps)), np.diag(self.steps)]))
        slopes: Points = ((moved[1:] - moved[0]) / self.steps[:, None]).T
        return slopes

    def _of_camera(self, camera: Points) -> Points:
        """Return how far the camera's numbers are off what they are likely to be."""
        seen = self.seen
        focal, focal_sigma = seen.focal_prior
        likely = np.zeros(len(CAMERA))
        likely[6] = math.log(focal)
        likely[9:11], bow_sigmas = seen.bow_prior
        known, sigmas = [6, 7, 8, 9, 10], [focal_sigma, *[seen.centre_sigma_px] * 2, *bow_sigmas]
        if not seen.shaped or seen.cut:
            known, sigmas = [*known, 0, 1], [*sigmas, TILT_RAD, TILT_RAD]
        off: Points = (camera[..., : len(CAMERA)] - likely)[..., known] / sigmas
        return np.concatenate([off, _off_flat(camera[..., len(CAMERA) :])], axis=-1)


def _off_flat(bend: Points) -> Points:
    """Return how far a bend, if there is one, is off what paper that lies well is likely to do."""
    if not bend.shape[-1]:
        return bend
    along, both, up = np.moveaxis(bend, -1, 0)[..., None]
    return np.concatenate([bend / CURVATURE, (along * up - both**2) / DOME], axis=-1)


def _off_square(square: SquareSeen, ends: Points) -> Points:
    """Return how far two lines lie off a right angle; `ends` is (..., 4, 2)."""
    one, other = ends[..., 1, :] - ends[..., 0, :], ends[..., 3, :] - ends[..., 2, :]
    lengths = np.linalg.norm(one, axis=-1) * np.linalg.norm(other, axis=-1)
    off: Points = ((one * other).sum(axis=-1) / lengths)[..., None] / square.sigma_rad
    return off


def _off_sheet(sheet: SheetSeen, shape: Points, sides: list[Points]) -> Points:
    """Return how far the edges' nodes lie off the sheet's sides, and the sides off their size.

    `shape` is width, height, and three small angles: the lean of the left and right side
    together, and how much those two, and bottom and top, part from each other.
    """
    width, height, lean, part_x, part_y = np.moveaxis(shape, -1, 0)[..., None]
    side_sigma = 0.3 * sheet.width_mm if sheet.free else sheet.side_sigma_mm
    square = SQUARE_UNKNOWN if sheet.free else SQUARE
    parts = [
        (shape[..., :2] - (sheet.width_mm, sheet.height_mm)) / side_sigma,
        shape[..., 2:] / square,
    ]
    for k, nodes in enumerate(sides):
        x, y = nodes[..., 0], nodes[..., 1]
        if k % 2:
            off = x - (width if k == 1 else 0.0) - (lean + (part_x if k == 1 else 0.0)) * y
        else:
            off = y - (height + part_y * (x - 0.5 * width) if k == 2 else 0.0)
        parts.append(off / EDGE_NODE_MM)
    return np.concatenate(parts, axis=-1)


def _off_figure(figure: PlacesSeen, numbers: Points, measured: Points) -> Points:
    """Return how far a figure's places lie off where it should show them."""
    stretch = numbers[..., 3:5] / np.maximum(figure.stretch_sigma, 1e-6)
    off = (measured - placed(figure, numbers)) / figure.sigma_mm
    return np.concatenate([stretch, off.reshape(*off.shape[:-2], -1)], axis=-1)


def placed(figure: PlacesSeen, numbers: Points) -> Points:
    """Return a figure's places on the sheet, (..., N, 2), by its numbers (..., 5)."""
    cos, sin = np.cos(numbers[..., 2]), np.sin(numbers[..., 2])
    turn = np.stack([np.stack([cos, sin], -1), np.stack([-sin, cos], -1)], axis=-2)
    stretched = figure.places_mm * (1.0 + numbers[..., None, 3:5])
    where: Points = stretched @ turn + numbers[..., None, :2]
    return where

"""Where the adjustment starts: a camera that shows the references about as they were seen."""

from __future__ import annotations

import dataclasses
import math

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.bend import BEND
from calibration.camera import CAMERA, back_project, numbers_from_pose
from calibration.differences import Differences
from calibration.seen import LineSeen, PlacesSeen, Seen, SheetSeen

Points = NDArray[np.float64]

CUT_SHARES = np.linspace(0.25, 1.0, 16)  # of a side that leaves the picture, to start from


def starts(seen: Seen) -> list[Points]:
    """Return the numbers to start from, likeliest first; several where a sheet's side is cut off.

    What was cut off lay beyond that side, and with it the whole picture's middle.

    Raises
    ------
    ValueError
        If there is no reference at all.
    """
    gone = [] if seen.sheet is None else [not len(side) for side in seen.sheet.edges.sides_px]
    if not any(gone):
        return [_start(seen), *([_start(seen, lean=1)] if seen.shaped else ())]
    beyond = np.array([(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)])[gone.index(True)]
    differences = Differences(seen)
    found = []
    for far in (1.5, 2.5, 0.5, -1.0) if seen.cut else (0.0,):
        centre = far * seen.centre_sigma_px * beyond
        tried = np.array([_start(seen, centre, share) for share in CUT_SHARES])
        found.append(tried[np.argmin((differences(tried) ** 2).sum(axis=-1))])
    return found


def straight_above(line: LineSeen, seen: Seen) -> Points:
    """Return the camera straight above a line that runs from the origin along x."""
    (ax, ay), (bx, by) = line.ends_px
    focal, _ = seen.focal_prior
    distance = focal * line.length_mm / math.dist(line.ends_px[0], line.ends_px[1])
    roll = math.atan2(by - ay, bx - ax)
    numbers = np.zeros(len(CAMERA))
    numbers[2], numbers[3], numbers[6] = roll, math.log(distance), math.log(focal)
    numbers[9:11], _ = seen.bow_prior
    numbers[4:6] = -back_project(numbers, seen.middle_px, [[ax, ay]])[0]
    return numbers


def _start(
    seen: Seen, centre_px: Points | None = None, share: float = 1.0, lean: int = 0
) -> Points:
    """Return the numbers to start from: camera, then sheet's shape, then the figures' places.

    From afar a surface that leans one way looks like one that leans the other: `lean` is 1 for
    the less likely.
    """
    if centre_px is not None:
        middle = np.array(seen.middle_px) + centre_px
        there = dataclasses.replace(seen, middle_px=(float(middle[0]), float(middle[1])))
        moved = _start(there, share=share)
        moved[7:9] = centre_px
        return moved
    if seen.sheet is not None:
        camera = _over_sheet(seen.sheet, seen, share, lean)
        extra = [seen.sheet.width_mm, seen.sheet.height_mm, 0.0, 0.0, 0.0]
    elif seen.figures:
        camera = _posed(seen.figures[0].points_px, seen.figures[0].places_mm, seen, lean)
        extra = []
    elif seen.lines:
        return straight_above(seen.lines[0], seen)
    else:
        raise ValueError("nothing to adjust to")
    figures = [_place(camera, seen, figure) for figure in seen.figures]
    return np.concatenate([camera, [0.0] * len(BEND) * seen.bends, extra, *figures])


def _place(camera: Points, seen: Seen, figure: PlacesSeen) -> Points:
    """Return where a figure lies by a camera: x, y, angle, and no stretch."""
    seen_mm = back_project(camera, seen.middle_px, figure.points_px) @ (1.0, 1.0j)
    true_mm = figure.places_mm @ (1.0, 1.0j)
    angle = np.angle(np.vdot(true_mm - true_mm.mean(), seen_mm - seen_mm.mean()))
    shift = seen_mm.mean() - true_mm.mean() * np.exp(1j * angle)
    return np.array([shift.real, shift.imag, angle, 0.0, 0.0])


def _over_sheet(sheet: SheetSeen, seen: Seen, share: float, lean: int) -> Points:
    """Return the camera over a sheet of which a share is seen where it leaves the picture."""
    low, high = np.zeros(2), np.array([sheet.width_mm, sheet.height_mm])
    for k, side in enumerate(sheet.edges.sides_px):
        if not len(side):
            axis = 1 - k % 2
            if k in (0, 3):
                low[axis] = (1.0 - share) * high[axis]
            else:
                high[axis] *= share
    return _posed(sheet.edges.corners_px, box(low, high), seen, lean)


def box(low: ArrayLike, high: ArrayLike) -> Points:
    """Return the corners (ll, lr, ur, ul) of a box, mm."""
    (left, bottom), (right, top) = np.asarray(low, float), np.asarray(high, float)
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])


def _posed(points_px: Points, flat_mm: Points, seen: Seen, lean: int) -> Points:
    """Return the camera over four or more places, mm, from their pixels."""
    focal, _ = seen.focal_prior
    places = np.column_stack([flat_mm, np.zeros(len(flat_mm))])
    lens = np.array([[focal, 0, seen.middle_px[0]], [0, focal, seen.middle_px[1]], [0, 0, 1]])
    _, turns, shifts, _ = cv2.solvePnPGeneric(
        places, points_px.copy(), lens, None, flags=cv2.SOLVEPNP_IPPE
    )
    k = min(lean, len(turns) - 1)
    rotation, _ = cv2.Rodrigues(turns[k])
    shift = np.asarray(shifts[k], float).ravel()
    return numbers_from_pose(np.asarray(rotation, float), shift, focal)

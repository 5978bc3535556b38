"""One least-squares adjustment of the camera over the sheet to all references at once.

Every reference is measured on the sheet through the camera's numbers, and the differences from
what it should be are made small, each in units of its own standard deviation.  What is not
known well (focal length, lens, tilt) enters as a weak prior with a stated deviation, so that
the covariance of the result says honestly what the references did not settle.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.seen import FrameSeen, LineSeen, Seen, SheetSeen
from calibration.sheet_map import CAMERA, STEPS, SheetMap, back_project, numbers_from_pose

Points = NDArray[np.float64]

# standard deviations of what a maker's desk gives
SIDE_MM = 0.5  # a side of copy paper; ISO 216 itself allows 2
SQUARE = 0.0007  # of the angles between a paper's sides, rad: 0.2 mm over a long side
SQUARE_UNKNOWN = 0.006  # of those of a sheet that was cut nobody knows how: 0.35 deg
EDGE_NODE_MM = 0.12  # a mean of ten edge places: the cut, the shadow under it, the fit
TILT_RAD = math.radians(5.0)  # each way, of a photo that a hand took "from straight above"
TILT_CUT_RAD = math.radians(10.0)  # each way, of a cut picture, whose middle is not known either
K1, K2 = 0.02, 0.005  # of a phone's main lens after its own correction
CUT_SHARES = np.linspace(0.25, 1.0, 16)  # of a side that leaves the picture, to start from
CENTRE_REACH = 0.35  # of the diagonal: no more than the better part of a picture is cut off
STUCK = 3.0  # half the squared differences; other starts are tried above
_PINNED_MM = 1e-3  # holds the frame where nothing measures it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Adjusted:
    """What came out.

    Parameters
    ----------
    map : SheetMap
    cost : float
        Sum of the squared differences in units of their deviations.
    sides_mm, sides_covariance : ndarray, (2,) and (2, 2)
        The sheet's sides as measured; empty without a sheet.
    focal_sigma : float
        Deviation of the focal length's logarithm after all.
    """

    map: SheetMap
    cost: float
    sides_mm: Points
    sides_covariance: Points
    focal_sigma: float


def adjust(seen: Seen, *, thorough: bool = False) -> Adjusted:
    """Return the camera that agrees best with everything that was seen.

    Parameters
    ----------
    seen : Seen
    thorough : bool
        Whether to start from several places where one does not get far.

    Raises
    ------
    ValueError
        If there is no reference at all.
    """
    from scipy.optimize import least_squares  # 0.4 s, when first needed

    starts = _starts(seen)
    start = starts[0]
    residuals = _residuals(seen)
    scales = np.concatenate([STEPS * 1e3, np.full(len(start) - len(STEPS), 1.0)])
    reach = np.full(len(start), np.inf)
    reach[[0, 1, 6, 9, 10]] = 1.2, 1.2, 1.5, 0.5, 0.3
    reach[7:9] = CENTRE_REACH * seen.diagonal_px
    middle = np.where(np.isfinite(reach), start * (np.arange(len(start)) == 6), 0.0)
    bounds = (middle - reach, middle + reach)
    starts = [np.clip(each, middle - 0.99 * reach, middle + 0.99 * reach) for each in starts]
    effort = {"x_scale": "jac", "ftol": 1e-6, "bounds": bounds, "max_nfev": 100}
    result = least_squares(residuals, starts[0], **effort)
    for each in starts[1:] if thorough and result.cost > STUCK else ():
        other = least_squares(residuals, each, **effort)
        result = min(result, other, key=lambda one: float(one.cost))
    information = result.jac.T @ result.jac
    covariance = np.linalg.pinv(information / np.outer(1 / scales, 1 / scales), hermitian=True)
    covariance *= np.outer(scales, scales)
    spare = max(1, len(result.fun) - len(start))
    covariance *= max(1.0, 2.0 * float(result.cost) / spare)  # worse than assumed: doubt more
    count = len(CAMERA)
    sides = result.x[count : count + 2] if seen.sheet is not None else np.empty(0)
    return Adjusted(
        map=SheetMap(
            parameters=tuple(float(v) for v in result.x[:count]),
            covariance=tuple(tuple(float(v) for v in row) for row in covariance[:count, :count]),
            middle_px=seen.middle_px,
            span_px=tuple((float(x), float(y)) for x, y in _span(seen)),
        ),
        cost=float(2.0 * result.cost),
        sides_mm=np.asarray(sides, float),
        sides_covariance=covariance[count : count + len(sides), count : count + len(sides)],
        focal_sigma=float(math.sqrt(max(covariance[6, 6], 0.0))),
    )


def start_cost(seen: Seen) -> float:
    """Return the squared differences before any adjustment: a quick look at what fits."""
    return float((_residuals(seen)(_starts(seen)[0]) ** 2).sum())


def _starts(seen: Seen) -> list[Points]:
    """Return the numbers to start from, likeliest first; several where a sheet's side is cut off.

    What was cut off lay beyond that side, and with it the whole picture's middle.
    """
    gone = [] if seen.sheet is None else [not len(side) for side in seen.sheet.edges.sides_px]
    if not any(gone):
        return [_start(seen)]
    beyond = np.array([(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)])[gone.index(True)]
    residuals = _residuals(seen)

    def misfit(start: Points) -> float:
        return float((residuals(start) ** 2).sum())

    far = (1.5, 2.5, 0.5, -1.0) if seen.cut else (0.0,)
    places = [each * seen.centre_sigma_px * beyond for each in far]
    return [min((_start(seen, p, share) for share in CUT_SHARES), key=misfit) for p in places]


def _start(seen: Seen, centre_px: Points | None = None, share: float = 1.0) -> Points:
    """Return the numbers to start from: camera, then sheet's shape, then rectangle's place."""
    if centre_px is not None:
        middle = np.array(seen.middle_px) + centre_px
        there = dataclasses.replace(seen, middle_px=(float(middle[0]), float(middle[1])))
        moved = _start(there, share=share)
        moved[7:9] = centre_px
        return moved
    focal, _ = seen.focal_prior
    extra: list[float] = []
    if seen.sheet is not None:
        sheet = seen.sheet
        camera = _over_sheet(sheet, focal, seen, share)
        extra = [sheet.width_mm, sheet.height_mm, 0.0, 0.0, 0.0]
        if seen.rectangle is not None:
            corners = back_project(camera, seen.middle_px, seen.rectangle.corners_px)
            way = corners[1] - corners[0]
            extra += [float(corners[0, 0]), float(corners[0, 1]), math.atan2(way[1], way[0])]
    elif seen.rectangle is not None:
        frame = seen.rectangle
        flat = _box((0.0, 0.0), (frame.width_mm, frame.height_mm))
        camera = _posed(frame.corners_px, flat, focal, seen)
    elif seen.lines:
        camera = _straight_down(seen.lines[0], focal, seen)
    else:
        raise ValueError("nothing to adjust to")
    return np.concatenate([camera, extra])


def _over_sheet(sheet: SheetSeen, focal: float, seen: Seen, share: float) -> Points:
    """Return the camera over a sheet of which a share is seen where it leaves the picture."""
    low, high = np.zeros(2), np.array([sheet.width_mm, sheet.height_mm])
    for k, side in enumerate(sheet.edges.sides_px):
        if not len(side):
            axis = 1 - k % 2
            if k in (0, 3):
                low[axis] = (1.0 - share) * high[axis]
            else:
                high[axis] *= share
    return _posed(sheet.edges.corners_px, _box(low, high), focal, seen)


def _box(low: ArrayLike, high: ArrayLike) -> Points:
    """Return the corners (ll, lr, ur, ul) of a box, mm."""
    (left, bottom), (right, top) = np.asarray(low, float), np.asarray(high, float)
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])


def _posed(corners: Points, flat: Points, focal: float, seen: Seen) -> Points:
    """Return the camera over four places, mm, from their pixels."""
    places = np.column_stack([flat, np.zeros(4)])
    lens = np.array([[focal, 0, seen.middle_px[0]], [0, focal, seen.middle_px[1]], [0, 0, 1]])
    _, turn, shift = cv2.solvePnP(places, corners.copy(), lens, None, flags=cv2.SOLVEPNP_IPPE)
    rotation, _ = cv2.Rodrigues(turn)
    return numbers_from_pose(np.asarray(rotation, float), np.asarray(shift, float).ravel(), focal)


def _straight_down(line: LineSeen, focal: float, seen: Seen) -> Points:
    """Return the camera straight above a line that runs from the origin along x."""
    (ax, ay), (bx, by) = line.ends_px
    distance = focal * line.length_mm / math.dist(line.ends_px[0], line.ends_px[1])
    roll = math.atan2(by - ay, bx - ax)
    numbers = np.zeros(len(CAMERA))
    numbers[2], numbers[3], numbers[6] = roll, math.log(distance), math.log(focal)
    numbers[4:6] = -back_project(numbers, seen.middle_px, [[ax, ay]])[0]
    return numbers


def _residuals(seen: Seen) -> Callable[[Points], Points]:
    """Return the function from numbers to differences in units of their deviations."""
    focal, focal_sigma = seen.focal_prior
    shaped = seen.sheet is not None or seen.rectangle is not None

    def differences(numbers: Points) -> Points:
        camera, extra = numbers[: len(CAMERA)], numbers[len(CAMERA) :]

        def measured(points_px: Points) -> Points:
            return back_project(camera, seen.middle_px, points_px)

        parts: list[Points] = [
            np.array([(camera[6] - math.log(focal)) / focal_sigma]),
            camera[7:9] / seen.centre_sigma_px,
            camera[9:11] / (K1, K2),
        ]
        if not shaped or seen.cut:
            parts.append(camera[:2] / (TILT_CUT_RAD if shaped else TILT_RAD))
        for k, line in enumerate(seen.lines):
            ends = measured(line.ends_px)
            length = math.dist(ends[0], ends[1])
            parts.append(np.array([(length - line.length_mm) / line.sigma_mm]))
            if k == 0 and not shaped:
                parts.append(np.array([*ends[0], ends[1, 1]]) / _PINNED_MM)
        if seen.sheet is not None:
            parts.append(_sheet_differences(seen.sheet, extra[:5], measured))
        if seen.rectangle is not None:
            place = extra[5:8] if seen.sheet is not None else np.zeros(3)
            parts.append(_frame_differences(seen.rectangle, place, measured))
        return np.concatenate(parts)

    return differences


def _sheet_differences(
    sheet: SheetSeen, shape: Points, measured: Callable[[Points], Points]
) -> Points:
    """Return how far the edges' nodes lie off the sheet's sides, and the sides off their size.

    `shape` is width, height, and three small angles: the lean of the left and right side
    together, and how much those two, and bottom and top, part from each other.
    """
    width, height, lean, part_x, part_y = shape
    side_sigma = 0.3 * sheet.width_mm if sheet.free else SIDE_MM
    square = SQUARE_UNKNOWN if sheet.free else SQUARE
    parts = [
        np.array([width - sheet.width_mm, height - sheet.height_mm]) / side_sigma,
        shape[2:] / square,
    ]
    for k, nodes in enumerate(sheet.edges.sides_px):
        if not len(nodes):
            continue
        x, y = measured(nodes).T
        if k % 2:
            off = x - (width if k == 1 else 0.0) - (lean + (part_x if k == 1 else 0.0)) * y
        else:
            off = y - (height + part_y * (x - 0.5 * width) if k == 2 else 0.0)
        parts.append(off / EDGE_NODE_MM)
    return np.concatenate(parts)


def _frame_differences(
    frame: FrameSeen, place: Points, measured: Callable[[Points], Points]
) -> Points:
    """Return how far a drawn rectangle's corners lie off a true one at a place (x, y, angle)."""
    w, h = frame.width_mm, frame.height_mm
    cos, sin = math.cos(place[2]), math.sin(place[2])
    true = np.array([[0, 0], [w, 0], [w, h], [0, h]]) @ np.array([[cos, sin], [-sin, cos]])
    return np.asarray((measured(frame.corners_px) - true - place[:2]).ravel() / frame.sigma_mm)


def _span(seen: Seen) -> Points:
    """Return the corners of the region that the references span, px."""
    if seen.sheet is not None:
        return seen.sheet.edges.corners_px
    if seen.rectangle is not None:
        return seen.rectangle.corners_px
    (ax, ay), (bx, by) = seen.lines[0].ends_px
    middle, half = np.array([ax + bx, ay + by]) / 2, np.array([bx - ax, by - ay]) / 2
    side = np.array([-half[1], half[0]])
    return np.array([middle - half, middle + side, middle + half, middle - side])

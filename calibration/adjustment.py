"""One least-squares adjustment of the camera over the sheet to all references at once.

Every reference is measured on the sheet through the camera's numbers, and the differences from
what it should be are made small, each in units of its own standard deviation.  What is not
known well (focal length, lens, tilt) enters as a weak prior with a stated deviation, so that
the covariance of the result says honestly what the references did not settle.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.sheet_edges import SheetEdges
from calibration.sheet_map import CAMERA, STEPS, SheetMap, back_project, numbers_from_pose

Points = NDArray[np.float64]

# standard deviations of what a maker's desk gives
RULED_END_MM = 0.25  # an end of a line drawn or read by a ruler
SIDE_MM = 0.5  # a side of copy paper; ISO 216 itself allows 2
SQUARE = 0.0007  # of the angles between a paper's sides, rad: 0.2 mm over a long side
SQUARE_UNKNOWN = 0.006  # of those of a sheet that was cut nobody knows how: 0.35 deg
EDGE_NODE_MM = 0.12  # a mean of ten edge places: the cut, the shadow under it, the fit
FOCAL_STATED = 0.03  # logarithm; the file's whole 35 mm equivalent, and focusing
FOCAL_ASSUMED = 0.15  # logarithm; phones' main lenses are 23 to 30 mm
ASSUMED_35_MM = 26.0
TILT_RAD = math.radians(5.0)  # each way, of a photo that a hand took "from straight above"
K1, K2 = 0.02, 0.005  # of a phone's main lens after its own correction
CENTRE = 0.004  # of the picture's diagonal: optical axis from the picture's centre
CENTRE_CUT = 0.04  # the same where the file says nothing of its camera: it may be cut out
_PINNED_MM = 1e-3  # holds the frame where nothing measures it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineSeen:
    """A line's ends in the picture, its length and the deviation of that length, mm."""

    ends_px: Points
    length_mm: float
    sigma_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrameSeen:
    """Four corners (ll, lr, ur, ul) of a drawn rectangle, px, and its sides along and up, mm."""

    corners_px: Points
    width_mm: float
    height_mm: float
    sigma_mm: float = RULED_END_MM


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetSeen:
    """A sheet's edges and its sides along and up, mm; `free` if these are only a guess."""

    edges: SheetEdges
    width_mm: float
    height_mm: float
    free: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """All that the adjustment works on."""

    middle_px: tuple[float, float]
    focal_px: float | None
    lines: tuple[LineSeen, ...] = ()
    rectangle: FrameSeen | None = None
    sheet: SheetSeen | None = None

    @property
    def diagonal_px(self) -> float:
        """The picture's diagonal."""
        return 2.0 * math.hypot(*self.middle_px)

    @property
    def focal_prior(self) -> tuple[float, float]:
        """The focal length to start from, px, and the deviation of its logarithm."""
        if self.focal_px is not None:
            return self.focal_px, FOCAL_STATED
        return ASSUMED_35_MM / math.hypot(36.0, 24.0) * self.diagonal_px, FOCAL_ASSUMED


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


def adjust(seen: Seen) -> Adjusted:
    """Return the camera that agrees best with everything that was seen.

    Raises
    ------
    ValueError
        If there is no reference at all.
    """
    from scipy.optimize import least_squares  # 0.4 s, when first needed

    start = _start(seen)
    residuals = _residuals(seen)
    scales = np.concatenate([STEPS * 1e3, np.full(len(start) - len(STEPS), 1.0)])
    reach = np.full(len(start), np.inf)
    reach[[0, 1, 6, 9, 10]] = 1.2, 1.2, 1.5, 0.5, 0.3
    middle = np.where(np.isfinite(reach), start * (np.arange(len(start)) == 6), 0.0)
    bounds = (middle - reach, middle + reach)
    result = least_squares(residuals, start, x_scale=scales, bounds=bounds, max_nfev=200)
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
    return float((_residuals(seen)(_start(seen)) ** 2).sum())


def _start(seen: Seen) -> Points:
    """Return the numbers to start from: camera, then sheet's shape, then rectangle's place."""
    focal, _ = seen.focal_prior
    extra: list[float] = []
    if seen.sheet is not None:
        sheet = seen.sheet
        camera = _posed(sheet.edges.corners_px, sheet.width_mm, sheet.height_mm, focal, seen)
        extra = [sheet.width_mm, sheet.height_mm, 0.0, 0.0, 0.0]
        if seen.rectangle is not None:
            corners = back_project(camera, seen.middle_px, seen.rectangle.corners_px)
            way = corners[1] - corners[0]
            extra += [float(corners[0, 0]), float(corners[0, 1]), math.atan2(way[1], way[0])]
    elif seen.rectangle is not None:
        frame = seen.rectangle
        camera = _posed(frame.corners_px, frame.width_mm, frame.height_mm, focal, seen)
    elif seen.lines:
        camera = _straight_down(seen.lines[0], focal, seen)
    else:
        raise ValueError("nothing to adjust to")
    return np.concatenate([camera, extra])


def _posed(corners: Points, width: float, height: float, focal: float, seen: Seen) -> Points:
    """Return the camera over a rectangle from its four corners, ll at the origin."""
    flat = np.array([[0, 0, 0], [width, 0, 0], [width, height, 0], [0, height, 0]], float)
    lens = np.array([[focal, 0, seen.middle_px[0]], [0, focal, seen.middle_px[1]], [0, 0, 1]])
    _, turn, shift = cv2.solvePnP(flat, corners.copy(), lens, None, flags=cv2.SOLVEPNP_IPPE)
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
    centre = CENTRE_CUT if seen.focal_px is None else CENTRE
    shaped = seen.sheet is not None or seen.rectangle is not None

    def differences(numbers: Points) -> Points:
        camera, extra = numbers[: len(CAMERA)], numbers[len(CAMERA) :]

        def measured(points_px: Points) -> Points:
            return back_project(camera, seen.middle_px, points_px)

        parts: list[Points] = [
            np.array([(camera[6] - math.log(focal)) / focal_sigma]),
            camera[7:9] / (centre * seen.diagonal_px),
            camera[9:11] / (K1, K2),
        ]
        if not shaped:
            parts.append(camera[:2] / TILT_RAD)
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

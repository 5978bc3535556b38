"""One least-squares adjustment of the camera over the sheet to all references at once.

Every reference is measured on the sheet through the camera's numbers, and the differences from
what it should be are made small, each in units of its own standard deviation.  What is not
known well (focal length, lens, tilt) enters as a weak prior with a stated deviation, so that
the covariance of the result says honestly what the references did not settle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.bend import BEND, MOST
from calibration.camera import CAMERA
from calibration.differences import Differences
from calibration.seen import Seen
from calibration.sheet_map import SheetMap
from calibration.starts import starts

Points = NDArray[np.float64]

CENTRE_REACH = 0.35  # of the diagonal: no more than the better part of a picture is cut off
STUCK = 6.0  # squared differences: other starts are tried above, if they are not that many
SEEN_BOW = 0.8  # of what was known of k1 before: with less doubt left, the references show it
ROUNDS = 100
SETTLED = 1e-6  # of the squared differences: less than that is no gain


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
    bow_sigma : float
        Deviation of the lens's k1 after all.
    """

    map: SheetMap
    cost: float
    sides_mm: Points
    sides_covariance: Points
    focal_sigma: float
    bow_sigma: float


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
    differences = Differences(seen)
    first, *others = starts(seen)
    numbers, cost = _least(differences, first)
    usual = max(STUCK, float(len(differences(numbers))))  # what doubts alone make of so many
    for start in others if cost > usual and (thorough or seen.sheet is None) else ():
        other = _least(differences, start)
        numbers, cost = min((numbers, cost), other, key=lambda one: one[1])
    answer = adjusted(differences, numbers, cost)
    if answer.bow_sigma < SEEN_BOW * seen.bow_prior[1][0]:
        return answer
    numbers[9:11] = seen.bow_prior[0]  # nothing shows the lens: only its doubt counts
    return adjusted(differences, *_least(differences, numbers, held=(9, 10)))


def start_cost(seen: Seen) -> float:
    """Return the squared differences before any adjustment: a quick look at what fits."""
    return float((Differences(seen)(starts(seen)[0]) ** 2).sum())


def _least(
    differences: Differences, start: Points, held: tuple[int, ...] = ()
) -> tuple[Points, float]:
    """Return the numbers with the least squared differences, by Levenberg's and Marquardt's way.

    Numbers at a bound are left out of a step that would take them past it, `held` ones of all.
    """
    low, high = _bounds(differences.seen, start)
    low[list(held)] = high[list(held)] = start[list(held)]
    numbers = np.clip(start, low, high)
    now = differences(numbers)
    cost, damp = float(now @ now), 1e-3
    for _ in range(ROUNDS):
        slopes = differences.derivatives(numbers)
        down = -slopes.T @ now
        free = ~((numbers <= low) & (down < 0.0) | (numbers >= high) & (down > 0.0))
        information = (slopes.T @ slopes)[np.ix_(free, free)]
        before = cost
        while damp < 1e9:
            damped = information + damp * np.diag(np.diagonal(information) + 1e-30)
            step = np.zeros(len(numbers))
            step[free] = np.linalg.solve(damped, down[free])
            tried = np.clip(numbers + step, low, high)
            then = differences(tried)
            cost_then = float(then @ then)
            if cost_then < cost:
                numbers, now, cost, damp = tried, then, cost_then, 0.1 * damp
                break
            damp *= 8.0
        if before - cost <= SETTLED * before:
            break
    return numbers, cost


def _bounds(seen: Seen, start: Points) -> tuple[Points, Points]:
    """Return the least and the largest that each number may become."""
    reach = np.full(len(start), np.inf)
    reach[[0, 1, 3, 6, 9, 10]] = 1.2, 1.2, 2.0, 1.5, 0.5, 0.3
    reach[7:9] = CENTRE_REACH * seen.diagonal_px
    reach[len(CAMERA) :][: len(BEND) * seen.bends] = MOST
    middle = np.where(np.isfinite(reach), start * np.isin(np.arange(len(start)), (3, 6)), 0.0)
    return middle - reach, middle + reach


def adjusted(
    differences: Differences, numbers: Points, cost: float, held: tuple[int, ...] = ()
) -> Adjusted:
    """Return what came out with its covariance, in which the `held` numbers are taken as known."""
    seen = differences.seen
    slopes = differences.derivatives(numbers)
    slopes[:, held] = 0.0
    information = slopes.T @ slopes
    scales = 1.0 / np.sqrt(np.maximum(np.diagonal(information), 1e-30))
    scales[list(held)] = 0.0
    scaled = information * np.outer(scales, scales)
    covariance = np.asarray(np.linalg.pinv(scaled, hermitian=True), float)
    spare = max(1, slopes.shape[0] - len(numbers))
    covariance *= np.outer(scales, scales) * max(1.0, cost / spare)  # worse than assumed: doubt
    count = differences.count
    sides = numbers[count : count + 2] if seen.sheet is not None else np.empty(0)
    return Adjusted(
        map=SheetMap(
            parameters=tuple(float(v) for v in numbers[:count]),
            covariance=tuple(tuple(float(v) for v in row) for row in covariance[:count, :count]),
            middle_px=seen.middle_px,
            span_px=tuple((float(x), float(y)) for x, y in _span(seen)),
        ),
        cost=cost,
        sides_mm=np.asarray(sides, float),
        sides_covariance=covariance[count : count + len(sides), count : count + len(sides)],
        focal_sigma=float(math.sqrt(max(covariance[6, 6], 0.0))),
        bow_sigma=float(math.sqrt(max(covariance[9, 9], 0.0))),
    )


def _span(seen: Seen) -> Points:
    """Return the corners of the region that the references span, px."""
    if seen.sheet is not None:
        return seen.sheet.edges.corners_px
    if seen.figures:
        (left, top), (right, bottom) = (
            seen.figures[0].points_px.min(axis=0),
            seen.figures[0].points_px.max(axis=0),
        )
        return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
    (ax, ay), (bx, by) = seen.lines[0].ends_px
    middle, half = np.array([ax + bx, ay + by]) / 2, np.array([bx - ax, by - ay]) / 2
    side = np.array([-half[1], half[0]])
    return np.array([middle - half, middle + side, middle + half, middle - side])

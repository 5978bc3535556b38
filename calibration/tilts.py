"""Lines alone show no tilt: all cameras that could have seen them, and the least wrong one.

The error is not linear in the tilt (a tilted sheet is foreshortened whichever way it leans), so
no covariance of one camera's numbers tells it.  Instead tilts are laid out over what a hand may
have done; over each the scale is what the lines say; and each weighs as much as the lines and
the hand make it likely.  The map is the one of these cameras that is nearest to all the others,
and its doubt is how far they lie from it.
"""

from __future__ import annotations

import dataclasses

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import Adjusted, adjusted
from calibration.camera import back_project
from calibration.differences import TILT_RAD, Differences
from calibration.seen import Seen
from calibration.starts import straight_above

Points = NDArray[np.float64]

SPAN = 3.0  # deviations of the tilt that are looked at each way
ACROSS, FINE_ACROSS = 9, 65  # tilts from one end of that to the other; fine where lines tell some
FAINT = 1e-3  # of the likeliest camera's weight: fainter ones do not matter
KEPT = 64  # cameras at most, each for as many as it stands for
#: Squared deviations above the least ones up to which lines agree, by how many of the two tilts
#: they tell: chi-square that 19 in 20 true lines keep (two deviations, of one or two unknowns).
AGREE = {0: 0.0, 1: 4.0, 2: 6.2}
REGION = 0.4  # of the picture's sides, each way from its middle: where the piece may lie


def adjust_lines(seen: Seen) -> Adjusted:
    """Return the camera that is the least wrong over lines alone, with the others there may be.

    Raises
    ------
    ValueError
        If there is no line.
    """
    if not seen.lines:
        raise ValueError("nothing to adjust to")
    differences = Differences(seen)
    cameras = _cameras(seen)
    costs = (differences(cameras) ** 2).sum(axis=-1)
    weights = np.exp(0.5 * (costs.min() - costs))
    cameras, weights = cameras[weights > FAINT], weights[weights > FAINT]
    cameras, weights = _thinned(cameras, weights / weights.sum())
    best = _nearest_to_all(cameras, weights, seen)
    answer = adjusted(differences, cameras[best], float(costs.min()), held=(0, 1))
    others = tuple(
        (float(weight), tuple(float(v) for v in camera))
        for weight, camera in zip(weights, cameras, strict=True)
    )
    return dataclasses.replace(answer, map=dataclasses.replace(answer.map, others=others))


def least_lean(seen: Seen) -> tuple[float, Points]:
    """Return the least lean over which the lines agree, and what else they are off by.

    Parameters
    ----------
    seen : Seen
        At least one line.

    Returns
    -------
    float
        rad.
    ndarray, (lines,)
        mm, by which the lines are off their lengths if the photo was taken from straight above.
    """
    cameras = _cameras(seen)
    lean = np.hypot(cameras[:, 0], cameras[:, 1])
    costs = (Differences(seen)(cameras) ** 2).sum(axis=-1) - (lean / TILT_RAD) ** 2
    told = min(len(seen.lines) + len(seen.squares) - 1, 2)  # one tells the scale
    agreed = costs <= float(costs.min()) + AGREE[told]
    above = cameras[np.argmin(lean)]
    ends = back_project(above, seen.middle_px, np.vstack([line.ends_px for line in seen.lines]))
    measured = np.hypot(*(ends[1::2] - ends[::2]).T)
    return float(lean[agreed].min()), np.abs(measured - [line.length_mm for line in seen.lines])


def _cameras(seen: Seen) -> Points:
    """Return a camera over each tilt, its scale by the lines, the first along the x axis."""
    across = ACROSS if len(seen.lines) == 1 else FINE_ACROSS
    one_way = np.linspace(-SPAN, SPAN, across) * TILT_RAD
    tilts = np.stack(np.meshgrid(one_way, one_way), axis=-1).reshape(-1, 2)
    tilts = tilts[np.hypot(*tilts.T) <= SPAN * TILT_RAD * (1.0 + 1e-9)]
    cameras = np.tile(straight_above(seen.lines[0], seen), (len(tilts), 1))
    cameras[:, :2], cameras[:, 4:6] = tilts, 0.0
    ends = back_project(cameras, seen.middle_px, np.vstack([line.ends_px for line in seen.lines]))
    ways = ends[:, 1::2] - ends[:, ::2]
    measured = np.hypot(ways[..., 0], ways[..., 1])
    true = np.array([line.length_mm for line in seen.lines])
    weight = np.array([line.sigma_mm for line in seen.lines]) ** -2.0
    scale = (measured * true * weight).sum(axis=1) / (measured**2 * weight).sum(axis=1)
    turn = np.arctan2(ways[:, 0, 1], ways[:, 0, 0])
    start = ends[:, 0] @ (1.0, 1.0j) * scale * np.exp(-1j * turn)
    cameras[:, 2] -= turn
    cameras[:, 3] += np.log(scale)
    cameras[:, 4:6] = -np.column_stack([start.real, start.imag])
    return cameras


def _thinned(cameras: Points, weights: Points) -> tuple[Points, Points]:
    """Return cameras that stand for all: evenly out of them by weight, in order of their lean."""
    if len(cameras) <= KEPT:
        return cameras, weights
    order = np.argsort(np.arctan2(cameras[:, 1], cameras[:, 0]))
    share = np.cumsum(weights[order])
    picked = order[np.searchsorted(share, (np.arange(KEPT) + 0.5) / KEPT * share[-1])]
    return cameras[picked], np.full(KEPT, 1.0 / KEPT)


def _nearest_to_all(cameras: Points, weights: Points, seen: Seen) -> int:
    """Return which camera's map lies nearest to the others', shifted and turned to fit."""
    share = np.linspace(-REGION, REGION, 5)
    grid = np.stack(np.meshgrid(share, share), axis=-1).reshape(-1, 2)
    size = 2.0 * np.array(seen.middle_px) + 1.0
    maps = back_project(cameras, seen.middle_px, grid * size + seen.middle_px) @ (1.0, 1.0j)
    maps -= maps.mean(axis=1, keepdims=True)
    own = (np.abs(maps) ** 2).sum(axis=1)
    together = np.abs(maps @ maps.conj().T)
    return int(np.argmin((own[:, None] + own - 2.0 * together) @ weights))

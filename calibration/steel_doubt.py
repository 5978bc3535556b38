"""How far the rim that was found of a piece of steel can be trusted, place by place.

A rim is plain where the light changes there more sharply than at the steel's own markings, and by
more than it changes from place to place on the steel; both are looked at along lines farther in.
Where the paper just outside is darker than the steel, it may
as well be the steel's own side, in shade: then the rim may lie anywhere up to where it is light.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.rings import ring_normals, sampled, smoothed_ring
from calibration.steel_rim import Rim, sharpest

Points = NDArray[np.float64]
Values = NDArray[np.float64]
Flags = NDArray[np.bool_]
Field = NDArray[np.float32]

WITHIN_PX = (10.0, 15.0, 20.0, 25.0)  # from the rim to the lines that show the steel's markings
EVERY = 3  # points along them
MARKED = 0.75  # of the markings are less sharp than what a rim has to be
MIDDLE = (0.25, 0.75)  # of the light along them: a rim's step is larger than these are apart
SAME_PX = 1.0  # to either side of the rim its own edge lies
MARKING_PX = 2.5  # to either side of those lines the sharpest marking counts
BESIDE_PX = 4.0  # from the rim to what lies within and without
ALONG = 9  # points over which that is averaged
SHADED = 0.8  # of the paper's light: a place that is darker lies in shadow, or is the side
SIDE_PX = 12.0  # the widest that a shaded side is looked for
UNSEEN_SIGMA_PX = 8.0  # where the wide search saw no edge: the half of its reach
FAINT_SIGMA_PX = 4.0  # where it saw one that is not plain from near by


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Doubt:
    """What a rim's places leave open.

    Parameters
    ----------
    sigma_px : ndarray, (N,)
        One standard deviation across the rim on top of what noise leaves; 0 where it is plain.
    lost, unseen, shaded : float
        Shares of the rim: no clearer than the steel's own markings; with no plain edge; beside
        paper that is as dark as the steel's sides.
    """

    sigma_px: Values
    lost: float
    unseen: float
    shaded: float


def doubted(rim: Rim, share: Field, light: Field, missed: Flags) -> Doubt:
    """Return the doubt of a rim.

    Parameters
    ----------
    rim : Rim
    share : ndarray, (h, w)
        Light over that of bare paper, in which the rim was found.
    light : ndarray, (h, w)
        The same, the mean of the channels.
    missed : ndarray of bool, (N,)
        Where the wide search that led there saw no edge.
    """
    outward = ring_normals(rim.points_px, reach=5)
    lost = _is_lost(rim.points_px, outward, share)
    dark = _shaded_px(rim.points_px, outward, light)
    faint = rim.unseen | lost
    sigma = np.where(missed, UNSEEN_SIGMA_PX, np.where(faint, FAINT_SIGMA_PX, 0.0))
    return Doubt(
        sigma_px=np.maximum(sigma, 0.5 * dark),
        lost=float(lost.mean()),
        unseen=float((faint | missed).mean()),
        shaded=float((dark > 0.0).mean()),
    )


def _is_lost(line: Points, outward: Points, share: Field) -> Flags:
    """Return where a rim is no clearer than the markings of the steel."""
    rows, into = line[::EVERY], outward[::EVERY]
    lines = [rows - depth * into for depth in WITHIN_PX]
    markings = np.concatenate([sharpest(share, each, into, MARKING_PX) for each in lines])
    low, high = np.quantile(sampled(share, np.concatenate(lines)), MIDDLE)
    step = _beside(share, line, outward, BESIDE_PX) - _beside(share, line, outward, -BESIDE_PX)
    blunt = sharpest(share, line, outward, SAME_PX) < np.quantile(markings, MARKED)
    return np.asarray(blunt | (np.abs(step) < high - low), bool)


def _shaded_px(line: Points, outward: Points, light: Field) -> Values:
    """Return how wide a band outside of the rim is darker than the steel and than lit paper."""
    without = _beside(light, line, outward, BESIDE_PX)
    within = _beside(light, line, outward, -BESIDE_PX)
    shaded = (without < within) & (without < SHADED)
    halfway = 0.5 * (without + 1.0)
    wide = np.zeros(len(line))
    still = shaded.copy()
    for off_px in np.arange(BESIDE_PX, SIDE_PX + 1.0):
        still &= _beside(light, line, outward, float(off_px)) < halfway
        wide[still] = off_px
    return wide


def _beside(light: Field, line: Points, outward: Points, off_px: float) -> Values:
    """Return the light so far without a line (negative: within), averaged along it."""
    return smoothed_ring(sampled(light, line + off_px * outward), ALONG)

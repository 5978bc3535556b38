"""A sheet that does not lie flat: how high it stands, and where its places lie when laid flat.

About one place it stands off its plane there by half its curvatures times the distances squared,
as a sheet does that is rolled or bowed one way; its lengths along the bend are kept.  Curvatures
are (..., 3): along x, of both, along y, in 1/m.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

#: The numbers of a bend, after those of the camera.
BEND = ("bend_xx", "bend_xy", "bend_yy")
CURVATURE = 0.3  # 1/m, deviation each way: 2 mm over the width of a page
#: (1/m)^2, deviation of what is curved both ways at once, xx yy - xy xy: paper bends, but hardly
#: stretches.
DOME = 0.03
MOST = 3.0  # 1/m: a rise of 12 mm over the width of a page, half as much again
REACH_MM = 500.0  # from where it is level: what lies farther off is as high as there
_ROUNDS = 4  # each leaves a hundredth or less


def height_mm(bend: Points, off_mm: Points) -> Points:
    """Return how high the sheet stands, (..., N), at places (..., N, 2) from where it is level."""
    heights: Points = 0.5 * (_slopes(bend, off_mm) * _near(off_mm)).sum(axis=-1)
    return heights


def laid_flat(bend: Points, off_mm: Points) -> Points:
    """Return where places of the standing sheet come to lie when it is laid flat, (..., N, 2).

    Along an arc: s (1 + slope^2 / 6) for a distance s.
    """
    slopes = _slopes(bend, off_mm)
    flat: Points = off_mm + slopes * (slopes * _near(off_mm)).sum(axis=-1)[..., None] / 6.0
    return flat


def standing(bend: Points, flat_mm: Points) -> Points:
    """Return where places of the sheet as laid flat stand, (..., N, 2): the other way."""
    off_mm = flat_mm
    for _ in range(_ROUNDS):
        off_mm = off_mm + flat_mm - laid_flat(bend, off_mm)
    return off_mm


def rise_mm(bend: Points, off_mm: Points) -> float:
    """Return how far a sheet rises out of the plane that fits its places (N, 2) best, mm."""
    heights = height_mm(bend, off_mm)
    plane = np.column_stack([off_mm, np.ones(len(off_mm))])
    left = heights - plane @ np.linalg.lstsq(plane, heights, rcond=None)[0]
    return float(np.ptp(left))


def _slopes(bend: Points, off_mm: Points) -> Points:
    curvatures = bend[..., [[0, 1], [1, 2]]] * 1e-3
    slopes: Points = _near(off_mm) @ curvatures
    return slopes


def _near(off_mm: Points) -> Points:
    far = np.sqrt((off_mm**2).sum(axis=-1, keepdims=True))
    near: Points = off_mm * (REACH_MM / np.maximum(far, REACH_MM))
    return near

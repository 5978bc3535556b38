"""What blur does to a traced edge: it hides how wide the line is, and the edge comes out within.

A profile across a blurred line looks alike whether a thin dark or a wide light line made it, until
the line is about four blurs wide.  The edge is then placed by what pens are like, and the more the
line was spread the farther it lies from the ink, on the bare paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.light import lights
from calibration.photo import Photo
from calibration.rings import median_along, ring_normals, smoothed_ring

Points = NDArray[np.float64]
Values = NDArray[np.float64]

REACH_PX = 16.0  # to either side of an edge, where its two tones are looked for
STEP_PX = 0.5  # along the profiles
SPARSE = 4  # every so many points are enough: along a line little changes
WINDOW = 7  # profiles averaged along the edge
UNTOLD = (3.8, 4.4)  # widths at half height, in spreads: below the first blur hides the true one
IN_FOCUS_PX = 1.0  # the edge is placed well up to here
SHIFT = 1.0  # of the spread beyond; rendered lines of 0.3 to 1 mm, blurred by 2 to 6 px
SHIFT_SPREAD = 0.8  # of that shift: thin lines are moved by twice as much, wide ones by nothing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blur:
    """How far a closed edge is spread, and what that does to it; every field is (N,).

    Parameters
    ----------
    spread_px : ndarray
        One standard deviation of the blur across the edge.
    shift_px : ndarray
        How far the edge of a line is likely moved away from its ink, >= 0.
    """

    spread_px: Values
    shift_px: Values

    @property
    def sigma_px(self) -> Values:
        """What such a shift leaves in doubt where it is not taken back."""
        return np.asarray(math.hypot(1.0, SHIFT_SPREAD) * self.shift_px)


def blur_along(photo: Photo, ring_px: Points) -> Blur:
    """Return how far a closed edge is spread.

    Parameters
    ----------
    photo : Photo
    ring_px : ndarray, (N, 2)
        The edge, open in the array, about 1 px apart.
    """
    sparse = np.arange(0, len(ring_px), SPARSE)
    across = np.arange(-REACH_PX, REACH_PX + STEP_PX, STEP_PX)
    normals = ring_normals(ring_px)[sparse]
    places = ring_px[sparse, None, :] + across[None, :, None] * normals[:, None, :]
    profiles = smoothed_ring(_light_at(photo, places), WINDOW)
    dark, light = profiles.min(axis=1), profiles.max(axis=1)
    steepest = np.abs(np.diff(profiles, axis=1)).max(axis=1) / STEP_PX
    spread = (light - dark) / np.maximum(math.sqrt(2.0 * math.pi) * steepest, 1e-6)
    wide = STEP_PX * (profiles < 0.5 * (dark + light)[:, None]).sum(axis=1)
    spread, wide = (median_along(each, stride=1, step=1) for each in (spread, wide))
    low, high = UNTOLD
    hidden = np.clip((high - wide / np.maximum(spread, 1e-6)) / (high - low), 0.0, 1.0)
    shift = hidden * SHIFT * np.maximum(spread - IN_FOCUS_PX, 0.0)
    everywhere = np.arange(len(ring_px))
    spread, shift = (
        np.interp(everywhere, sparse, each, period=len(ring_px)) for each in (spread, shift)
    )
    return Blur(spread_px=spread, shift_px=shift)


def _light_at(photo: Photo, places: Points) -> Values:
    """Return the mean light of the channels at places of the photo, (N, T)."""
    x, y = (np.ascontiguousarray(places[..., k], np.float32) for k in (0, 1))
    rows = 16_384  # remap refuses sides above 32767
    parts = [
        cv2.remap(
            photo.rgb,
            x[top : top + rows],
            y[top : top + rows],
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        )
        for top in range(0, len(x), rows)
    ]
    return np.asarray(lights(np.concatenate(parts)).mean(axis=2), np.float64)

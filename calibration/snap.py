"""Drawing a pointed place onto the ink under it: a crossing, a stroke's end, or its centreline."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.darkness import Darkness
from calibration.ink import Ink
from calibration.photo import Photo
from calibration.profiles import crossing
from calibration.rings import sampled
from calibration.thinning import thinned

Points = NDArray[np.float64]
Place = tuple[float, float]

RADIUS_PART = 0.006  # of the long side: 24 px of 4000, about 3 mm on a sheet
ARM = 1.2, 2.1  # stroke widths from a crossing between which its strokes are told apart
REACH = 3.5  # stroke widths that a tick's arm is followed; ticks are short
ROUNDS = 3  # of taking a crossing afresh from where it was found
EIGHT = np.ones((3, 3), np.float32)


def snap_to_ink(photo: Photo, ink: Ink, px: Place, radius_px: float | None = None) -> Place:
    """Return the place of ink that a pointed place means, to a fraction of a pixel.

    Crossings of strokes (a line's end on its tick) come first, then free ends, then the nearest
    place on a centreline; without ink within the radius the place itself is returned.

    Parameters
    ----------
    photo : Photo
    ink : Ink
        Of the same photo.
    px : (x, y)
        The pointed place.
    radius_px : float, optional
        How far to look; 0.6 % of the picture's long side if left out.
    """
    dark = ink.darkness
    radius = (radius_px or RADIUS_PART * max(photo.rgb.shape[:2])) / dark.pitch
    place = dark.own(np.array(px))
    patch, corner = _patch(dark, place, 3.0 * radius)
    if patch.size == 0:
        return px
    mask = patch > 0.8 * ink.threshold
    lines = thinned(mask)
    if not lines.any():
        return px
    depth = cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    width = max(1.5, 2.0 * float(np.median(depth[lines])) - 1.0)
    here = place - corner
    found = _crossing_near(patch, lines, here, radius, width)
    if found is None:
        found = _end_near(patch, lines, here, radius, width)
    if found is None:
        found = _line_near(patch, lines, here, radius, width)
    if found is None:
        return px
    x, y = dark.photo(found + corner)
    return float(x), float(y)


def _patch(dark: Darkness, place: Points, reach: float) -> tuple[NDArray[np.float32], Points]:
    """Return the darkness round a place, and where its first pixel lies in the picture."""
    height, width = dark.shape
    left, top = (max(0, math.floor(v - reach)) for v in place)
    right, bottom = (
        min(side, math.ceil(v + reach)) for v, side in zip(place, (width, height), strict=True)
    )
    part = dark.within(np.s_[top : max(top, bottom), left : max(left, right)])
    return part, np.array([left, top], float)


def _near(lines: NDArray[np.bool_], here: Points, radius: float) -> Points:
    """Return the places (x, y) of set pixels within a radius, nearest first."""
    rows, columns = np.nonzero(lines)
    places = np.column_stack([columns, rows]).astype(float)
    far = np.hypot(*(places - here).T)
    order = np.argsort(far)
    return np.asarray(places[order][far[order] <= radius], float)


def _neighbours(lines: NDArray[np.bool_]) -> NDArray[np.float32]:
    count = cv2.filter2D(lines.astype(np.float32), -1, EIGHT, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(count - lines, np.float32)


def _crossing_near(
    patch: NDArray[np.float32], lines: NDArray[np.bool_], here: Points, radius: float, width: float
) -> Points | None:
    """Return the crossing of two strokes' centrelines near a place, None without one."""
    for knot in _near(lines & (_neighbours(lines) >= 3), here, radius)[:16]:
        middle: Points | None = knot
        for _ in range(ROUNDS):
            middle = None if middle is None else _crossing_at(patch, middle, width)
        if middle is not None and math.dist(middle, here) <= radius:
            return middle
    return None


def _crossing_at(patch: NDArray[np.float32], place: Points, width: float) -> Points | None:
    """Return the crossing of the strokes that leave a place, None if only one does."""
    pair = _straight_pair(_arms(patch, place, width))
    if pair is None:
        return None
    a, b = (_line(patch, place, angle, width) for angle in pair)
    middle = crossing(a, b)
    return middle if math.dist(middle, place) < 2.0 * width + 2.0 else None


def _arms(patch: NDArray[np.float32], knot: Points, width: float) -> Points:
    """Return the directions, rad, in which strokes leave a place."""
    angles = np.linspace(0.0, 2.0 * np.pi, 180, endpoint=False)
    rays = np.column_stack([np.cos(angles), np.sin(angles)])
    reach = np.linspace(ARM[0] * width + 1.0, ARM[1] * width + 1.0, 12)
    ink = sampled(patch, knot + reach[None, :, None] * rays[:, None]).mean(axis=1)
    ink = (np.roll(ink, 1) + ink + np.roll(ink, -1)) / 3.0
    peak = (ink >= np.roll(ink, 1)) & (ink > np.roll(ink, -1)) & (ink > 0.5 * ink.max())
    found: list[int] = []
    for k in sorted(np.flatnonzero(peak), key=lambda k: -ink[k]):
        if all(min(abs(k - j), 180 - abs(k - j)) > 12 for j in found):
            found.append(int(k))
    return angles[found]


def _straight_pair(arms: Points) -> tuple[float, float] | None:
    """Return the directions of the two strokes that cross or meet, None if all is one stroke."""
    axes: list[float] = []
    for angle in arms:
        apart = [abs((angle - other + np.pi / 2) % np.pi - np.pi / 2) for other in axes]
        if not apart or min(apart) > math.radians(25.0):
            axes.append(float(angle))
    return (axes[0], axes[1]) if len(axes) >= 2 else None


def _line(patch: NDArray[np.float32], place: Points, angle: float, width: float) -> Points:
    """Return the centreline (nx, ny, c) of a stroke through a place, clear of that place."""
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    ways = np.arange(-REACH * width - 2.0, REACH * width + 2.5, 0.5)
    ways = ways[np.abs(ways) > width + 0.5]
    offsets = np.arange(-1.6 * width - 1.0, 1.6 * width + 1.25, 0.25)
    centre, slope = 0.0, 0.0
    for _ in range(3):
        middles = place + ways[:, None] * along + (centre + slope * ways)[:, None] * across
        ink = sampled(patch, middles[:, None] + offsets[None, :, None] * across)
        ink = ink - np.minimum(ink[:, :3].mean(axis=1), ink[:, -3:].mean(axis=1))[:, None]
        ink = np.where(ink > 0.15 * ink.max(), ink, 0.0)
        weight = ink.sum(axis=1)
        good = weight > 0.6 * np.quantile(weight, 0.7)
        if good.sum() < 6:
            break
        shift = (ink[good] @ offsets) / weight[good]
        more, start = np.polyfit(ways[good], shift, 1)
        slope, centre = slope + float(more), centre + float(start)
    normal = across - slope * along
    normal /= np.hypot(*normal)
    return np.array([*normal, normal @ (place + centre * across)])


def _end_near(
    patch: NDArray[np.float32], lines: NDArray[np.bool_], here: Points, radius: float, width: float
) -> Points | None:
    """Return the tip of a stroke that ends near a place, None without one."""
    inner = np.zeros_like(lines)
    inner[2:-2, 2:-2] = True  # strokes that leave the patch do not end there
    for tip in _near(lines & inner & (_neighbours(lines) == 1), here, radius):
        arms = _arms(patch, tip, width)
        if len(arms) != 1:
            continue
        line = _line(patch, tip, float(arms[0]), width)
        outward = -np.array([math.cos(arms[0]), math.sin(arms[0])])
        foot = tip - line[:2] * (tip @ line[:2] - line[2])
        ways = np.arange(-REACH * width, 2.0 * width + 2.0, 0.25)
        ink = sampled(patch, (foot + ways[:, None] * outward)[None])[0]
        half = 0.5 * float(np.median(ink[ways < -0.5 * width]))
        below = np.flatnonzero((ink < half) & (ways > -width))
        if len(below):
            return np.asarray(foot + ways[below[0]] * outward, float)
    return None


def _line_near(
    patch: NDArray[np.float32], lines: NDArray[np.bool_], here: Points, radius: float, width: float
) -> Points | None:
    """Return the nearest place on a centreline, None if there is no ink near."""
    near = _near(lines, here, radius)
    if not len(near):
        return None
    arms = _arms(patch, near[0], width)
    if not len(arms):
        return np.asarray(near[0], float)
    line = _line(patch, near[0], float(arms[0]), width)
    return np.asarray(here - line[:2] * (here @ line[:2] - line[2]), float)

"""The light of the bare paper that steel lies on, and what part of it each place returns."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.ink import Ink
from calibration.light import lights, mean_of
from calibration.photo import Photo
from calibration.resized import at_most

Mask = NDArray[np.bool_]
Field = NDArray[np.float32]

PAPER_PX = 500  # long side of the picture that shows the paper's light
BLUR_PX = 5.0  # of the picture on which wide blurs are made
TINTED = 0.25  # log of the ratio of two channels, beyond the paper's own: shade has no such colour


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Paper:
    """The light of bare paper, carried on under what lies on it.

    Parameters
    ----------
    level : ndarray of float32, (h, w)
        Mean of the channels, on a small picture.
    colour : ndarray, (3,)
        Light of each channel over that mean.
    """

    level: Field
    colour: NDArray[np.float32]

    @classmethod
    def of(cls, photo: Photo, ink: Ink) -> tuple[Paper, Field]:
        """Return the paper of a photo and the share of its light at each place, (h, w, 3)."""
        small = at_most(photo.small, PAPER_PX)
        size = (small.shape[1], small.shape[0])
        sheet = cv2.resize(ink.sheet.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
        light = lights(small)
        mean = mean_of(light)
        usual = float(np.quantile(mean[sheet], 0.75)) if sheet.any() else 1.0
        bright = sheet & (mean > 0.8 * usual)
        colour = np.full(3, usual, np.float32)
        if bright[::2, ::2].any():
            some = light[::2, ::2][bright[::2, ::2]]  # plenty
            colour = np.median(some, axis=0).astype(np.float32)
        colour /= max(float(colour.mean()), 1e-3)
        known = (
            sheet
            & (mean > 0.5 * usual)
            & ~tinted(np.asarray(light / np.maximum(colour, 1e-3), np.float32))
        )
        level = _carried_on(mean, known, usual)
        return cls(level=level, colour=colour), light / np.maximum(level[..., None] * colour, 1e-3)

    def within(self, box: tuple[int, int, int, int], width_px: int) -> Field:
        """Return the level in a box (left, top, width, height) of a photo so many pixels wide."""
        left, top, width, height = box
        scale = self.level.shape[1] / width_px
        move = np.array([[scale, 0.0, (left + 0.5) * scale - 0.5],
                         [0.0, scale, (top + 0.5) * scale - 0.5]])  # fmt: skip
        how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
        level = cv2.warpAffine(
            self.level, move, (width, height), flags=how, borderMode=cv2.BORDER_REPLICATE
        )
        return np.asarray(level, np.float32)


def tinted(share: Field) -> Mask:
    """Return which places of (h, w, 3) shares of the paper's light have a colour of their own."""
    red, green, blue = cv2.split(share)
    most, least = cv2.max(cv2.max(red, green), blue), cv2.min(cv2.min(red, green), blue)
    return np.asarray(most > np.exp(TINTED) * np.maximum(np.asarray(least), 1e-3), bool)


def _carried_on(light: Field, known: Mask, usual: float) -> Field:
    """Return light known at some places, carried on from there to all others."""
    weight = known.astype(np.float32)
    whole = np.full(light.shape, usual, np.float32)
    for spread in (50.0, 20.0, 7.5):  # of the small picture: coarse where nothing nearer is known
        total, count = _widely_blurred(light * weight, spread), _widely_blurred(weight, spread)
        share = np.clip(count / 0.25, 0.0, 1.0)
        whole = share * total / np.maximum(count, 1e-6) + (1.0 - share) * whole
    return np.asarray(whole, np.float32)


def _widely_blurred(field: Field, spread_px: float) -> Field:
    """Return a field blurred by many pixels, on a picture just fine enough for it."""
    rows, columns = field.shape[:2]
    by = spread_px / BLUR_PX
    size = (max(1, round(columns / by)), max(1, round(rows / by)))
    small = cv2.resize(field, size, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), BLUR_PX)
    return np.asarray(
        cv2.resize(small, (columns, rows), interpolation=cv2.INTER_LINEAR), np.float32
    )

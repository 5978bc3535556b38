"""What is wrong with a picture as a whole, where a thing on it was looked for in vain.

Nobody can draw a reference better that was lost in blur: what the picture suffers from is said
instead of what was not found for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.photo import Photo

ONE_TONE = 12.0  # of 255, between a picture's dark and light parts; a sheet on a bench has 50
DARK, LIGHT = 60.0, 240.0  # of 255: mean tone of a picture without light, of one with too much
BLURRED_PX = 2.0  # of the small picture; what is in focus has 0.4 to 1.2 there
STEEPEST = 2000  # one pixel in so many is part of the sharpest edge
LONG_STROKE = 0.012  # of the picture's long side; a letter is longer than a speck


@contextmanager
def explained(photo: Photo, ink: Ink | None = None) -> Iterator[None]:
    """Tell what ails the picture where something in it cannot be found or understood.

    Parameters
    ----------
    photo : Photo
    ink : Ink, optional
        Its ink, as soon as that is known.

    Raises
    ------
    PhotoError
        The picture's own fault in place of the block's `PhotoError`, if it has one.
    """
    try:
        yield
    except PhotoError as error:
        fault = picture_fault(photo, ink)
        if fault is None:
            raise
        raise fault from error


def picture_fault(photo: Photo, ink: Ink | None = None) -> PhotoError | None:
    """Return what makes a picture useless as a whole, None if nothing does."""
    grey = cv2.cvtColor(photo.small, cv2.COLOR_RGB2GRAY).astype(np.float32)
    dark, light = np.quantile(grey, [0.01, 0.99])
    if light - dark < ONE_TONE:
        return _one_tone(float(grey.mean()), photo.name)
    across, down = _spread_px(grey, float(light - dark))
    apart = ink is not None and ink.sheet_found  # its four edges run both ways
    spread = max(across, down) if apart else min(across, down)
    if spread > BLURRED_PX:
        real_px = spread * max(photo.rgb.shape) / max(grey.shape)
        return PhotoError(
            f"the picture is blurred: its sharpest edges are spread over {2.0 * real_px:.0f} "
            "pixels.",
            where=photo.name,
            remedy="Photograph again: wipe the lens, let it focus, and hold still in good light.",
        )
    if ink is not None and not _has_stroke(ink):
        return PhotoError(
            "no ink is seen on the sheet.",
            where=photo.name,
            remedy="Draw the reference and trace the piece with a dark pen, and photograph it in "
            "even light.",
        )
    return None


def _one_tone(mean: float, name: str) -> PhotoError:
    what = "black" if mean < DARK else "white" if mean > LIGHT else "of one tone"
    return PhotoError(
        f"the picture shows nothing: it is all {what}.",
        where=name,
        remedy="Photograph the sheet again, in even light, with nothing before the lens.",
    )


def _spread_px(grey: NDArray[np.float32], contrast: float) -> tuple[float, float]:
    """Return the deviation over which the sharpest edges are spread, across and down, pixels.

    An edge between two tones, blurred by a normal curve of deviation s, is steepest in its middle:
    there it climbs by the tones' difference / (s sqrt(2 pi)) a pixel.
    """
    spreads = []
    for axis in (1, 0):
        steps = np.abs(np.diff(grey, axis=axis)).ravel()
        some = max(1, len(steps) // STEEPEST)
        steepest = float(np.partition(steps, -some)[-some:].mean())
        spreads.append(contrast / (math.sqrt(2.0 * math.pi) * max(steepest, 1e-3)))
    return spreads[0], spreads[1]


def _has_stroke(ink: Ink) -> bool:
    """Return whether any ink is longer than a speck."""
    _, _, stats, _ = cv2.connectedComponentsWithStats(ink.mask.astype(np.uint8), connectivity=8)
    longest = stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(initial=0)
    return bool(longest > LONG_STROKE * max(ink.mask.shape))

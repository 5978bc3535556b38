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
from calibration.sheet_map import SheetMap

Grey = NDArray[np.uint8]

ONE_TONE = 12.0  # of 255, between a picture's dark and light parts; a sheet on a bench has 50
DARK, LIGHT = 60.0, 240.0  # of 255: mean tone of a picture without light, of one with too much
BLURRED_PX = 2.0  # of the small picture; what is in focus has 0.4 to 1.2 there
SOFT_PX = 1.5  # there: it can be measured, but a thin pen line is spread wider than it is
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
    grey = np.asarray(cv2.cvtColor(photo.small, cv2.COLOR_RGB2GRAY), np.uint8)
    if _contrast(grey) < ONE_TONE:
        return _one_tone(float(grey.mean()), photo.name)
    spread = _blur_px(grey, ink)
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


def blur_notes(photo: Photo, ink: Ink, sheet_map: SheetMap) -> tuple[str, ...]:
    """Return a warning where a picture was measured that is blurred."""
    grey = np.asarray(cv2.cvtColor(photo.small, cv2.COLOR_RGB2GRAY), np.uint8)
    spread = _blur_px(grey, ink)
    if spread <= SOFT_PX:
        return ()
    middle_px = (photo.width_px / 2, photo.height_px / 2)
    real_px = spread * max(photo.rgb.shape) / max(grey.shape)
    spread_mm = 2.0 * real_px * sheet_map.mm_per_px(middle_px)
    return (
        f"The picture is blurred: its sharpest edges are spread over {spread_mm:.1f} mm. The piece "
        "comes out smaller than it is, by more than is stated; photograph it again, in focus and "
        "held still.",
    )


def _blur_px(grey: Grey, ink: Ink | None) -> float:
    """Return the deviation over which the sharpest edges of the small picture are spread, px.

    One direction alone tells of a hand that moved only if the sheet is seen: its four edges run
    both ways, and a bench's grain one way.
    """
    across, down = _spread_px(grey, _contrast(grey))
    return max(across, down) if ink is not None and ink.sheet_found else min(across, down)


def _contrast(grey: Grey) -> float:
    """Return what lies between the dark and the light parts of a picture, of 255."""
    below = np.cumsum(_count(grey))
    dark, light = np.searchsorted(below, np.array([0.01, 0.99]) * grey.size)
    return float(light - dark)


def _count(values: Grey) -> NDArray[np.float64]:
    """Return how many there are of each value, 0 to 255."""
    return cv2.calcHist([values], [0], None, [256], [0.0, 256.0]).ravel().astype(float)


def _one_tone(mean: float, name: str) -> PhotoError:
    what = "black" if mean < DARK else "white" if mean > LIGHT else "of one tone"
    return PhotoError(
        f"the picture shows nothing: it is all {what}.",
        where=name,
        remedy="Photograph the sheet again, in even light, with nothing before the lens.",
    )


def _spread_px(grey: Grey, contrast: float) -> tuple[float, float]:
    """Return the deviation over which the sharpest edges are spread, across and down, pixels.

    An edge between two tones, blurred by a normal curve of deviation s, is steepest in its middle:
    there it climbs by the tones' difference / (s sqrt(2 pi)) a pixel.
    """
    spreads = []
    for before, after in ((grey[:, :-1], grey[:, 1:]), (grey[:-1], grey[1:])):
        count = _count(np.asarray(cv2.absdiff(before, after), np.uint8))
        some = max(1, before.size // STEEPEST)
        steeper = np.cumsum(count[::-1])[::-1] - count
        taken = np.clip(some - steeper, 0.0, count)
        steepest = float(taken @ np.arange(256)) / some
        spreads.append(contrast / (math.sqrt(2.0 * math.pi) * max(steepest, 1e-3)))
    return spreads[0], spreads[1]


def _has_stroke(ink: Ink) -> bool:
    """Return whether any ink is longer than a speck."""
    _, _, stats, _ = cv2.connectedComponentsWithStats(ink.mask.astype(np.uint8), connectivity=8)
    longest = stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(initial=0)
    return bool(longest > LONG_STROKE * max(ink.mask.shape))

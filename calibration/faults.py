"""What is wrong with a picture as a whole, where a thing on it was looked for in vain.

Nobody can draw a reference better that was lost in blur: what the picture suffers from is said
instead of what was not found for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.blur import spreads_px, strongest_step
from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.photo import Photo

Grey = NDArray[np.uint8]
Mask = NDArray[np.bool_]

ONE_TONE = 8.0  # of 255, between the tones of a picture's strongest edges; a pencil line has 20
DARK, LIGHT = 60.0, 240.0  # of 255: mean tone of a picture without light, of one with too much
BLURRED_PX = 1.5  # of the small picture; what is in focus has 0.4 to 0.7 there
LONG_STROKE = 0.012  # of the picture's long side; a letter is longer than a speck
ALL_DARK = 0.5  # of the picture: that much is no stroke
BESIDE_PX = 4  # of the small picture: how far from its ink a stroke's edge is looked for


@contextmanager
def explained(photo: Photo, ink: Ink | None = None, *, on_mat: bool = False) -> Iterator[None]:
    """Tell what ails the picture where something in it cannot be found or understood.

    Parameters
    ----------
    photo : Photo
    ink : Ink, optional
        Its ink, as soon as that is known.
    on_mat : bool
        Whether the printed mat was seen on it.

    Raises
    ------
    PhotoError
        The picture's own fault in place of the block's `PhotoError`, if it has one.
    """
    try:
        yield
    except PhotoError as error:
        fault = picture_fault(photo, ink, on_mat=on_mat)
        if fault is None:
            raise
        raise fault from error


def picture_fault(
    photo: Photo, ink: Ink | None = None, *, on_mat: bool = False
) -> PhotoError | None:
    """Return what makes a picture useless as a whole, None if nothing does."""
    grey = np.asarray(cv2.cvtColor(photo.small, cv2.COLOR_RGB2GRAY), np.uint8)
    strokes = None if ink is None else _strokes(ink)
    drawn = strokes is not None and bool(strokes.any())
    if not drawn and strongest_step(grey) < ONE_TONE:
        return _one_tone(float(grey.mean()), photo.name)
    spread = _spread_px(grey, ink, strokes)
    if spread > BLURRED_PX:
        return _blurred(spread * max(photo.rgb.shape) / max(grey.shape), photo.name)
    if strokes is not None and not drawn:
        return _bare(photo.name, on_mat=on_mat)
    return None


def _spread_px(grey: Grey, ink: Ink | None, strokes: Mask | None) -> float:
    """Return the deviation over which the sharpest edges of the small picture are spread, px.

    Ink and sheet have edges both ways, and the blurred one of them tells of a hand that moved.
    Where neither is seen both ways must tell: a bench's grain runs one way.
    """
    near = None
    if strokes is not None and strokes.any():
        size, around = (grey.shape[1], grey.shape[0]), np.ones((2 * BESIDE_PX + 1,) * 2, np.uint8)
        small = cv2.resize(strokes.astype(np.uint8) * 255, size, interpolation=cv2.INTER_AREA)
        near = cv2.dilate(small, around) > 0
    told = [] if near is None else _told(grey, near)
    if ink is not None and ink.sheet_found:
        told += _told(grey, None)
    return max(told) if told else min(_told(grey, None), default=0.0)


def _told(grey: Grey, near: Mask | None) -> list[float]:
    return [each for each in spreads_px(grey, near) if each is not None]


def _strokes(ink: Ink) -> Mask:
    """Return the ink that is longer than a speck."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(
        ink.mask.astype(np.uint8), connectivity=8
    )
    sides = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(axis=1)
    stroke = sides > LONG_STROKE * max(ink.mask.shape)
    stroke &= stats[:, cv2.CC_STAT_AREA] < ALL_DARK * ink.mask.size
    stroke[0] = False
    return np.asarray(stroke[labels], bool)


def _one_tone(mean: float, name: str) -> PhotoError:
    what = "black" if mean < DARK else "white" if mean > LIGHT else "of one tone"
    return PhotoError(
        f"the picture shows nothing: it is all {what}.",
        where=name,
        remedy="Photograph the sheet again, in even light, with nothing before the lens.",
    )


def _blurred(spread_px: float, name: str) -> PhotoError:
    return PhotoError(
        f"the picture is blurred: its sharpest edges are spread over {2.0 * spread_px:.0f} pixels.",
        where=name,
        remedy="Photograph again: wipe the lens, let it focus, and hold still in good light.",
    )


def _bare(name: str, *, on_mat: bool) -> PhotoError:
    if on_mat:
        return PhotoError(
            "the mat is seen, but no closed trace on it.",
            where=name,
            remedy="Trace the piece on the mat with a dark pen. A photo of the steel itself is "
            "measured with --subject steel.",
        )
    return PhotoError(
        "no ink is seen on the sheet.",
        where=name,
        remedy="Draw the reference and trace the piece with a dark pen, and photograph it in even "
        "light.",
    )

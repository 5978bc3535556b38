"""Where the bars, the words and the drawing go on one page."""

from __future__ import annotations

from dataclasses import dataclass

from app.document.drawing import BoxMm, Text
from app.exports.rulers import FOOT_MM, LEFT_MM, TALLEST_MM
from app.exports.sheet_text import Paragraph, text_height_mm, text_lines

GAP_MM = 4.0  # between the drawing and what stands round it
NARROWEST_TEXT_MM = 60.0
BESIDE_TEXT_MM = 98.0  # about a line of 55 letters


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """A page's free window for the drawing and the words that stand outside of it.

    Parameters
    ----------
    window_mm : tuple
        Left, bottom, right, top of the free window, from the usable area's lower left corner, in
        which the bars stand.
    words : tuple of Text
        The lines, placed.
    """

    window_mm: BoxMm
    words: tuple[Text, ...]

    def size_mm(self) -> tuple[float, float]:
        """Return the window's width and height; negative when there is none."""
        left, bottom, right, top = self.window_mm
        return right - left, top - bottom


def arrangements(
    width_mm: float, height_mm: float, words: tuple[Paragraph, ...]
) -> tuple[Arrangement, ...]:
    """Return the ways to use a usable area, the pleasantest first; the last leaves most room.

    Parameters
    ----------
    width_mm, height_mm : float
        The usable area.
    words : tuple of Paragraph
        What is to be said.
    """
    return (
        _drawing_above(width_mm, height_mm, words),
        _drawing_beside(width_mm, height_mm, words),
        framed(width_mm, height_mm, words),
    )


def _drawing_above(w_mm: float, h_mm: float, words: tuple[Paragraph, ...]) -> Arrangement:
    """Lay the drawing over the whole width; bars and words below it."""
    left, width = LEFT_MM + GAP_MM, w_mm - LEFT_MM - GAP_MM
    needed = FOOT_MM + 2 * GAP_MM + text_height_mm(words, width)
    top = max(FOOT_MM + 2.0 + TALLEST_MM, needed)
    return Arrangement(
        window_mm=(0.0, top + GAP_MM, w_mm, h_mm),
        words=text_lines(words, left_mm=left, top_mm=top, width_mm=width),
    )


def _drawing_beside(w_mm: float, h_mm: float, words: tuple[Paragraph, ...]) -> Arrangement:
    """Lay the drawing over the whole height; bars and words to its left."""
    left = LEFT_MM + GAP_MM
    top = FOOT_MM + 2.0 + TALLEST_MM
    needed = FOOT_MM + 2 * GAP_MM + text_height_mm(words, BESIDE_TEXT_MM)
    right = left + BESIDE_TEXT_MM
    return Arrangement(
        window_mm=(right + GAP_MM, 0.0, w_mm, h_mm if needed <= h_mm else 0.0),
        words=text_lines(words, left_mm=left, top_mm=max(top, needed), width_mm=BESIDE_TEXT_MM),
    )


def framed(
    w_mm: float, h_mm: float, words: tuple[Paragraph, ...], *, keep_right_mm: float = 0.0
) -> Arrangement:
    """Lay the drawing inside the corner of the bars; words beside the lying bars, or above.

    ``keep_right_mm`` of the words' right side stay empty, for the map of the pages.
    """
    beside_x = LEFT_MM + TALLEST_MM + GAP_MM
    beside_width = w_mm - beside_x - keep_right_mm
    above_width = w_mm - LEFT_MM - GAP_MM - keep_right_mm
    above = FOOT_MM + 2.0 + text_height_mm(words, above_width)
    if beside_width >= NARROWEST_TEXT_MM:
        beside = max(FOOT_MM, text_height_mm(words, beside_width))
        if beside <= above:
            return _framed(w_mm, h_mm, words, beside_x, beside, beside_width)
    return _framed(w_mm, h_mm, words, LEFT_MM + GAP_MM, above, above_width)


def _framed(
    w_mm: float, h_mm: float, words: tuple[Paragraph, ...], left: float, foot: float, width: float
) -> Arrangement:
    return Arrangement(
        window_mm=(LEFT_MM + GAP_MM, foot + GAP_MM, w_mm, h_mm),
        words=text_lines(words, left_mm=left, top_mm=foot, width_mm=width),
    )

"""The typeface of the exports: its metrics, and breaking sentences into lines."""

from __future__ import annotations

from functools import cache
from importlib.resources import as_file, files

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FONT = "DejaVuSans"  # Latin, Greek and Cyrillic; free to pass on, see fonts/LICENSE-DejaVuSans.txt
FONT_FAMILY = "'DejaVu Sans', Verdana, sans-serif"  # the same letters' shape, where not embedded
CAPITAL = 0.729  # height of a capital over the em: OS/2 sCapHeight 1493 of 2048 units
LINE_PITCH = 1.75  # baseline to baseline, over the height of a capital


@cache
def registered_font() -> str:
    """Return the font's name, made known to reportlab."""
    with as_file(files("app.exports").joinpath(f"fonts/{FONT}.ttf")) as path:
        pdfmetrics.registerFont(TTFont(FONT, str(path)))
    return FONT


def drawable(text: str) -> str:
    """Return a text with a question mark for each letter that the typeface lacks.

    Examples
    --------
    >>> drawable("Größe 刀 2")
    'Größe ? 2'
    """
    font = pdfmetrics.getFont(registered_font())
    assert isinstance(font, TTFont)
    known = font.face.charToGlyph
    return "".join(letter if ord(letter) in known else "?" for letter in text)


def em_mm(height_mm: float) -> float:
    """Return the font size whose capitals have a height, mm."""
    return height_mm / CAPITAL


def text_width_mm(text: str, height_mm: float) -> float:
    """Return how wide a line of words runs, mm."""
    width: float = pdfmetrics.stringWidth(text, registered_font(), em_mm(height_mm))
    return width


def wrapped(text: str, height_mm: float, width_mm: float) -> list[str]:
    """Return a sentence broken between words, and inside words that alone are too long."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_width_mm(longer, height_mm) <= width_mm:
            lines[-1] = longer
            continue
        pieces = _pieces(word, height_mm, width_mm)
        lines[-1:] = [line for line in (lines[-1], *pieces) if line]
    return lines


def _pieces(word: str, height_mm: float, width_mm: float) -> list[str]:
    pieces = [""]
    for letter in word:
        if pieces[-1] and text_width_mm(pieces[-1] + letter, height_mm) > width_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces

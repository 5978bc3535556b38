"""Sheets of paper by name or size.

Sources: ISO 216 (A series, trimmed sizes), ANSI/ASME Y14.1 (sizes A and B), and the common name
Legal for 8 1/2 x 14 in.
"""

from __future__ import annotations

from dataclasses import dataclass

from app.document.lengths import format_length, parse_size_mm
from calibration.references import PAPER_LABELS, PAPERS
from geometry.errors import InputError

SMALLEST_MM = 120.0  # a 100 mm bar and the margins
LARGEST_MM = 5000.0  # a roll; the largest page of a PDF is 5080 mm (14400 points)


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """One size of paper, upright or lying.

    Parameters
    ----------
    name : str
        As people call it.
    width_mm, height_mm : float
        Its sides.
    """

    name: str
    width_mm: float
    height_mm: float

    def upright(self) -> Paper:
        """Return the paper with its long side up."""
        long, short = self._sides()
        return Paper(name=self.name, width_mm=short, height_mm=long)

    def lying(self) -> Paper:
        """Return the paper with its long side across."""
        long, short = self._sides()
        return Paper(name=self.name, width_mm=long, height_mm=short)

    def _sides(self) -> tuple[float, float]:
        return max(self.width_mm, self.height_mm), min(self.width_mm, self.height_mm)


#: The sheets that people trace on are the ones that they print on: one table serves both.
NAMED = {
    key: Paper(name=PAPER_LABELS[key], width_mm=short_mm, height_mm=long_mm)
    for key, (short_mm, long_mm) in PAPERS.items()
}


def paper_named(text: str) -> Paper:
    """Return the paper that a person named.

    Parameters
    ----------
    text : str
        A name of `NAMED` in any case, or a size like ``250x353`` or ``9x12in``; bare numbers are
        millimetres.

    Raises
    ------
    InputError
        If the name is unknown, or the paper too small for the 100 mm bars or too large for a PDF.

    Examples
    --------
    >>> paper_named("A4").height_mm, paper_named("9x12in").width_mm
    (297.0, 228.6)
    """
    known = NAMED.get(text.strip().lower())
    if known is not None:
        return known
    if not any(letter.isdigit() for letter in text):
        raise InputError(
            f"the paper “{text}” is not known.",
            where="Paper",
            remedy=f"Use {', '.join(NAMED)}, or a size like 250x353 in mm.",
        )
    width_mm, height_mm = parse_size_mm(text, where="Paper")
    if min(width_mm, height_mm) < SMALLEST_MM or max(width_mm, height_mm) > LARGEST_MM:
        raise InputError(
            f"paper of {format_length(width_mm, 'mm')} by {format_length(height_mm, 'mm')} "
            "cannot carry a pattern.",
            where="Paper",
            remedy=f"Use sides from {SMALLEST_MM:.0f} to {LARGEST_MM:.0f} mm.",
        )
    return Paper(name=text.strip(), width_mm=width_mm, height_mm=height_mm)

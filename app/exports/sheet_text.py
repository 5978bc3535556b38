"""The words of a pattern: title, how to prove the scale, what each line means, cautions."""

from __future__ import annotations

from dataclasses import dataclass

from app.document.drawing import Text, TitleBlock
from app.document.lengths import format_fraction, format_length
from app.exports.lettering import LINE_PITCH, wrapped

TITLE_MM = 3.2  # height of capitals
PLAIN_MM = 2.0
SMALL_MM = 1.7
NAME_LETTERS = 120  # of a title; a name without end would push the drawing off the sheet
MEASURE = (
    "Measure both bars before cutting: 100 mm and 4 in, across and up. If one is off, print "
    "again at 100 %, with no fitting to the page."
)
CAUTIONS = (
    "Sawing, drilling and grinding: follow the manuals of your tools and the data sheets of your "
    "materials; clamp the piece, protect eyes, ears and lungs, tape the edge once it is sharp.",
    "Carrying, selling and posting of knives is regulated differently from place to place: ask "
    "locally.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A sentence or two in letters of one height."""

    text: str
    height_mm: float = PLAIN_MM


def paragraphs(title: TitleBlock, extra: tuple[str, ...] = ()) -> tuple[Paragraph, ...]:
    """Return the words of a sheet, in order; extra lines stand below the title."""
    return (
        Paragraph(text=_shortened(title.name), height_mm=TITLE_MM),
        Paragraph(text=" · ".join(_facts(title))),
        *(Paragraph(text=line) for line in extra),
        Paragraph(text=MEASURE),
        *(Paragraph(text=note) for note in title.notes),
        *(Paragraph(text=caution, height_mm=SMALL_MM) for caution in CAUTIONS),
    )


def _shortened(name: str) -> str:
    return name if len(name) <= NAME_LETTERS else f"{name[:NAME_LETTERS]}…"


def _facts(title: TitleBlock) -> list[str]:
    facts = [title.date.isoformat(), "scale 1:1"]
    if title.thickness_mm is not None:
        size = format_length(title.thickness_mm, title.unit)
        inches = f" (about {format_fraction(title.thickness_mm)})" if title.unit == "in" else ""
        facts.append(f"steel {size}{inches} thick")
    return facts


def text_lines(
    words: tuple[Paragraph, ...], *, left_mm: float, top_mm: float, width_mm: float
) -> tuple[Text, ...]:
    """Return paragraphs broken into lines from a top left corner down."""
    lines: list[Text] = []
    y_mm = top_mm
    for paragraph in words:
        pitch_mm = paragraph.height_mm * LINE_PITCH
        for number, text in enumerate(wrapped(paragraph.text, paragraph.height_mm, width_mm)):
            y_mm -= paragraph.height_mm if number == 0 else pitch_mm
            lines.append(
                Text(
                    layer="TEXT", x_mm=left_mm, y_mm=y_mm, text=text, height_mm=paragraph.height_mm
                )
            )
        y_mm -= pitch_mm - paragraph.height_mm + 0.4
    return tuple(lines)


def text_height_mm(words: tuple[Paragraph, ...], width_mm: float) -> float:
    """Return how far down the lines of `text_lines` reach, tails of letters counted."""
    lines = text_lines(words, left_mm=0.0, top_mm=0.0, width_mm=width_mm)
    return -lines[-1].y_mm + 0.3 * lines[-1].height_mm if lines else 0.0

"""A drawing with its bars and words on one sheet without end, for files that know no pages."""

from __future__ import annotations

from dataclasses import replace

from app.document.drawing import Drawing
from app.exports.labels import with_labels_settled
from app.exports.rulers import FOOT_MM, LEFT_MM, TALLEST_MM, rulers
from app.exports.sheet_text import paragraphs, text_height_mm, text_lines

GAP_MM = 6.0
NARROWEST_MM = 150.0


def on_one_sheet(drawing: Drawing) -> Drawing:
    """Return the drawing, moved nowhere, with bars and words below it and its labels settled."""
    left, bottom, right, _ = drawing.box_mm()
    words = paragraphs(drawing.title)
    width = max(right - left, NARROWEST_MM) - LEFT_MM - GAP_MM
    top = bottom - GAP_MM
    height = max(FOOT_MM + 2.0 + TALLEST_MM, FOOT_MM + GAP_MM + text_height_mm(words, width))
    below = (
        *rulers(left, top - height),
        *text_lines(words, left_mm=left + LEFT_MM + GAP_MM, top_mm=top, width_mm=width),
    )
    settled = with_labels_settled(drawing)
    return replace(settled, items=(*settled.items, *below))

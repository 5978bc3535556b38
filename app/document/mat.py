"""The printed mat as a drawing: one page to trace in, which measures the photo by its markers."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from app.document.drawing import Align, Drawing, Item, Polyline, Text, TitleBlock
from calibration.mat import BAR_MM, VERSION, MatLayout
from calibration.references import PAPER_LABELS

TITLE_MM, PLAIN_MM = 2.8, 1.7  # height of capitals
ROW_MM = 3.5  # baseline to baseline; four rows stand beside the block at the top
BESIDE_MM = 1.5  # between a bar and its length
FOOT_MM = 1.0  # of a row, below its letters' feet
STEPS = (
    "1  Print at 100 %, not fitted to the page.",
    "2  Measure both bars with calipers.",
    "3  Trace inside, or lay the steel on it.",
    "4  Photograph all of it from above.",
)


def mat_drawing(layout: MatLayout, day: datetime.date) -> Drawing:
    """Return the mat's page, in mm from the paper's lower left corner.

    Parameters
    ----------
    layout : MatLayout
        Where everything stands.
    day : datetime.date
        Of the drawing; it is not printed.
    """
    label = PAPER_LABELS[layout.paper]
    items: list[Item] = [_box(*box) for box in layout.dark_mm]
    items += _words(layout, label)
    items += [Polyline(layer="MARKS", points_mm=line) for line in layout.lines_mm]
    items += _bar_names(layout)
    return Drawing(items=tuple(items), title=TitleBlock(name=f"Blankwright mat, {label}", date=day))


def _box(left: float, bottom: float, right: float, top: float) -> Polyline:
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Polyline(layer="MARKERS", points_mm=corners, closed=True)


def _words(layout: MatLayout, label: str) -> Iterator[Text]:
    (left, _, _, top), (right, _, _, _) = layout.words_mm[:2]
    yield _line(left, top - 4.2, "Blankwright mat", TITLE_MM)
    yield _line(left, top - 4 * ROW_MM + FOOT_MM + ROW_MM, f"{label}, version {VERSION}")
    yield _line(left, top - 4 * ROW_MM + FOOT_MM, f"Bars: {BAR_MM:.0f} mm from mark to mark")
    for row, step in enumerate(STEPS, start=1):
        yield _line(right, top - row * ROW_MM + FOOT_MM, step)


def _line(
    x_mm: float, y_mm: float, text: str, height_mm: float = PLAIN_MM, align: Align = "start"
) -> Text:
    return Text(layer="TEXT", x_mm=x_mm, y_mm=y_mm, text=text, height_mm=height_mm, align=align)


def _bar_names(layout: MatLayout) -> Iterator[Text]:
    """Yield what the bars are called and how long they are, toward the field."""
    length = f"{BAR_MM:.0f} mm"
    (left, foot, right, _), (_, bottom, side, top) = layout.words_mm[2:]
    yield _line((left + right) / 2, foot + BESIDE_MM, f"across: {length}", align="middle")
    middle = (bottom + top) / 2
    yield _line(side - BESIDE_MM, middle + ROW_MM / 2, "up:", align="end")
    yield _line(side - BESIDE_MM, middle - ROW_MM / 2, length, align="end")

"""Families on pages, each page at the scale that it states, with a bar that proves it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from app.document.drawing import Align, Drawing, Item, Polyline, Text, TitleBlock
from app.document.gallery import Figure, figure
from app.document.lengths import MM_PER, Unit, format_length
from app.document.paper import Paper
from geometry.errors import InputError
from geometry.family import Family

SIDE_MM, FOOT_MM = 10.0, 15.0  # what common printers cannot reach, and a little more
HEAD_MM, BAR_MM = 12.0, 12.0  # of a page: title above, bar below
APART_X_MM, APART_Y_MM = 12.0, 6.0
TITLE_MM, PLAIN_MM = 3.6, 2.0  # height of capitals
#: Of knife along the bar: how many of the unit, its ticks, and at which of them a taller one is.
BARS: dict[Unit, tuple[int, int, int]] = {"mm": (100, 10, 5), "in": (4, 8, 2)}
Scale: TypeAlias = tuple[int, int]
Scaled: TypeAlias = tuple[Scale, Figure]
#: Numerator and denominator of the scales that people work in, the largest first.
SCALES = ((1, 1), (3, 4), (1, 2), (1, 3), (1, 4), (1, 5), (1, 10), (1, 20), (1, 50), (1, 100))


@dataclass(frozen=True, slots=True, kw_only=True)
class Gallery:
    """Pages of families.

    Parameters
    ----------
    paper : Paper
        As it lies.
    scales : tuple of (int, int)
        Of each page: paper over knife, (1, 2) for half size.
    pages : tuple of Drawing
        Each a page as it stands, mm from the paper's lower left corner.
    """

    paper: Paper
    scales: tuple[Scale, ...]
    pages: tuple[Drawing, ...]


def gallery(
    families: Sequence[Family], *, paper: Paper, day: datetime.date, unit: Unit = "mm"
) -> Gallery:
    """Return families at their usual measures on pages, each as large as it fits.

    Parameters
    ----------
    families : sequence of Family
        In the order to draw them, but for one that still has room on an earlier page; those of one
        scale stand together, the largest scale first.
    paper : Paper
        Its size; it lies as they fit best.
    day : datetime.date
        Of the drawing.
    unit : {"mm", "in"}
        What the dimensions and the bar are written in.

    Raises
    ------
    InputError
        If there are none, or the paper is too small for any scale.
    """
    if not families:
        raise InputError("there are no families to draw.", where="Families")
    lies, drawn = _laid(families, paper, unit)
    sheets = [
        (scale, items)
        for scale in SCALES
        for items in _packed([each for at, each in drawn if at == scale], lies)
    ]
    pages = tuple(
        Drawing(
            items=(*items, *_furniture(lies, scale, f"page {number} of {len(sheets)}", day, unit)),
            title=TitleBlock(name="Families", date=day, unit=unit),
        )
        for number, (scale, items) in enumerate(sheets, start=1)
    )
    return Gallery(paper=lies, scales=tuple(scale for scale, _ in sheets), pages=pages)


def scale_words(scale: Scale) -> str:
    """Return a scale in words: ``true size (1:1)``, ``half size (1:2)``."""
    named = {(1, 1): "true size", (3, 4): "three quarters of true size", (1, 2): "half size"}
    top, bottom = scale
    return f"{named.get(scale, 'smaller than true size')} ({top}:{bottom})"


def _laid(families: Sequence[Family], paper: Paper, unit: Unit) -> tuple[Paper, list[Scaled]]:
    """Return how the paper lies, and each family at the largest scale at which it fits on it.

    The paper lies so that the families are largest, all taken together.
    """
    ways = []
    for lies in (paper.upright(), paper.lying()):
        drawn = [_largest(family, lies, unit) for family in families]
        ways.append((sum(top / bottom for (top, bottom), _ in drawn), lies, drawn))
    _, lies, drawn = max(ways, key=lambda way: way[0])
    return lies, drawn


def _largest(family: Family, paper: Paper, unit: Unit) -> Scaled:
    """Return the largest scale at which a family fits on paper as it lies, and its figure."""
    wide, tall = _room(paper)
    for scale in SCALES:
        drawn = figure(family, scale[0] / scale[1], unit)
        if drawn.width_mm <= wide and drawn.height_mm <= tall:
            return scale, drawn
    raise InputError(
        f"“{family.name}” does not fit on {paper.name} at any scale.",
        where="Paper",
        remedy="Use larger paper.",
    )


def _room(paper: Paper) -> tuple[float, float]:
    return (
        paper.width_mm - 2 * SIDE_MM,
        paper.height_mm - SIDE_MM - FOOT_MM - HEAD_MM - BAR_MM,
    )


def _packed(figures: Sequence[Figure], paper: Paper) -> list[tuple[Item, ...]]:
    """Return the items of each page: figures in rows, each on the first page with room for it."""
    wide, tall = _room(paper)
    low = FOOT_MM + BAR_MM
    pages: list[list[Item]] = []
    tops: list[float] = []
    for row in _rows(figures, wide):
        height = max(each.height_mm for each in row)
        number = next((n for n, top in enumerate(tops) if top - height >= low), len(pages))
        if number == len(pages):
            pages.append([])
            tops.append(low + tall)
        x = SIDE_MM
        for each in row:
            pages[number] += each.at(x, tops[number] - each.height_mm)
            x += each.width_mm + APART_X_MM
        tops[number] -= height + APART_Y_MM
    return [tuple(page) for page in pages]


def _rows(figures: Sequence[Figure], wide: float) -> list[list[Figure]]:
    """Return the figures in rows that are no wider than the page."""
    rows: list[list[Figure]] = []
    left = 0.0
    for each in figures:
        if rows and each.width_mm <= left:
            rows[-1].append(each)
        else:
            rows.append([each])
            left = wide
        left -= each.width_mm + APART_X_MM
    return rows


def _furniture(
    paper: Paper, scale: Scale, number: str, day: datetime.date, unit: Unit
) -> tuple[Item, ...]:
    """Return the title over a page and the bar below it."""
    top = paper.height_mm - SIDE_MM
    right = paper.width_mm - SIDE_MM
    size = scale_words(scale)
    return (
        _words(SIDE_MM, top - TITLE_MM, "Families at their usual measures", TITLE_MM),
        _words(right, top - TITLE_MM, f"{size} · {number} · {day.isoformat()}", align="end"),
        *_bar(scale, unit),
    )


def _bar(scale: Scale, unit: Unit) -> tuple[Item, ...]:
    """Return the bar, 100 mm or 4 in of knife with its ticks, and how long it has to measure."""
    count, ticks, taller = BARS[unit]
    long_mm = count * MM_PER[unit] * scale[0] / scale[1]
    x0, y = SIDE_MM, FOOT_MM + 5.0
    bar = [Polyline(layer="RULERS", points_mm=((x0, y), (x0 + long_mm, y)))]
    for tick in range(ticks + 1):
        x = x0 + long_mm * tick / ticks
        tall = 3.0 if tick % taller == 0 else 2.0
        bar.append(Polyline(layer="TICKS", points_mm=((x, y), (x, y + tall))))
    told = (
        f"{count} {unit} of knife: this bar is {format_length(long_mm, unit)} long on paper. "
        "If it is not, print again at 100 %."
    )
    return (*bar, _words(x0, y - PLAIN_MM - 1.4, told))


def _words(
    x_mm: float, y_mm: float, text: str, height_mm: float = PLAIN_MM, align: Align = "start"
) -> Text:
    return Text(layer="TEXT", x_mm=x_mm, y_mm=y_mm, text=text, height_mm=height_mm, align=align)

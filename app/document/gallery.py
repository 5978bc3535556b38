"""Families drawn with their main dimensions: what the gallery prints and the chooser shows."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from app.document.drawing import Circle, Cross, Item, Label, PointMm, Polyline, Text, box_of, mapped
from app.document.lengths import Unit, format_length
from app.document.pattern import AXIS_KINDS, closed_chain
from geometry.blade_measures import handle_front, heel_section
from geometry.errors import ToolError
from geometry.family import Family
from geometry.outline import Outline
from geometry.pose import Pose

NAME_MM, PLAIN_MM, SMALL_MM = 2.8, 1.8, 1.5  # capitals: a name, a dimension, a line's name
FIRST_MM, NEXT_MM = 5.0, 5.5  # from the profile to its dimensions, and between two rows of them
OVER_MM = 1.2  # how far a thin line runs past a dimension's line
SLANT_MM = 0.9  # half a dimension's end stroke, across and up
ABOVE_MM = 0.8  # between a dimension's line and its number
PITCH_MM = 3.0  # from line to line of the words below a name
OVER_PROFILE_MM = 4.0  # between the words and the profile: room for the names of lines
LETTER = 0.85  # the width of a letter, no less, over the height of a capital
NAME_LETTERS, LINE_LETTERS = 42, 70  # a name is cut there, a line of words broken
LEAST_HEEL_MM = 12.0  # as drawn: in less, the words beside a width would lie over other words
CROSS_MM = 1.0  # how far a hole's cross reaches over it
UNNAMED_MARKS = ("jimping", *AXIS_KINDS)  # seen for what they are without a word


@dataclass(frozen=True, slots=True, kw_only=True)
class MainSizes:
    """The lengths that a maker asks of a shape first, mm; None where a shape has none."""

    overall_mm: float
    blade_mm: float | None
    handle_mm: float | None
    heel_mm: float | None


def main_sizes(outline: Outline) -> MainSizes:
    """Return the main lengths of an outline, along x but for the width at the heel.

    Quicker than all of `geometry.blade_measures.blade_measures`, for a list of many shapes.
    """
    front, heel = handle_front(outline), heel_section(outline)
    return MainSizes(
        overall_mm=outline.overall_length_mm,
        blade_mm=outline.blade_length_mm,
        handle_mm=None if front is None else front[0] - outline.bounds_mm[0],
        heel_mm=None if heel is None else heel.width_mm,
    )


def sizes_words(sizes: MainSizes, unit: Unit) -> str:
    """Return the main lengths on one line.

    Examples
    --------
    >>> sizes_words(
    ...     MainSizes(overall_mm=208.0, blade_mm=95.0, handle_mm=113.0, heel_mm=26.0), "mm"
    ... )
    'blade 95, overall 208, heel 26 mm'
    """
    named = (("blade", sizes.blade_mm), ("overall", sizes.overall_mm), ("heel", sizes.heel_mm))
    told = [f"{name} {shown(mm, unit).split()[0]}" for name, mm in named if mm is not None]
    return f"{', '.join(told)} {unit}"


def holes_words(outline: Outline, unit: Unit) -> str:
    """Return the holes of an outline by kind and size: ``2 pin holes 6 mm, tube hole 6.5 mm``."""
    counted = Counter((hole.kind, format_length(hole.diameter_mm, unit)) for hole in outline.holes)
    return ", ".join(
        f"{count} {kind} holes {size}" if count > 1 else f"{kind} hole {size}"
        for (kind, size), count in counted.items()
    )


def heel_words(outline: Outline, unit: Unit) -> str:
    """Return the width at the heel: ``26 mm at the heel``; empty without one."""
    heel_mm = main_sizes(outline).heel_mm
    return "" if heel_mm is None else f"{shown(heel_mm, unit)} at the heel"


def shown(value_mm: float, unit: Unit) -> str:
    """Return a length as a maker reads it off a gallery: to 0.1 mm or 0.01 in, no idle zeros.

    Examples
    --------
    >>> shown(95.0, "mm"), shown(95.27, "mm"), shown(95.0, "in")
    ('95 mm', '95.3 mm', '3.74 in')
    """
    value, _, name = format_length(value_mm, unit, decimals=1 if unit == "mm" else 2).partition(" ")
    return f"{value.rstrip('0').rstrip('.')} {name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A family drawn: its lower left corner at the origin, mm on paper.

    Parameters
    ----------
    family : Family
        What is drawn.
    items : tuple of Item
        Lines, dimensions and words.
    width_mm, height_mm : float
        The room it takes.
    """

    family: Family
    items: tuple[Item, ...]
    width_mm: float
    height_mm: float

    def at(self, x_mm: float, y_mm: float) -> tuple[Item, ...]:
        """Return the items with the lower left corner at a place."""
        return _shifted(self.items, x_mm, y_mm)


def figure(family: Family, scale: float, unit: Unit) -> Figure:
    """Return a family at its usual measures, drawn at a scale; one that makes none says why."""
    try:
        outline = family.outline()
    except ToolError as error:
        return _framed(family, (), f"{family.key} · cannot be drawn: {error.message}")
    drawn = outline.moved(Pose(scale=scale))
    lines = tuple(_lines(drawn))
    heel = heel_section(drawn)
    beside = heel is not None and heel.width_mm < LEAST_HEEL_MM
    words = [family.key, heel_words(outline, unit) if beside else "", holes_words(outline, unit)]
    items = (*lines, *_dimensions(drawn, outline, unit))
    return _framed(family, items, " · ".join(word for word in words if word))


def lines_of(outline: Outline) -> tuple[Item, ...]:
    """Return an outline's edge, holes and marks as lines without words."""
    return tuple(item for item in _lines(outline) if not isinstance(item, Label))


def _lines(outline: Outline) -> Iterator[Item]:
    yield closed_chain("PROFILE", outline.chain)
    for cutout in outline.cutouts:
        yield closed_chain("HOLES", cutout)
    for hole in outline.holes:
        x, y, size = hole.x_mm, hole.y_mm, hole.diameter_mm
        yield Circle(layer="HOLES", x_mm=x, y_mm=y, diameter_mm=size)
        yield Cross(layer="CENTRES", x_mm=x, y_mm=y, size_mm=size + 2 * CROSS_MM)
    named: set[str] = set()
    for mark in outline.marks:
        yield Polyline(
            layer="AXIS" if mark.kind in AXIS_KINDS else "MARKS", points_mm=mark.points_mm
        )
        if mark.kind not in named and mark.kind not in UNNAMED_MARKS:
            named.add(mark.kind)
            yield _mark_name(mark.kind, mark.points_mm)


def _mark_name(kind: str, points_mm: tuple[PointMm, ...]) -> Label:
    """Return a line's name at its upper end, or midway along one that lies along the blade."""
    xs, ys = zip(*points_mm, strict=True)
    upright = max(ys) - min(ys) >= max(xs) - min(xs)
    at = max(points_mm, key=lambda p: p[1]) if upright else points_mm[len(points_mm) // 2]
    return Label(layer="TEXT", x_mm=at[0], y_mm=at[1], text=kind, height_mm=SMALL_MM, clear_mm=0.6)


def _dimensions(drawn: Outline, true: Outline, unit: Unit) -> Iterator[Item]:
    """Yield the main dimensions below and in the profile; their numbers are the true ones."""
    sizes = main_sizes(true)
    x0, bottom, x1, _ = drawn.bounds_mm
    tip, butt = _extreme(drawn, 1.0), _extreme(drawn, -1.0)
    front = handle_front(drawn)
    row = bottom - FIRST_MM
    if front is not None and sizes.blade_mm is not None and sizes.handle_mm is not None:
        held = "tang" if _has_shoulders(true) else "handle"
        yield from _along(x0, front[0], row, f"{held} {shown(sizes.handle_mm, unit)}")
        yield from _along(front[0], x1, row, f"blade {shown(sizes.blade_mm, unit)}")
        yield _thin((front[0], min(front[1], bottom) - 0.5), (front[0], row - OVER_MM))
        row -= NEXT_MM
    yield from _along(x0, x1, row, f"overall {shown(sizes.overall_mm, unit)}")
    for x, y in (tip, butt):
        yield _thin((x, y - 0.5), (x, row - OVER_MM))
    heel = heel_section(drawn)
    if heel is not None and heel.width_mm >= LEAST_HEEL_MM:
        low, high = (heel.x_mm, heel.low_mm), (heel.x_mm, heel.high_mm)
        yield from _upright(low, high, heel_words(true, unit))


def _along(x0: float, x1: float, y: float, words: str) -> Iterator[Item]:
    """Yield a level dimension between two places, its words over the middle."""
    yield _thin((x0, y), (x1, y))
    yield from (_stroke(x, y) for x in (x0, x1))
    yield Text(
        layer="TEXT",
        x_mm=(x0 + x1) / 2,
        y_mm=y + ABOVE_MM,
        text=words,
        height_mm=PLAIN_MM,
        align="middle",
    )


def _upright(low: PointMm, high: PointMm, words: str) -> Iterator[Item]:
    """Yield an upright dimension; its words go where there is room beside it."""
    yield _thin(low, high)
    yield from (_stroke(*point) for point in (low, high))
    yield Label(
        layer="TEXT",
        x_mm=low[0],
        y_mm=(low[1] + high[1]) / 2,
        text=words,
        height_mm=PLAIN_MM,
        clear_mm=0.4,
    )


def _thin(start: PointMm, end: PointMm) -> Polyline:
    return Polyline(layer="TICKS", points_mm=(start, end))


def _stroke(x: float, y: float) -> Polyline:
    return _thin((x - SLANT_MM, y - SLANT_MM), (x + SLANT_MM, y + SLANT_MM))


def _extreme(outline: Outline, sign: float) -> PointMm:
    """Return the lowest of the places that reach farthest along x, or farthest back."""
    ring = outline.ring().tolist()
    reach = max(sign * x for x, _ in ring)
    return min(((x, y) for x, y in ring if sign * x > reach - 0.01), key=lambda p: p[1])


def _has_shoulders(outline: Outline) -> bool:
    """Return whether the handle is put over a tang, so that its length is not the handle's."""
    return any(station.name.endswith("shoulder") for station in outline.stations)


def _framed(family: Family, items: tuple[Item, ...], words: str) -> Figure:
    """Return items with the name and words over them, the lower left corner at the origin."""
    x0, y0, x1, y1 = box_of(items)
    name = textwrap.shorten(family.name, NAME_LETTERS, placeholder="…")
    rows = textwrap.wrap(words, LINE_LETTERS)
    head = y1 - y0 + NAME_MM + len(rows) * PITCH_MM + (OVER_PROFILE_MM if items else 0.0)
    texts = [_words(head - NAME_MM, name, NAME_MM)]
    for row, text in enumerate(rows, start=1):
        texts.append(_words(head - NAME_MM - row * PITCH_MM, text, PLAIN_MM))
    written = max(LETTER * text.height_mm * len(text.text) for text in texts)
    return Figure(
        family=family,
        items=(*texts, *_shifted(items, -x0, -y0)),
        width_mm=max(x1 - x0, written),
        height_mm=head,
    )


def _words(y: float, text: str, height_mm: float) -> Text:
    return Text(layer="TEXT", x_mm=0.0, y_mm=y, text=text, height_mm=height_mm)


def _shifted(items: tuple[Item, ...], dx: float, dy: float) -> tuple[Item, ...]:
    return tuple(mapped(item, lambda x, y: (x + dx, y + dy)) for item in items)

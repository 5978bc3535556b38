"""Lines, circles, crosses and words in millimetres: a pattern before it becomes PDF, SVG or DXF."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Literal

from app.document.lengths import Unit
from geometry.curves import Chain, Cubic, Segment

PointMm = tuple[float, float]
BoxMm = tuple[float, float, float, float]
Move = Callable[[float, float], PointMm]
Align = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One purpose of lines, in a trade word.

    Parameters
    ----------
    name : str
        As it is written into SVG groups and DXF layers.
    width_mm : float
        Width of its lines on paper; nothing under 0.1, a dot of a 300 dpi printer is 0.085.
    dash_mm : tuple of float
        Lengths drawn and left out, in turn; empty for a solid line.
    filled : bool
        Whether its closed lines are areas, dark up to their points and no further.
    """

    name: str
    width_mm: float
    dash_mm: tuple[float, ...] = ()
    filled: bool = False


LAYERS = {
    layer.name: layer
    for layer in (
        Layer(name="PROFILE", width_mm=0.2),
        Layer(name="HOLES", width_mm=0.2),
        Layer(name="CENTRES", width_mm=0.12),
        Layer(name="MARKS", width_mm=0.15),
        Layer(name="AXIS", width_mm=0.12, dash_mm=(6.0, 1.2, 1.2, 1.2)),
        Layer(name="CONTOUR", width_mm=0.2),
        Layer(name="BILLET", width_mm=0.2, dash_mm=(3.0, 1.5)),
        Layer(name="FLAWS", width_mm=0.12),
        Layer(name="MARGIN", width_mm=0.12, dash_mm=(0.8, 0.8)),
        Layer(name="RULERS", width_mm=0.4),
        Layer(name="TICKS", width_mm=0.1),
        Layer(name="JOINS", width_mm=0.15),
        Layer(name="TRIM", width_mm=0.1),
        Layer(name="TEXT", width_mm=0.1),
        Layer(name="MARKERS", width_mm=0.1, filled=True),
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Polyline:
    """Straight pieces through points; closed when the last is joined to the first.

    ``chain`` is the same line as lines, arcs and curves, for files that know them; empty where
    the points are all there is.
    """

    layer: str
    points_mm: tuple[PointMm, ...]
    closed: bool = False
    chain: Chain = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A circle about a centre."""

    layer: str
    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cross:
    """An upright cross; an arm is half of its size."""

    layer: str
    x_mm: float
    y_mm: float
    size_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """Words on one line, level with the page however the drawing is turned.

    ``x_mm, y_mm`` is the foot of the first, middle or last letter; ``height_mm`` the height of a
    capital letter.
    """

    layer: str
    x_mm: float
    y_mm: float
    text: str
    height_mm: float
    align: Align = "start"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words that belong beside a thing, wherever there is room once the drawing lies on its page.

    ``x_mm, y_mm`` is the thing's middle, ``clear_mm`` the radius to keep free round it.
    """

    layer: str
    x_mm: float
    y_mm: float
    text: str
    height_mm: float
    clear_mm: float


Item = Polyline | Circle | Cross | Text | Label


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What the pattern says about itself.

    Parameters
    ----------
    name : str
        The job's name.
    date : datetime.date
        The day of the print.
    thickness_mm : float, optional
        Thickness of the steel, if known.
    unit : {"mm", "in"}
        What the maker reads lengths in.
    notes : tuple of str
        Further lines: what the lines mean, what the maker wrote.
    """

    name: str
    date: datetime.date
    thickness_mm: float | None = None
    unit: Unit = "mm"
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Items in mm, y up, and the title that goes with them.

    The items stand where the layout has them; pages, bars and title are added by what prints them.
    """

    items: tuple[Item, ...]
    title: TitleBlock

    def turned(self, angle_rad: float) -> Drawing:
        """Return the drawing turned counter-clockwise about the origin; words stay level."""
        if angle_rad == 0.0:
            return self
        cos, sin = math.cos(angle_rad), math.sin(angle_rad)
        return self._mapped(lambda x, y: (cos * x - sin * y, sin * x + cos * y))

    def moved(self, dx_mm: float, dy_mm: float) -> Drawing:
        """Return the drawing moved."""
        return self._mapped(lambda x, y: (x + dx_mm, y + dy_mm))

    def box_mm(self) -> BoxMm:
        """Return the lines' box as left, bottom, right, top; words are not counted."""
        return box_of(self.items)

    def _mapped(self, move: Move) -> Drawing:
        return replace(self, items=tuple(mapped(item, move) for item in self.items))


def mapped(item: Item, move: Move) -> Item:
    """Return an item moved by a rigid map."""
    if isinstance(item, Polyline):
        points = tuple(move(x, y) for x, y in item.points_mm)
        return replace(item, points_mm=points, chain=tuple(_carried(p, move) for p in item.chain))
    x_mm, y_mm = move(item.x_mm, item.y_mm)
    return replace(item, x_mm=x_mm, y_mm=y_mm)


def _carried(piece: Segment, move: Move) -> Segment:
    start, end = move(*piece.start), move(*piece.end)
    if isinstance(piece, Cubic):
        control1, control2 = move(*piece.control1), move(*piece.control2)
        return replace(piece, start=start, control1=control1, control2=control2, end=end)
    return replace(piece, start=start, end=end)


def box_of(items: Iterable[Item]) -> BoxMm:
    """Return left, bottom, right, top of the lines; all zero without any.

    Examples
    --------
    >>> box_of([Circle(layer="HOLES", x_mm=1.0, y_mm=2.0, diameter_mm=2.0)])
    (0.0, 1.0, 2.0, 3.0)
    """
    corners: list[PointMm] = []
    for item in items:
        if isinstance(item, Polyline):
            corners += item.points_mm
        elif isinstance(item, Circle | Cross):
            half = (item.diameter_mm if isinstance(item, Circle) else item.size_mm) / 2
            corners += [(item.x_mm - half, item.y_mm - half), (item.x_mm + half, item.y_mm + half)]
    if not corners:
        return (0.0, 0.0, 0.0, 0.0)
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)

"""A pattern as SVG in millimetres: one user unit is one millimetre, and nothing is transformed."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.sax.saxutils import escape

from app.document.drawing import LAYERS, Circle, Cross, Drawing, Item, Layer, Polyline, Text, box_of
from app.exports.lettering import FONT_FAMILY, em_mm, text_width_mm
from app.exports.one_sheet import on_one_sheet
from app.exports.strokes import cross_arms
from app.files.atomic import write_atomically
from geometry.curves import Arc, Chain, Cubic, Segment

EDGE_MM = 5.0  # bare sheet round everything
UNPRINTABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")  # XML 1.0, 2.2


def write_svg(drawing: Drawing, path: Path | str) -> None:
    """Write a pattern as an SVG.

    Width and height are in mm and so is the view box; each layer is a group of its name.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    write_atomically(path, svg_text(drawing).encode("utf-8"))


def svg_text(drawing: Drawing) -> str:
    """Return a pattern's SVG."""
    sheet = on_one_sheet(drawing)
    left, bottom, right, top = box_of([*sheet.items, *map(_text_box, _texts(sheet))])
    place = _Place(left - EDGE_MM, top + EDGE_MM)
    width, height = right - left + 2 * EDGE_MM, top - bottom + 2 * EDGE_MM
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.4f}mm" height="{height:.4f}mm" '
        f'viewBox="0 0 {width:.4f} {height:.4f}">',
        f"<title>{_escaped(drawing.title.name)}</title>",
    ]
    for layer in LAYERS.values():
        items = [item for item in sheet.items if item.layer == layer.name]
        if items:
            lines += [f"<g {_look(layer)}>", *(place.element(i) for i in items), "</g>"]
    return "\n".join([*lines, "</svg>", ""])


class _Place:
    """Turns y from up to down, once, and writes elements."""

    def __init__(self, left_mm: float, top_mm: float) -> None:
        self.left_mm, self.top_mm = left_mm, top_mm

    def element(self, item: Item) -> str:
        """Return an item as an SVG element."""
        if isinstance(item, Polyline):
            path = self._chain(item.chain) if item.chain else self._path(item.points_mm)
            return f'<path d="M{path}{"Z" if item.closed else ""}"/>'
        if isinstance(item, Circle):
            x, y = self._at(item.x_mm, item.y_mm)
            return f'<circle cx="{x}" cy="{y}" r="{item.diameter_mm / 2:.4f}"/>'
        if isinstance(item, Cross):
            return f'<path d="{"".join(f"M{self._path(arm)}" for arm in cross_arms(item))}"/>'
        if isinstance(item, Text):
            x, y = self._at(item.x_mm, item.y_mm)
            anchor = "" if item.align == "start" else f' text-anchor="{item.align}"'
            size = f'font-size="{em_mm(item.height_mm):.4f}"'
            return f'<text x="{x}" y="{y}" {size}{anchor}>{_escaped(item.text)}</text>'
        raise ValueError("labels are settled before they are drawn")

    def _at(self, x_mm: float, y_mm: float) -> tuple[str, str]:
        return f"{x_mm - self.left_mm:.4f}", f"{self.top_mm - y_mm:.4f}"

    def _chain(self, chain: Chain) -> str:
        """Return lines, arcs and curves as they are."""
        start = " ".join(self._at(*chain[0].start))
        return start + "".join(self._piece(piece) for piece in chain)

    def _piece(self, piece: Segment) -> str:
        end = " ".join(self._at(*piece.end))
        if isinstance(piece, Arc):
            large, clockwise = (int(abs(piece.sweep_rad) > math.pi), int(piece.sweep_rad < 0))
            radius = f"{piece.radius_mm:.6g}"
            return f"A{radius} {radius} 0 {large} {clockwise} {end}"
        if isinstance(piece, Cubic):
            controls = (" ".join(self._at(*at)) for at in (piece.control1, piece.control2))
            return f"C{' '.join(controls)} {end}"
        return f"L{end}"

    def _path(self, points_mm: tuple[tuple[float, float], ...]) -> str:
        return "L".join(" ".join(self._at(*point)) for point in points_mm)


def _look(layer: Layer) -> str:
    if layer.name == "TEXT":
        return f'id="{layer.name}" fill="black" stroke="none" font-family="{FONT_FAMILY}"'
    if layer.filled:
        return f'id="{layer.name}" fill="black" stroke="none"'
    dash = ",".join(f"{length:g}" for length in layer.dash_mm)
    return (
        f'id="{layer.name}" fill="none" stroke="black" stroke-width="{layer.width_mm:g}"'
        f' stroke-linejoin="round"{f" stroke-dasharray={chr(34)}{dash}{chr(34)}" if dash else ""}'
    )


def _texts(sheet: Drawing) -> Iterator[Text]:
    yield from (item for item in sheet.items if isinstance(item, Text))


def _text_box(words: Text) -> Polyline:
    """Return the line that words cover, from their feet to their heads."""
    width_mm = text_width_mm(words.text, words.height_mm)
    left = words.x_mm - width_mm * {"start": 0.0, "middle": 0.5, "end": 1.0}[words.align]
    feet, heads = words.y_mm - 0.3 * words.height_mm, words.y_mm + words.height_mm
    return Polyline(layer="TEXT", points_mm=((left, feet), (left + width_mm, heads)))


def _escaped(text: str) -> str:
    return escape(UNPRINTABLE.sub("", text))

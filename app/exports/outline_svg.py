"""An outline by itself as SVG in millimetres: curves as they are, and what its parts are.

How it is written so that it comes back whole is told in `app.files.svg_file`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from app.exports.svg import EDGE_MM, UNPRINTABLE
from app.files.atomic import write_atomically
from app.files.curves_in import arc_chain
from app.files.told_places import told_by
from geometry.curves import Arc, Chain, Cubic, Point, Segment
from geometry.outline import Outline

STROKES_MM = {"PROFILE": 0.2, "HOLES": 0.2, "MARKS": 0.15, "STATIONS": 1.0}


def write_outline_svg(outline: Outline, path: Path | str) -> None:
    """Write an outline as an SVG in the outline frame; FileError if it cannot be written.

    A user unit is a millimetre, and y is that of the outline frame with its sign turned: the view
    box begins where the outline does.
    """
    write_atomically(path, outline_svg_text(outline).encode("utf-8"))


def outline_svg_text(outline: Outline) -> str:
    """Return the SVG of an outline."""
    x0, y0, x1, y1 = outline.bounds_mm
    left, top = x0 - EDGE_MM, -y1 - EDGE_MM
    width, height = x1 - x0 + 2 * EDGE_MM, y1 - y0 + 2 * EDGE_MM
    groups = {
        "PROFILE": [_edge(outline.chain)],
        "HOLES": [*_holes(outline), *map(_edge, outline.cutouts)],
        "MARKS": [
            f'<path data-kind={_quoted(mark.kind)} d="{_line(mark.points_mm)}"/>'
            for mark in outline.marks
        ],
        "STATIONS": [
            f'<path data-name={_quoted(s.name)} d="M{_at((s.x_mm, s.y_mm))}h0"/>'
            for s in outline.stations
        ],
    }
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" data-frame="outline" width="{width:.6f}mm" '
        f'height="{height:.6f}mm" viewBox="{left:.6f} {top:.6f} {width:.6f} {height:.6f}">',
        f"<title>{escape(_plain(outline.name))}</title>",
    ]
    for name, elements in groups.items():
        if elements:
            look = f'fill="none" stroke="black" stroke-width="{STROKES_MM[name]:g}"'
            lines += [f'<g id="{name}" {look} stroke-linecap="round">', *elements, "</g>"]
    return "\n".join([*lines, "</svg>", ""])


def _holes(outline: Outline) -> Iterator[str]:
    for hole in outline.holes:
        x, y = _at((hole.x_mm, hole.y_mm)).split()
        corners = arc_chain((hole.x_mm, hole.y_mm), hole.diameter_mm / 2, 0.0, 2 * math.pi)
        yield (
            f'<circle data-kind={_quoted(hole.kind)} data-at="{told_by(corners)}" '
            f'cx="{x}" cy="{y}" '
            f'r="{hole.diameter_mm / 2:.6f}"/>'
        )


def _edge(chain: Chain) -> str:
    return f'<path data-at="{told_by(chain)}" d="{_closed(chain)}"/>'


def _closed(chain: Chain) -> str:
    return f"M{_at(chain[0].start)}{''.join(map(_piece, chain))}Z"


def _piece(piece: Segment) -> str:
    if isinstance(piece, Arc):
        large, clockwise = int(abs(piece.sweep_rad) > math.pi), int(piece.sweep_rad < 0)
        radius = f"{piece.radius_mm:.9f}"  # a half circle is off by the root of what this is
        return f"A{radius} {radius} 0 {large} {clockwise} {_at(piece.end)}"
    if isinstance(piece, Cubic):
        return f"C{_at(piece.control1)} {_at(piece.control2)} {_at(piece.end)}"
    return f"L{_at(piece.end)}"


def _line(points: tuple[Point, ...]) -> str:
    return f"M{'L'.join(map(_at, points))}"


def _at(point: Point) -> str:
    return f"{point[0]:.9f} {-point[1] + 0.0:.9f}"


def _plain(text: str) -> str:
    return UNPRINTABLE.sub("", text)


def _quoted(text: str) -> str:
    return quoteattr(_plain(text))

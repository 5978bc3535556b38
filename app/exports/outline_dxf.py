"""An outline by itself as DXF R2000 in millimetres: curves as splines, and what its parts are.

How it is written so that it comes back whole is told in `app.files.dxf_file`.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Sequence
from pathlib import Path

from ezdxf import units
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.layouts.layout import Modelspace

from app.exports.dxf import METRIC, VERSION
from app.files.atomic import write_atomically
from app.files.dxf_file import APPLICATION, STRING
from geometry.arc_fit import circle_of
from geometry.curves import Arc, Chain, Cubic, Segment
from geometry.outline import Outline

LAYERS = ("PROFILE", "HOLES", "MARKS", "STATIONS")
DEGREE = 3
LONGEST = 250  # letters of a string of extended data; the format has room for 255


def write_outline_dxf(outline: Outline, path: Path | str) -> None:
    """Write an outline as a DXF in the outline frame; FileError if it cannot be written.

    Lines and arcs are polylines with bulges, cubics are splines of the third degree with the same
    points, round holes are circles, stations are points.
    """
    write_atomically(path, outline_dxf_bytes(outline))


def outline_dxf_bytes(outline: Outline) -> bytes:
    """Return the DXF of an outline."""
    document = Document.new(VERSION)
    document.units = units.MM
    document.header["$MEASUREMENT"] = METRIC
    document.appids.add(APPLICATION)
    for name in LAYERS:
        document.layers.add(name)
    space = document.modelspace()
    for entity in _chain(space, outline.chain, "PROFILE"):
        _tell(entity, "outline", outline.name)
    for hole in outline.holes:
        at, on = (hole.x_mm, hole.y_mm), {"layer": "HOLES"}
        _tell(space.add_circle(at, hole.diameter_mm / 2, dxfattribs=on), "kind", hole.kind)
    for cutout in outline.cutouts:
        _chain(space, cutout, "HOLES")
    for mark in outline.marks:
        line = space.add_lwpolyline(mark.points_mm, dxfattribs={"layer": "MARKS"})
        _tell(line, "kind", mark.kind)
    for station in outline.stations:
        point = space.add_point((station.x_mm, station.y_mm), dxfattribs={"layer": "STATIONS"})
        _tell(point, "name", station.name)
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _tell(entity: DXFGraphic, word: str, value: str) -> None:
    """Put a word and its value beside an entity, as extended data."""
    entity.set_xdata(APPLICATION, [(STRING, word), (STRING, " ".join(value.split())[:LONGEST])])


def _chain(space: Modelspace, chain: Chain, layer: str) -> list[DXFGraphic]:
    """Add a closed chain: a polyline where it has no curves, else polylines and splines."""
    on = {"layer": layer}
    circle = circle_of(chain)
    if circle is not None:
        return [space.add_circle(*circle, dxfattribs=on)]
    runs = [list(run) for _, run in itertools.groupby(chain, key=lambda p: isinstance(p, Cubic))]
    return [
        _spline(space, [piece for piece in run if isinstance(piece, Cubic)], on)
        if isinstance(run[0], Cubic)
        else _polyline(space, run, on, closed=len(runs) == 1)
        for run in runs
    ]


def _polyline(
    space: Modelspace, chain: Sequence[Segment], on: dict[str, str], *, closed: bool
) -> DXFGraphic:
    vertices = [
        (*piece.start, math.tan(piece.sweep_rad / 4) if isinstance(piece, Arc) else 0.0)
        for piece in chain
    ]
    if not closed:
        vertices.append((*chain[-1].end, 0.0))
    return space.add_lwpolyline(vertices, format="xyb", close=closed, dxfattribs=on)


def _spline(space: Modelspace, chain: Sequence[Cubic], on: dict[str, str]) -> DXFGraphic:
    """Add cubics end to end as one spline: every joint a knot three times over."""
    points = [(*chain[0].start, 0.0)]
    for piece in chain:
        points += [(*piece.control1, 0.0), (*piece.control2, 0.0), (*piece.end, 0.0)]
    inner = [float(n) for n in range(1, len(chain)) for _ in range(DEGREE)]
    last = float(len(chain))
    knots = [0.0] * (DEGREE + 1) + inner + [last] * (DEGREE + 1)
    spline = space.add_spline(degree=DEGREE, dxfattribs=on)
    spline.control_points, spline.knots = points, knots
    return spline

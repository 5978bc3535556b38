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
from app.files.curves_in import arc_chain
from app.files.dxf_file import APPLICATION, STRING
from app.files.told_places import told_by
from geometry.arc_fit import circle_of
from geometry.curves import Arc, Chain, Cubic, Point, Segment
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
    for entity, corners in _chain(space, outline.chain, "PROFILE"):
        _tell(entity, outline=outline.name, at=corners)
    for hole in outline.holes:
        circle, corners = _circle(space, (hole.x_mm, hole.y_mm), hole.diameter_mm / 2, "HOLES")
        _tell(circle, kind=hole.kind, at=corners)
    for cutout in outline.cutouts:
        for entity, corners in _chain(space, cutout, "HOLES"):
            _tell(entity, at=corners)
    for mark in outline.marks:
        line = space.add_lwpolyline(mark.points_mm, dxfattribs={"layer": "MARKS"})
        _tell(line, kind=mark.kind)
    for station in outline.stations:
        point = space.add_point((station.x_mm, station.y_mm), dxfattribs={"layer": "STATIONS"})
        _tell(point, name=station.name)
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _tell(entity: DXFGraphic, **values: str) -> None:
    """Put words and their values beside an entity, as extended data."""
    texts = (" ".join(text.split())[:LONGEST] for pair in values.items() for text in pair)
    entity.set_xdata(APPLICATION, [(STRING, text) for text in texts])


def _chain(space: Modelspace, chain: Chain, layer: str) -> list[tuple[DXFGraphic, str]]:
    """Add a closed chain: a polyline where it has no curves, else polylines and splines.

    Each comes with its corners as `told_by` tells them.
    """
    on = {"layer": layer}
    circle = circle_of(chain)
    if circle is not None:
        return [_circle(space, *circle, layer)]
    runs = [list(run) for _, run in itertools.groupby(chain, key=lambda p: isinstance(p, Cubic))]
    added = [
        _spline(space, [piece for piece in run if isinstance(piece, Cubic)], on)
        if isinstance(run[0], Cubic)
        else _polyline(space, run, on, closed=len(runs) == 1)
        for run in runs
    ]
    return [(entity, told_by(tuple(run))) for entity, run in zip(added, runs, strict=True)]


def _circle(space: Modelspace, centre: Point, radius: float, layer: str) -> tuple[DXFGraphic, str]:
    circle = space.add_circle(centre, radius, dxfattribs={"layer": layer})
    return circle, told_by(arc_chain(centre, radius, 0.0, 2 * math.pi))


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

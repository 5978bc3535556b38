"""A pattern as DXF R2000 in millimetres, a layer for each purpose."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from pathlib import Path

from ezdxf import units
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts.layout import Modelspace
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from app.document.drawing import LAYERS, Circle, Cross, Drawing, Item, Layer, Polyline, Text
from app.exports.lettering import FONT
from app.exports.one_sheet import on_one_sheet
from app.exports.strokes import cross_arms
from app.files.atomic import write_atomically
from geometry.arc_fit import as_arcs, circle_of
from geometry.curves import Arc, Chain

VERSION = "R2000"  # the oldest that knows closed light polylines and says its unit
ARC_MM = 0.005  # how far arcs in the place of a curve may lie from it
METRIC = 1  # $MEASUREMENT: hatches and dashes from the metric tables
STYLE = "PATTERN"
ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}


def write_dxf(drawing: Drawing, path: Path | str) -> None:
    """Write a pattern as a DXF.

    Coordinates are those of the layout, mm, y up; ``$INSUNITS`` says millimetres; the profile is
    one closed polyline, round holes are circles.

    Raises
    ------
    FileError
        If the file cannot be written.
    """
    write_atomically(path, dxf_bytes(drawing))


def write_bare_dxf(items: Sequence[Item], path: Path | str) -> None:
    """Write items alone as a DXF, without bars and words; FileError if it cannot be written."""
    write_atomically(path, bare_dxf_bytes(items))


def dxf_bytes(drawing: Drawing) -> bytes:
    """Return a pattern's DXF, bars and words below it."""
    return bare_dxf_bytes(on_one_sheet(drawing).items)


def bare_dxf_bytes(items: Sequence[Item]) -> bytes:
    """Return the DXF of items and nothing else."""
    document = Document.new(VERSION)
    document.units = units.MM
    document.header["$MEASUREMENT"] = METRIC
    document.styles.add(STYLE, font=f"{FONT}.ttf")
    used = {item.layer for item in items}
    for layer in LAYERS.values():
        if layer.name in used:
            _add_layer(document, layer)
    for item in items:
        _add(document.modelspace(), item)
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _add_layer(document: Document, layer: Layer) -> None:
    linetype = "CONTINUOUS"
    if layer.dash_mm:
        linetype = layer.name
        signed = [length * (-1) ** number for number, length in enumerate(layer.dash_mm)]
        document.linetypes.add(linetype, pattern=[sum(layer.dash_mm), *signed])
    hundredths = layer.width_mm * 100
    weight = min(VALID_DXF_LINEWEIGHTS, key=lambda known: abs(known - hundredths))
    document.layers.add(layer.name, linetype=linetype, lineweight=weight)


def _add(space: Modelspace, item: Item) -> None:
    on_layer = {"layer": item.layer}
    if isinstance(item, Polyline):
        if item.chain:
            _add_chain(space, as_arcs(item.chain, tolerance_mm=ARC_MM), item.closed, item.layer)
        elif len(item.points_mm) == 2 and not item.closed:
            space.add_line(*item.points_mm, dxfattribs=on_layer)
        else:
            space.add_lwpolyline(item.points_mm, close=item.closed, dxfattribs=on_layer)
    elif isinstance(item, Circle):
        space.add_circle((item.x_mm, item.y_mm), item.diameter_mm / 2, dxfattribs=on_layer)
    elif isinstance(item, Cross):
        for start, end in cross_arms(item):
            space.add_line(start, end, dxfattribs=on_layer)
    elif isinstance(item, Text):
        words = space.add_text(
            item.text, height=item.height_mm, dxfattribs={**on_layer, "style": STYLE}
        )
        words.set_placement((item.x_mm, item.y_mm), align=ALIGN[item.align])
    else:
        raise ValueError("labels are settled before they are drawn")


def _add_chain(space: Modelspace, chain: Chain, closed: bool, layer: str) -> None:
    """Add a chain of lines and arcs: a circle where it is one, else a polyline with bulges.

    A bulge is the tangent of a quarter of an arc's sweep, left turns positive (DXF reference,
    LWPOLYLINE, group code 42).
    """
    circle = circle_of(chain)
    if circle is not None:
        space.add_circle(*circle, dxfattribs={"layer": layer})
        return
    vertices = [
        (*piece.start, math.tan(piece.sweep_rad / 4) if isinstance(piece, Arc) else 0.0)
        for piece in chain
    ]
    if not closed:
        vertices.append((*chain[-1].end, 0.0))
    space.add_lwpolyline(vertices, format="xyb", close=closed, dxfattribs={"layer": layer})

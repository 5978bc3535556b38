"""An outline from a DXF that was drawn anywhere."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import ezdxf
import numpy as np
from ezdxf import recover
from ezdxf.document import Drawing as Document
from numpy.typing import NDArray

from app.document.lengths import Unit
from app.files.atomic import read_bytes
from app.files.drawing_units import agree_on_size, known_scale
from app.files.dxf_lines import entity_lines
from app.files.errors import FileError
from app.files.foreign import guarded
from app.files.loops import outline_from_paths
from geometry.outline import Outline

LARGEST_BYTES = 40_000_000
CHORD_MM = 0.005
FLAT_MM = 0.01  # a line that rises by more does not lie in the drawing's plane
MM_PER_UNIT = {  # DXF reference, $INSUNITS: inch, foot, mm, cm, m, thousandth, micron, dm
    1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 13: 0.001, 14: 100.0,
}  # fmt: skip
OURS = ("PROFILE", "HOLES")  # the layers of a pattern that are cut; the rest of it is for the eye

logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # else it talks to the terminal


def read_dxf(path: Path | str, *, unit: Unit | None = None) -> Outline:
    """Return the largest closed loop of a drawing and the holes in it.

    Lines, arcs, splines and polylines may come in blocks, mirrored, in pieces and in any order;
    doubled lines count once. Words, dimensions, hatches and switched-off layers are passed over.
    In a drawing with a layer PROFILE only that and HOLES are read. The outline is moved so that
    its box has its lower left corner at the origin.

    Parameters
    ----------
    path : Path or str
        The file, text or binary, any version.
    unit : {"mm", "in"}, optional
        What one unit of the drawing is; by itself the file's ``$INSUNITS`` counts.

    Raises
    ------
    FileError
        If it cannot be read, is no DXF, or holds no closed outline.
    InputError
        If its unit is not known (both sizes are told), or the outline crosses itself.
    """
    data = read_bytes(path, limit_bytes=LARGEST_BYTES)
    where = Path(path).name
    if b"SECTION" not in data:
        raise FileError(
            "this is not a DXF drawing.", where=where, remedy="Save the outline as DXF first."
        )
    document = guarded(lambda: _document(Path(path)), where)
    scale, told = known_scale(unit, _stated_mm(document, data))
    lines = guarded(lambda: list(_visible_lines(document, CHORD_MM / scale)), where)
    paths = list(_flat(lines, scale, where))
    agree = partial(agree_on_size, told=told, where=where)
    return outline_from_paths(paths, name=Path(path).stem, where=where, agree=agree)


def _document(path: Path) -> Document:
    """Return the drawing, mended where it is damaged."""
    try:
        return ezdxf.readfile(path)  # type: ignore[attr-defined]
    except (ezdxf.DXFError, OSError, ValueError):  # type: ignore[attr-defined]
        return recover.readfile(path)[0]


def _stated_mm(document: Document, data: bytes) -> float | None:
    """Return millimetres per unit as the file says, None when it does not.

    The library has a default where the file says nothing, so the file itself is searched.
    """
    if b"$INSUNITS" not in data:
        return None
    return MM_PER_UNIT.get(document.header.get("$INSUNITS", 0))


def _visible_lines(document: Document, chord: float) -> Iterator[tuple[str, NDArray[np.float64]]]:
    hidden = {
        layer.dxf.name.lower() for layer in document.layers if layer.is_off() or layer.is_frozen()
    }
    for name, points in entity_lines(document.modelspace(), chord):
        if name.lower() not in hidden:
            yield name, points


def _flat(
    lines: list[tuple[str, NDArray[np.float64]]], scale: float, where: str
) -> Iterator[NDArray[np.float64]]:
    """Yield the lines that are to be cut, in mm, those in space left out."""
    if any(layer.upper() == OURS[0] for layer, _ in lines):
        lines = [(layer, points) for layer, points in lines if layer.upper() in OURS]
    level = [points for _, points in lines if np.ptp(points[:, 2]) * scale <= FLAT_MM]
    if lines and not level:
        raise FileError(
            "its lines rise out of the plane: it is a drawing in space.",
            where=where,
            remedy="Save a flat side view of the profile.",
        )
    yield from (points[:, :2] * scale for points in level)

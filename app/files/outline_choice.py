"""An outline from whatever a person names: a family, or a JSON, DXF or SVG file."""

from __future__ import annotations

from pathlib import Path
from typing import cast

from app.document.job import OutlineChoice
from app.document.lengths import Unit
from app.files.outline_file import read_outline
from geometry.errors import InputError
from geometry.family import family_named


def read_choice(text: str, unit: str = "") -> OutlineChoice:
    """Return the choice of an outline.

    Parameters
    ----------
    text : str
        A family's name, or the path of a .json, .dxf or .svg file.
    unit : str
        ``mm`` or ``in`` for a drawing that names no unit; empty to go by the drawing.

    Raises
    ------
    FileError, InputError
        If there is no such family or file, or no usable outline in it.
    """
    if unit not in ("", "mm", "in"):
        raise InputError(f"the unit “{unit}” is not known.", where="--unit", remedy="Use mm or in.")
    path = Path(text)
    told = cast("Unit | None", unit or None)
    match path.suffix.lower():
        case ".json":
            return OutlineChoice(drawing=read_outline(path))
        case ".dxf":
            from app.files.dxf_file import read_dxf

            return OutlineChoice(drawing=read_dxf(path, unit=told))
        case ".svg":
            from app.files.svg_file import read_svg

            return OutlineChoice(drawing=read_svg(path, unit=told))
        case _:
            return OutlineChoice(family=family_named(text).key)

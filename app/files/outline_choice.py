"""An outline from whatever a person names: a family or its file, or a JSON, DXF or SVG file."""

from __future__ import annotations

from pathlib import Path

from app.document.families import choice_of
from app.document.job import OutlineChoice
from app.files.drawing_units import unit_named
from app.files.kinds import is_drawing as is_drawing
from app.files.outline_file import read_outline
from app.files.own_families import family_known
from app.files.strokes import Imported
from geometry.errors import InputError

LINES = (".dxf", ".svg")  # drawings of lines, of which some are chosen


def choice_and_notes(
    text: str, unit: str = "", loop: int = 0
) -> tuple[OutlineChoice, tuple[str, ...]]:
    """Return the choice of an outline, and what to say of a drawing and what was left out of it.

    Parameters
    ----------
    text : str
        A family's name, or the path of a .toml, .json, .dxf or .svg file.
    unit : str
        The unit of a drawing that names none; empty to go by the drawing.
    loop : int
        Which closed loop of a drawing is the edge, 1 the largest; 0 to choose by itself.

    Raises
    ------
    FileError, InputError
        If there is no such family or file, or no usable outline in it.
    """
    unit_named(unit)
    if not is_drawing(text):
        check_loop(text, loop)
        return choice_of(family_known(text)), ()
    read = read_drawing(Path(text), unit, loop)
    left = (f"left out of the drawing: {told}" for told in read.told())
    return OutlineChoice(drawing=read.outline), (*notes_of(read), *left)


def notes_of(read: Imported) -> tuple[str, ...]:
    """Return what to say of a drawing on the command line."""
    others = (
        f"--loop {other.number} takes the closed line of {other.width_mm:.1f} x "
        f"{other.height_mm:.1f} mm for the edge instead"
        for other in read.others
    )
    return (*read.notes, *others)


def read_drawing(path: Path, unit: str = "", loop: int = 0) -> Imported:
    """Return the outline in a .json, .dxf or .svg file, and what was left out of it.

    The edge is the closed loop of that number, 1 the largest; 0 chooses by itself.

    Raises
    ------
    UnitQuestion
        If a drawing's unit has to be told.
    FileError, InputError
        If the file cannot be read, or has no usable outline in it.
    """
    told = unit_named(unit)
    check_loop(str(path), loop)
    match path.suffix.lower():
        case ".dxf":
            from app.files.dxf_file import read_dxf

            return read_dxf(path, unit=told, loop=loop)
        case ".svg":
            from app.files.svg_file import read_svg

            return read_svg(path, unit=told, loop=loop)
        case _:
            return Imported(outline=read_outline(path))


def check_loop(text: str, loop: int) -> None:
    """Refuse to choose a closed line of what has none to choose from."""
    if loop and Path(text).suffix.lower() not in LINES:
        raise InputError(
            f"“{text}” is one outline already.",
            where="--loop",
            remedy="Leave it out; it is for a DXF or SVG.",
        )

"""One drawing, or one outline, to the kind of file that its name asks for."""

from __future__ import annotations

from pathlib import Path

from app.document.drawing import Drawing
from app.document.job import PatternFacts
from app.document.paper import paper_named
from app.files.errors import FileError
from app.files.outline_file import write_outline
from geometry.outline import Outline

OUTLINE_ENDINGS = (".json", ".dxf", ".svg")


def write_pattern(drawing: Drawing, path: Path, facts: PatternFacts) -> int:
    """Write a drawing as PDF, SVG or DXF by the file's ending.

    Parameters
    ----------
    drawing : Drawing
        The pattern's lines, mm.
    path : Path
        Where to; its ending decides the kind.
    facts : PatternFacts
        Paper and the printer's correction, used by PDF.

    Returns
    -------
    int
        The number of pages; 1 for SVG and DXF.

    Raises
    ------
    FileError
        If the ending is another, or the folder cannot be written.
    InputError
        If the paper or the correction cannot be used.
    """
    match path.suffix.lower():
        case ".pdf":
            from app.exports.pdf import write_pdf

            return write_pdf(
                drawing,
                path,
                paper=paper_named(facts.paper),
                correct_x=facts.correct_x,
                correct_y=facts.correct_y,
            )
        case ".svg":
            from app.exports.svg import write_svg

            write_svg(drawing, path)
        case ".dxf":
            from app.exports.dxf import write_dxf

            write_dxf(drawing, path)
        case _:
            raise FileError(
                "a pattern is a .pdf, .svg or .dxf file.",
                where=str(path),
                remedy="Give the file one of these endings.",
            )
    return 1


def write_drawn_outline(outline: Outline, path: Path) -> None:
    """Write an outline by itself as JSON, DXF or SVG by the file's ending.

    Raises
    ------
    FileError
        If the ending is another, or the folder cannot be written.
    """
    match path.suffix.lower():
        case ".json":
            write_outline(outline, path)
        case ".svg":
            from app.exports.outline_svg import write_outline_svg

            write_outline_svg(outline, path)
        case ".dxf":
            from app.exports.outline_dxf import write_outline_dxf

            write_outline_dxf(outline, path)
        case _:
            raise FileError(
                f"an outline is a {', '.join(OUTLINE_ENDINGS)} file.",
                where=str(path),
                remedy="Give the file one of these endings.",
            )

"""One drawing to the kind of file that its name asks for."""

from __future__ import annotations

from pathlib import Path

from app.document.drawing import Drawing
from app.document.job import PatternFacts
from app.document.paper import paper_named
from app.files.errors import FileError


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

"""``blankwright mat``: a page to print, trace in and photograph."""

from __future__ import annotations

import datetime
from pathlib import Path

from app.cli.terminal import say
from app.document.mat import mat_drawing
from app.document.paper import paper_named
from app.exports.pdf import write_page
from app.files.atomic import make_folder
from app.files.errors import FileError
from calibration.mat import BAR_MM, mat_layout


def run_mat(out: Path, *, paper: str) -> int:
    """Write the mat of a paper; return the exit status."""
    layout = mat_layout(paper)
    if out.suffix.lower() != ".pdf":
        raise FileError("a mat is a .pdf file.", where=str(out), remedy="Name it so.")
    make_folder(out.parent)
    sheet = paper_named(layout.paper)
    write_page(mat_drawing(layout, datetime.date.today()), out, paper=sheet)
    left, bottom, right, top = layout.field_mm
    say(f"{out}: {sheet.name}, {right - left:.0f} x {top - bottom:.0f} mm free")
    say(f"print it at 100 %, and measure both bars of {BAR_MM:.0f} mm with calipers")
    return 0

"""``blankwright pattern``: a layout becomes a 1:1 drawing."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

import typer

from app.cli.options import make_folder, ratio
from app.document.flow import drawing_of
from app.document.job import PatternFacts
from app.exports.write import write_pattern
from app.files.layout_file import read_layout


def run_pattern(
    layout: Path, *, out: Path, paper: str, show_margin: bool, correct: tuple[str, str]
) -> int:
    """Write the pattern of a layout; return the exit status."""
    facts = PatternFacts(
        paper=paper,
        show_margin=show_margin,
        correct_x=ratio(correct[0], "--correct-x"),
        correct_y=ratio(correct[1], "--correct-y"),
    )
    job = replace(read_layout(layout), pattern=facts)
    make_folder(out.parent)
    drawing = drawing_of(job, datetime.date.today())
    pages = write_pattern(drawing, out, facts)
    typer.echo(f"{out}: {pages} {'page' if pages == 1 else 'pages'}, 1:1")
    return 0

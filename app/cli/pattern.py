"""``blankwright pattern``: a layout becomes a 1:1 drawing."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

from app.cli.options import check_apart, ratio
from app.cli.terminal import say
from app.document.job import PatternFacts
from app.document.job_drawing import drawing_of
from app.document.paper import paper_named
from app.exports.write import write_pattern
from app.files.atomic import make_folder
from app.files.layout_file import read_layout
from geometry.errors import InputError


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
    paper_named(paper)
    if out.suffix.lower() in (".svg", ".dxf") and (facts.correct_x, facts.correct_y) != (1.0, 1.0):
        raise InputError(
            "only a PDF is corrected for a printer; other files are drawn at true size.",
            where="--correct-x, --correct-y",
            remedy="Leave them out, or write a .pdf.",
        )
    job = replace(read_layout(layout), pattern=facts)
    check_apart(out, (layout,))
    make_folder(out.parent)
    drawing = drawing_of(job, datetime.date.today())
    pages = write_pattern(drawing, out, facts)
    say(f"{out}: {pages} {'page' if pages == 1 else 'pages'}, 1:1")
    return 0

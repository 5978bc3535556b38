"""``blankwright demo``: the main job on a sample photo, from start to pattern."""

from __future__ import annotations

import datetime
import time
from contextlib import ExitStack
from dataclasses import replace
from importlib import resources
from pathlib import Path

from app.cli.capture import Asked, job_of, summary, write_overlay
from app.cli.place import summary as place_summary
from app.cli.terminal import say, shown_progress
from app.document.flow import (
    accepted,
    capture_of,
    layout_of,
    placed,
    roomiest_for,
)
from app.document.job import Job, OutlineChoice, PatternFacts
from app.document.job_drawing import drawing_of
from app.exports.write import write_pattern
from app.files.atomic import make_folder
from app.files.billet_file import MeasuredModel, write_billet
from app.files.job_file import SUFFIX, write_job
from app.files.layout_file import write_layout
from geometry.errors import FitError

SAMPLE = "forging.jpg"
SAMPLE_THICKNESS = "4.5"
SAMPLE_REFERENCE = "6 in"
SAMPLE_FAMILY = "hidden_tang_spear"


def sample_path(stack: ExitStack, name: str = SAMPLE) -> Path:
    """Return a sample's path: from the installed package, or from the project's own folder."""
    installed = resources.files("app") / "samples" / name
    if installed.is_file():
        return stack.enter_context(resources.as_file(installed))
    return Path(__file__).resolve().parents[2] / "samples" / name


def run_demo(out: Path) -> int:
    """Run the main job and say what to open; return the exit status."""
    start = time.perf_counter()
    make_folder(out)
    with ExitStack() as stack:
        job = job_of(
            Asked(
                photo=sample_path(stack),
                references=(SAMPLE_REFERENCE,),
                sheet="letter",
                thickness=SAMPLE_THICKNESS,
            )
        )
    job = replace(job, name="Spear point from the sample forging")
    job = _measure(job, out)
    job = _place(job, out)
    _draw(job, out)
    write_job(out / f"sample{SUFFIX}", job)
    say(f"\nDone in {time.perf_counter() - start:.1f} s. Open {out / 'overlay.jpg'} to see")
    say(f"what was measured, and print {out / 'pattern.pdf'} at 100 %: measure its two bars")
    say("before you cut.")
    return 0


def _measure(job: Job, out: Path) -> Job:
    assert job.photo is not None
    say(f"1  photo    {job.photo.name}: a line of 6 in, on a Letter sheet")
    with shown_progress("measuring the sheet") as progress:
        found = capture_of(job, progress=progress)
    for line in summary(found):
        say(f"   {line}")
    write_billet(out / "billet.json", found.billet, found.notes, measured=MeasuredModel.of(found))
    write_overlay(job, found, out / "overlay.jpg")
    return accepted(job, found)


def _place(job: Job, out: Path) -> Job:
    job = replace(job, outline=OutlineChoice(family=SAMPLE_FAMILY))
    say("\n2  layout   hidden-tang spear point, 1 mm of steel to spare asked for")
    with shown_progress("searching the roomiest place") as progress:
        placement = roomiest_for(job, progress=progress)
    job = placed(job, placement)
    layout = layout_of(job)
    if layout is None:
        raise FitError("the sample has no place for its outline.")
    for line in place_summary(job, placement, layout):
        say(f"   {line}")
    write_layout(out / "layout.json", job, placement)
    return job


def _draw(job: Job, out: Path) -> None:
    say("\n3  pattern")
    drawing = drawing_of(job, datetime.date.today())
    for ending in ("pdf", "svg", "dxf"):
        path = out / f"pattern.{ending}"
        pages = write_pattern(drawing, path, PatternFacts(paper="letter"))
        say(f"   {path}: {pages} {'page' if pages == 1 else 'pages'}, 1:1")

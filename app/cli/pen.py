"""``blankwright pen``: what a pen stands off, measured once on a bar and kept by name."""

from __future__ import annotations

from app.cli.capture import Asked, job_of
from app.cli.terminal import say, shown_progress
from app.document.flow import capture_of
from app.document.lengths import parse_positive_mm
from app.document.wording import pen_words
from app.files.pens_file import checked_name, forget_pen, keep_pen, kept_pens, pens_path


def run_measure(name: str, asked: Asked, *, width: str) -> int:
    """Measure the trace of a bar, keep the pen; return the exit status."""
    tidy = checked_name(name)
    width_mm = parse_positive_mm(width, where="--width")
    kept_pens()  # a list that is damaged is told before the work, not after it
    job = job_of(asked)
    with shown_progress("measuring the bar") as progress:
        found = capture_of(job, progress=progress)
    from calibration.bar import pen_from_bar

    pen = pen_from_bar(found, name=tidy, width_mm=width_mm, thickness_mm=job.thickness_mm)
    replaced = keep_pen(pen)
    say(pen_words(pen, "mm"))
    if pen.thickness_mm is None:
        say("note      tell the bar's --thickness next time: other steel can then be reckoned")
    say(f"{'replaced' if replaced else 'kept'} in {pens_path()}; use it with --pen “{tidy}”")
    return 0


def run_list() -> int:
    """Show the pens; return the exit status."""
    pens = kept_pens()
    for pen in pens:
        say(pen_words(pen, "mm"))
    if not pens:
        say("no pen was measured yet: blankwright pen measure NAME PHOTO --width 25.4mm ...")
    return 0


def run_remove(name: str) -> int:
    """Forget a pen; return the exit status."""
    forget_pen(name)
    say(f"forgotten “{name.strip()}”, what it stood off")
    return 0

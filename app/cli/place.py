"""``blankwright place``: an outline finds its place on a billet."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

from app.cli.options import check_apart, check_measures, told_values
from app.cli.source import check_source
from app.cli.terminal import say, shown_progress
from app.document.advice_for import JobAdvice, advice_for
from app.document.advice_words import advice_lines
from app.document.families import chosen_family
from app.document.flow import Layout, largest_for, layout_of, placed, roomiest_for
from app.document.job import Job, OutlineChoice, sorted_values
from app.document.lengths import parse_length_mm
from app.document.wording import verdict_sentence
from app.files.atomic import make_folder
from app.files.billet_file import read_billet
from app.files.layout_file import write_layout
from app.files.outline_choice import choice_and_notes
from geometry.errors import InputError
from geometry.placement import Placement

FITS, DOES_NOT_FIT = 0, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The command's options as typed."""

    billet: Path
    outline: str
    size: str = ""
    values: tuple[str, ...] = ()
    margin: str = "1"
    mirror: bool = True
    tuck: bool = True
    seconds: float = 10.0
    largest: bool = False
    unit: str = ""
    loop: int = 0
    advise: bool = False
    locked: tuple[str, ...] = ()


def run_place(asked: Asked, *, out: Path) -> int:
    """Search the place, write the layout; return 0 when it fits and 3 when it does not."""
    job = job_of(asked)
    check_apart(out, (asked.billet, Path(asked.outline)))
    make_folder(out.parent)
    with shown_progress("searching the roomiest place") as progress:
        if asked.largest:
            placement = largest_for(job, seconds=asked.seconds, progress=progress)
        else:
            placement = roomiest_for(job, tuck=asked.tuck, seconds=asked.seconds, progress=progress)
    told = advised(job, placement) if asked.advise else None
    job = placed(job, placement)
    write_layout(out, job, placement, told)
    layout = layout_of(job)
    assert layout is not None
    for line in summary(job, placement, layout):
        say(line)
    for line in advice_lines(job, told) if told is not None else ():
        say(f"advice    {line}")
    say(f"written   {out}")
    return exit_status(layout, job.margin_mm)


def advised(job: Job, placement: Placement) -> JobAdvice:
    """Return what must give; where the outline lies best as it is was found before."""
    with shown_progress("working out what must give") as progress:
        return advice_for(job, known=placement, progress=progress)


def job_of(asked: Asked) -> Job:
    """Return a job with the billet and the outline, and say what a drawing lacks.

    Raises
    ------
    InputError, FileError
        For a bad option.
    """
    if not 0.1 <= asked.seconds <= 3600.0:
        raise InputError("from 0.1 to 3600 seconds can be told.", where="--seconds")
    margin_mm = parse_length_mm(asked.margin, where="--margin")
    if margin_mm < 0:
        raise InputError("the margin is negative.", where="--margin", remedy="Give 0 or more.")
    if asked.advise and asked.largest:
        raise InputError(
            "--largest and --advise ask for different things.",
            where="--advise",
            remedy="Leave one of them out.",
        )
    billet = read_billet(asked.billet)
    check_source(asked.outline, "--outline")
    found, notes = choice_and_notes(asked.outline, asked.unit, asked.loop)
    for note in notes:
        say(f"note      {note}")
    choice = with_size(found, asked.size)
    check_locks(choice, asked)
    return Job(
        name=f"{outline_name(choice)} on {asked.billet.stem}",
        billet=billet,
        thickness_mm=billet.thickness_mm,
        outline=with_values(choice, asked.values),
        margin_mm=margin_mm,
        mirror_allowed=asked.mirror,
        size_locked=not asked.largest,
        locked=tuple(sorted(set(asked.locked))),
    )


def check_locks(choice: OutlineChoice, asked: Asked) -> None:
    """Refuse locks that lock nothing: InputError."""
    if not asked.locked:
        return
    if not asked.advise or choice.drawing is not None:
        problem = "a drawing has no measures" if asked.advise else "it is for --advise alone"
        raise InputError(f"{problem}.", where="--lock", remedy="Leave it out.")
    check_measures(chosen_family(choice), asked.locked, "--lock")


def outline_name(choice: OutlineChoice) -> str:
    """Return what a choice's outline is called."""
    return chosen_family(choice).name if choice.drawing is None else choice.drawing.name


def with_size(choice: OutlineChoice, name: str) -> OutlineChoice:
    """Return a family's choice with the values of one of its sizes."""
    if not name:
        return choice
    if choice.drawing is not None:
        raise InputError("a drawing has no sizes.", where="--size", remedy="Leave it out.")
    sizes = {size.name.casefold(): size for size in chosen_family(choice).sizes}
    size = sizes.get(" ".join(name.split()).casefold())
    if size is None:
        known = ", ".join(f"“{size.name}”" for size in sizes.values())
        raise InputError(
            f"{choice.family} has no size “{name}”.",
            where="--size",
            remedy=f"It has {known}." if known else "It has none; set its values with --set.",
        )
    return replace(choice, values=sorted_values(dict(size.values)))


def with_values(choice: OutlineChoice, settings: tuple[str, ...]) -> OutlineChoice:
    """Return a choice with ``NAME=VALUE`` settings; lengths in any unit, angles in degrees."""
    if not settings:
        return choice
    if choice.drawing is not None:
        raise InputError("a drawing has no values to set.", where="--set", remedy="Leave it out.")
    values = {**dict(choice.values), **told_values(chosen_family(choice), settings)}
    return replace(choice, values=sorted_values(values))


def exit_status(layout: Layout, margin_mm: float) -> int:
    """Return 0 when the clearance keeps the margin, doubtful or not, else 3."""
    return FITS if layout.clearance.value_mm >= margin_mm else DOES_NOT_FIT


def summary(job: Job, placement: Placement, layout: Layout) -> list[str]:
    """Return how it fits, a line each."""
    pose = placement.pose
    lines = [
        verdict_sentence(layout, job.margin_mm, job.unit),
        f"place     x {_shown(pose.x_mm)}, y {_shown(pose.y_mm)} mm, turned "
        f"{_shown(_degrees(pose.theta_rad))}"
        f" degrees{', other face up' if pose.mirrored else ''}, scale {pose.scale:.4f}",
    ]
    if placement.tucked:
        lines.append("tucked    to the end that leaves the largest rest; elsewhere is no more room")
    if placement.upper_bound_scale is not None:
        limit = placement.upper_bound_scale
        lines.append(
            f"limit     at no scale above {limit:.4f} can it keep the margin{_sure(placement)}"
        )
    elif math.isfinite(placement.upper_bound_mm):
        lines.append(f"limit     {_most(placement.upper_bound_mm)}{_sure(placement)}")
    return lines


def _most(bound_mm: float) -> str:
    """Return what no place does better than."""
    if bound_mm < 0.0:
        least = math.floor(-100.0 * bound_mm) / 100.0  # rounded up it would not be the least
        return f"it sticks out by at least {least:.2f} mm wherever it lies"
    return f"no place on it spares more than {bound_mm:.2f} mm"


def _sure(placement: Placement) -> str:
    known = placement.proven or placement.clearance.value_mm < 0.0
    return "" if known else "; no better proof was found in time (--seconds)"


def _shown(value: float) -> str:
    """Return a number to two figures behind the mark, never a negative zero."""
    return f"{round(value, 2) + 0.0:.2f}"


def _degrees(angle_rad: float) -> float:
    return math.degrees(math.remainder(angle_rad, math.tau))

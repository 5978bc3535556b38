"""Where the job stands: the state of each step, and one sentence for the foot of the window."""

from __future__ import annotations

from app.document.flow import Layout
from app.document.job import Job, OutlineChoice
from app.document.lengths import format_length
from app.document.wording import rough, verdict_sentence
from app.gui.canvas.sheet_scene import sides_mm
from app.gui.derived import Derived
from app.gui.rail import State, Step
from app.gui.verdict_bar import Reading
from geometry.errors import ToolError
from geometry.verdict import Verdict

AGAIN = "What was told about the photo changed since it was measured: measure again."


def layout_or_none(job: Job, derived: Derived) -> Layout | None:
    """Return the layout; None also when the outline's values do not go together."""
    try:
        return derived.layout(job)
    except ToolError:
        return None


def states(job: Job, derived: Derived) -> dict[Step, State]:
    """Return how far each step is."""
    layout = layout_or_none(job, derived)
    return {
        Step.PHOTO: _photo_state(job, derived),
        Step.STEEL: _steel_state(job, derived),
        Step.OUTLINE: _outline_state(job, derived),
        Step.LAYOUT: _layout_state(job, layout),
        Step.PATTERN: State.DONE if derived.exported == job else State.NOT_YET,
    }


def reached(job: Job) -> Step:
    """Return the step to go on at with a job that is opened."""
    if job.pose is not None:
        return Step.LAYOUT
    if not is_proposed(job.outline) and (job.billet is not None or job.photo is None):
        return Step.OUTLINE
    return Step.STEEL if job.billet is not None else Step.PHOTO


def sentence(job: Job, derived: Derived) -> str:
    """Return where things stand, while there is no verdict to give."""
    if job.billet is None and job.photo is None:
        return "No piece yet: start with a photo of the traced piece, or try the sample."
    if job.billet is None:
        if derived.last_capture(job) is not None and derived.capture(job) is None:
            return AGAIN
        if derived.capture(job) is not None:
            return "Measured. Look at the line on the photo; if it is the steel's edge, use it."
        if not job.photo or not job.photo.references:
            return (
                "The photo is open. Tell one size: the drawn line, the sheet, or a drawn rectangle."
            )
        return "The size is told. Measure the sheet next."
    billet = derived.billet(job)
    if billet is None:
        return "What was changed by hand does not go with this piece: see the step Steel."
    length, width = (
        format_length(side, job.unit, decimals=1 if job.unit == "mm" else 2)
        for side in sides_mm(billet)
    )
    again = f" {AGAIN}" if measure_is_stale(job, derived) else ""
    placed = _too_long(job, derived, length) or "The blank was not placed on it yet."
    return f"A piece of {length} by {width}. {placed}{again}"


def _too_long(job: Job, derived: Derived, piece: str) -> str:
    """Return that the outline is longer than the piece, whose length is told; empty if not."""
    billet = derived.billet(job)
    try:
        x0, _, x1, _ = derived.outline(job).bounds_mm
    except ToolError:
        return ""
    if billet is None or x1 - x0 <= sides_mm(billet)[0]:
        return ""
    long = format_length(x1 - x0, job.unit, decimals=1 if job.unit == "mm" else 2)
    return f"The outline is {long} long; your piece is {piece}."


def measure_is_stale(job: Job, derived: Derived) -> bool:
    """Return whether the piece was measured from a photo of which something else is told now."""
    return job.photo is not None and bool(job.measured_from) and not derived.measure_is_current(job)


def verdict(job: Job, derived: Derived) -> tuple[str, Reading] | None:
    """Return the verdict's sentence and reading, once the blank was placed or is looked at."""
    layout = layout_or_none(job, derived)
    if layout is None:
        return None
    best = derived.best(job)
    reading = Reading(
        spare_mm=layout.clearance.value_mm,
        doubt_mm=2 * layout.sigma_mm,
        margin_mm=job.margin_mm,
        verdict=layout.verdict,
        best_mm=None if best is None else best.clearance.value_mm,
        best_is_proven=best is not None and best.proven,
    )
    words = verdict_sentence(layout, job.margin_mm, job.unit)
    if best is not None:
        limit = rough(abs(best.upper_bound_mm), job.unit)
        if best.proven and best.upper_bound_mm >= 0.0:
            words += f" No place does better than {limit} (proven)."
        elif best.proven:
            words += f" It sticks out by {limit} or more wherever it lies (proven)."
        elif job.pose == best.pose:
            words += " This is the roomiest place found."
        else:
            value = best.clearance.value_mm
            spare = rough(abs(value), job.unit)
            words += f" Best found so far: {spare} {'spare' if value >= 0 else 'too little'}."
    if measure_is_stale(job, derived):
        words += f" {AGAIN}"
    return words, reading


def _photo_state(job: Job, derived: Derived) -> State:
    if job.photo is None:
        return State.DONE if job.billet is not None else State.NOT_YET
    if job.billet is None:
        return State.NOT_YET
    return State.LOOK_AGAIN if measure_is_stale(job, derived) else State.DONE


def _steel_state(job: Job, derived: Derived) -> State:
    if job.billet is None:
        return State.NOT_YET
    doubtful = derived.billet(job) is None or derived.claim(job) is not None
    return State.LOOK_AGAIN if doubtful else State.DONE


def _outline_state(job: Job, derived: Derived) -> State:
    try:
        derived.outline(job)
    except ToolError:
        return State.LOOK_AGAIN
    choice = job.outline
    settled = job.pose is not None or choice == derived.settled or not is_proposed(choice)
    return State.DONE if settled else State.NOT_YET


def is_proposed(choice: OutlineChoice) -> bool:
    """Return whether an outline is one that a job begins with, the sample's too."""
    return choice == OutlineChoice(family=choice.family)


def _layout_state(job: Job, layout: Layout | None) -> State:
    if job.pose is None or layout is None:
        return State.NOT_YET
    return State.DONE if layout.verdict is Verdict.FITS else State.LOOK_AGAIN

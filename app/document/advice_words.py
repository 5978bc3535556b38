"""What must give, in a maker's words; the window and the command line use the same."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from app.document.advice_for import LENGTH_STEP, JobAdvice
from app.document.families import chosen_family
from app.document.job import Job
from app.document.lengths import MM_PER, Unit, format_length
from geometry.family.model import Parameter

if TYPE_CHECKING:  # heavy
    from geometry.advice import Advice, Short, Values, Way
    from geometry.advice.model import Beside
    from geometry.advice.piece import Piece

BESIDE: dict[Beside, str] = {
    "does not fit": "does not",
    "too close to call": "is too close to call",
    "cannot be drawn": "cannot be drawn",
    "not looked at": "was not looked at",
    "fits": "fits too",
}
ANYWAY = "Nothing has to give: it fits as it is."
NOTHING = "No change of one measure or of two was found to help."
NO_SIZE = "No size of it keeps the margin."
HURRIED = "Time ran out before all was looked at: there may be more."
SMALLER = (
    "It is a drawing, without measures to change: {size} of its size keeps the margin. "
    "Drilled holes keep their size."
)
ROUNDING = 1e-6  # of a shown number


def advice_lines(job: Job, told: JobAdvice) -> list[str]:
    """Return what must give, a line each: the changes, the smallest first, and what else helps."""
    advice = told.of_family
    if advice is None:
        return [size_words(told)]
    if advice.answer == "fits":
        return [ANYWAY]
    changes = [change_words(way, job) for way in advice.ways]
    width = max(map(len, changes), default=0)
    lines = [
        f"{change:{width}}  {outcome_words(way, job)}"
        for change, way in zip(changes, advice.ways, strict=True)
    ]
    return [*lines, *rest_lines(job, advice)]


def rest_lines(job: Job, advice: Advice) -> list[str]:
    """Return what there is to say besides the changes that help."""
    lines = [] if advice.ways else [NOTHING]
    if not advice.ways and advice.short:
        lines.append(short_words(advice.short, job))
    if not advice.complete:
        lines.append(HURRIED)
    if advice.piece is not None:
        lines.append(piece_words(advice.piece, job.unit))
    return lines


def size_words(told: JobAdvice) -> str:
    """Return what size of a drawing would fit."""
    if told.of_size is None:
        return NO_SIZE
    if told.of_size.pose.scale >= 1.0:
        return ANYWAY
    return SMALLER.format(size=f"{100 * told.of_size.pose.scale:.1f} %")


def change_words(way: Way, job: Job) -> str:
    """Return what changes: ``blade length 95.0 -> 90.5 mm``."""
    return ", ".join(change_parts(way, job))


def change_parts(way: Way, job: Job) -> list[str]:
    """Return what changes, each measure by itself."""
    parameters = {each.key: each for each in chosen_family(job.outline).parameters}
    told = dict(job.outline.values)
    parts = []
    for key, value in way.values:
        each = parameters[key]
        now = number(told.get(key, each.default), each, job.unit)
        parts.append(
            f"{each.label.lower()} {now} -> {number(value, each, job.unit)}{_unit(each, job)}"
        )
    return parts


def outcome_words(way: Way, job: Job) -> str:
    """Return how it fits then, and what is known of a step less: ``fits, 1.02 mm spare; ...``."""
    spare = format_length(way.clearance.value_mm, job.unit, decimals=2 if job.unit == "mm" else 3)
    return f"fits, {spare} spare; {_numbers(way.beside, job)} {BESIDE[way.beside_answer]}"


def short_words(short: tuple[Short, ...], job: Job) -> str:
    """Return which measures give room, but alone not enough."""
    parameters = {each.key: each for each in chosen_family(job.outline).parameters}
    parts = []
    for each in short:
        measure = parameters[each.key]
        room = format_length(abs(each.clearance_mm), job.unit)
        room = f"{room} spare" if each.clearance_mm >= 0 else f"sticks out by {room}"
        value = f"{number(each.value, measure, job.unit)}{_unit(measure, job)}"
        parts.append(f"{measure.label.lower()} at {value} ({room})")
    return f"Not enough alone: {', '.join(parts)}."


def piece_words(piece: Piece, unit: Unit) -> str:
    """Return what size of piece would hold it.

    Examples
    --------
    >>> from geometry.advice.piece import Piece
    >>> piece_words(Piece(grow_mm=2.5, bar_mm=(102.0, 22.0)), "mm")
    'As it is, it fits with 2.5 mm more steel all round, or in a bar of 102 x 22 mm.'
    """
    step_mm = LENGTH_STEP[unit] * MM_PER[unit]
    grow, long, wide = (
        format_length(math.ceil(size / step_mm - ROUNDING) * step_mm, unit)  # never too small
        for size in (piece.grow_mm, *piece.bar_mm)
    )
    long = long.removesuffix(f" {unit}")
    return f"As it is, it fits with {grow} more steel all round, or in a bar of {long} x {wide}."


def number(value: float, parameter: Parameter, unit: Unit) -> str:
    """Return a measure's value without its unit: to one figure behind the mark, or as it needs."""
    if parameter.unit == "mm":
        places = 1 if unit == "mm" else 2
        shown = value / MM_PER[unit]
    else:
        places, shown = (0 if parameter.whole else 1 if parameter.unit == "deg" else 2), value
    fine = abs(round(shown, places) - shown) > ROUNDING
    return f"{shown:.{places + 1 if fine else places}f}"


def _numbers(values: Values, job: Job) -> str:
    parameters = {each.key: each for each in chosen_family(job.outline).parameters}
    return " with ".join(number(value, parameters[key], job.unit) for key, value in values)


def _unit(parameter: Parameter, job: Job) -> str:
    return {"mm": f" {job.unit}", "deg": "°", "none": ""}[parameter.unit]

"""What must give so that a job's outline fits its piece, and the job with that change made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from app.document.families import chosen_family
from app.document.flow import FIT_CHORD_MM, Progress, Stop, billet_of, largest_for
from app.document.job import Job
from app.document.lengths import MM_PER, Unit
from geometry.errors import FitError
from geometry.family import Family
from geometry.family.model import Parameter

if TYPE_CHECKING:  # heavy: loaded when first walked
    from geometry.advice import Advice, Measure, Way
    from geometry.placement import Placement

LENGTH_STEP = {"mm": 0.1, "in": 0.01}  # of the unit itself: as finely as a maker lays it out
STEP_DEG, STEP_OF_SHARE = 0.1, 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class JobAdvice:
    """What must give: measures of a family, or the size of a drawing, which has no measures.

    Parameters
    ----------
    of_family : Advice, optional
        For a family.
    of_size : Placement, optional
        For a drawing: its largest scale that keeps the margin; None where none does.
    """

    of_family: Advice | None = None
    of_size: Placement | None = None


def advice_for(
    job: Job, *, known: Placement | None = None, progress: Progress = None, stop: Stop = None
) -> JobAdvice:
    """Work out what must give so that the blank surely fits. Slow: many seconds.

    Surely: the doubt of the billet's edge, two standard deviations where it is worst, is added to
    the margin. Measures that the job locks stay.

    Parameters
    ----------
    job : Job
        With a billet.
    known : Placement, optional
        The roomiest place of its outline, where it was searched.
    progress, stop : callable, optional
        Told the share done; asked whether to give up.

    Raises
    ------
    InputError
        If the job has no billet yet, or its outline cannot be drawn.
    Cancelled
        If `stop` says so.
    """
    from geometry.advice import advise
    from geometry.site import Site

    if job.outline.drawing is not None:
        try:
            return JobAdvice(of_size=largest_for(job, progress=progress, stop=stop))
        except FitError:
            return JobAdvice()
    family, billet = chosen_family(job.outline), billet_of(job)
    found = advise(
        Site(billet.usable()),
        lambda values: family.outline(values).polygon(FIT_CHORD_MM),
        measures_of(family, job),
        margin_mm=job.margin_mm + 2 * billet.worst_sigma_mm,
        mirror=job.mirror_allowed,
        locked=job.locked,
        start=job.pose,
        known=known,
        progress=progress,
        stop=stop,
    )
    return JobAdvice(of_family=found)


def measures_of(family: Family, job: Job) -> list[Measure]:
    """Return the family's measures as the job has them, as finely as its unit tells them."""
    from geometry.advice import Measure

    told = dict(job.outline.values)
    return [
        Measure(
            key=each.key,
            value=told.get(each.key, each.default),
            low=each.low,
            high=each.high,
            step=_step(each, job.unit),
        )
        for each in family.parameters
    ]


def given_way(job: Job, way: Way) -> Job:
    """Return the job with a change made and its blank where it fits then."""
    choice = job.outline
    for key, value in way.values:
        choice = choice.with_value(key, value)
    return replace(job, outline=choice, pose=way.pose)


def _step(parameter: Parameter, unit: Unit) -> float:
    if parameter.whole:
        return 1.0
    if parameter.unit == "mm":
        return LENGTH_STEP[unit] * MM_PER[unit]
    return STEP_DEG if parameter.unit == "deg" else STEP_OF_SHARE

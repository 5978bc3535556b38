"""What must give: which measures, changed how little, make an outline fit with a margin."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from geometry.advice.model import Advice, Measure
from geometry.advice.piece import piece_for
from geometry.advice.trials import OutlineAt, Trials
from geometry.advice.ways import found_ways
from geometry.decision import FitAnswer
from geometry.errors import InputError
from geometry.placement import Placement, place_on
from geometry.pose import Pose
from geometry.pose_proof import Best
from geometry.report import Progress, Report, Stop
from geometry.site import Site, Target

SECONDS = 30.0
MOST_DECISIONS = 300
SECONDS_AS_IT_IS = 1.0  # to find its best pose: whether it fits is asked apart


def advise(
    site: Site,
    outline_at: OutlineAt,
    measures: Sequence[Measure],
    *,
    margin_mm: float,
    mirror: bool = True,
    locked: Collection[str] = (),
    start: Pose | None = None,
    known: Placement | None = None,
    seconds: float = SECONDS,
    most_decisions: int = MOST_DECISIONS,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Advice:
    """Return the smallest changes found of one measure, or of two, that make an outline fit.

    Each measure is followed up and down to the end of its range by quick climbs; where one fits,
    the value a step before it is searched over the whole steel and all angles. Two measures are
    changed together on the straight line from what they are to what each needs alone, or to where
    it gives most where it never gives enough. That is done with the few that need least, or give
    most. Values that cannot be drawn are passed over.

    A change counts as its share of the measure's range, those of two measures added up: the ways
    are ranked by that, the smallest first. "Fits at 26.3, not at 26.4" is what is shown, not that
    nothing nearer fits: more steel left to one place may be less at another.

    Parameters
    ----------
    site : Site
        The steel.
    outline_at : callable
        Gives the outline, mm, for all values by key; InputError where they do not go together.
    measures : sequence of Measure
        All measures, locked ones too.
    margin_mm : float
        The clearance to keep, >= 0.
    mirror : bool
        Whether the outline may be turned over.
    locked : collection of str
        Keys of measures that stay.
    start : Pose, optional
        A pose of the outline as it is; its scale is kept.
    known : Placement, optional
        The roomiest place of the outline as it is, where it was searched before.
    seconds, most_decisions : float, int
        When to end with what is known by then.
    progress, stop : callable, optional
        Told the share done, 0 to 1; asked whether to give up.

    Raises
    ------
    InputError
        If the outline or the steel is no clean area, or the margin is negative.
    Cancelled
        If `stop` said so.
    """
    if not margin_mm >= 0.0:
        raise InputError(f"a margin of {margin_mm} mm.", where="Margin", remedy="Give 0 or more.")
    report = Report(progress, stop)
    present = {each.key: each.value for each in measures}
    target = Target(outline_at(present))
    if known is None:
        tell = report.part(0.0, 0.1)
        known = place_on(site, target, tell, mirror=mirror, start=start, seconds=SECONDS_AS_IT_IS)
    trials = Trials(
        site,
        outline_at,
        present,
        Best(pose=known.pose, value_mm=known.clearance.value_mm),
        margin_mm=margin_mm,
        mirror=mirror,
        report=report,
        seconds=seconds,
        most_decisions=most_decisions,
    )
    known, answer = _as_it_is(known, trials, site)
    if answer == "fits":
        report.within(0.0, 1.0)(1.0)
        return Advice(present=known, answer=answer, decisions=trials.decisions)
    free = [each for each in measures if each.key not in locked]
    ways, short = found_ways(free, trials, report)
    blank, room_mm = known.pose.shape(target.outline), known.clearance.value_mm
    report.within(0.0, 1.0)(1.0)
    return Advice(
        present=known,
        answer=answer,
        ways=tuple(ways),
        short=tuple(short),
        piece=piece_for(blank, clearance_mm=room_mm, margin_mm=margin_mm),
        complete=not trials.cut_short,
        decisions=trials.decisions,
    )


def _as_it_is(known: Placement, trials: Trials, site: Site) -> tuple[Placement, FitAnswer]:
    """Return whether the outline fits as it is, with the best place of it that is known."""
    tried = trials.drawn(())
    if tried.answer is None and known.upper_bound_mm < trials.margin_mm:
        tried.answer = "does not fit"
    tried = trials.decided(())
    assert tried.outline is not None
    assert tried.best is not None
    if tried.best.value_mm > known.clearance.value_mm:
        clearance = site.region.clearance(tried.best.pose.shape(tried.outline))
        known = replace(known, pose=tried.best.pose, clearance=clearance)
    return known, tried.answer or "too close to call"

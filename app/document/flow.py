"""The one path from a job's facts to what follows: photo -> billet -> layout.

Each step is a pure function of the job. The window and the command line both walk it; its end, the
pattern, is in `app.document.job_drawing`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from shapely import Polygon

from app.document.families import chosen_family
from app.document.job import Job, OutlineChoice
from app.document.thickness import with_thickness
from geometry.billet import Billet
from geometry.clearance import Clearance, UsableRegion
from geometry.covered import Covered, covered
from geometry.editing import Claim, claim, edited
from geometry.errors import InputError
from geometry.least_sure import clearance_sigma_mm
from geometry.outline import Outline
from geometry.pose import Pose
from geometry.report import LONG_SECONDS
from geometry.verdict import Verdict, judge

if TYPE_CHECKING:  # heavy: loaded when first walked
    from calibration.capture import Capture
    from geometry.placement import Placement

Progress = Callable[[float], None] | None
Stop = Callable[[], bool] | None

FIT_CHORD_MM = 0.02  # the curve may stand this far outside the polygon that is fitted


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A blank on a billet, and how it fits. Lengths in mm.

    Parameters
    ----------
    outline : Outline
        The outline in its own frame.
    pose : Pose
        Where it lies on the billet.
    blank : shapely.Polygon
        The outline placed on the billet.
    region : UsableRegion
        Where the blank may lie.
    clearance : Clearance
        The smallest signed distance to the usable edge, and where.
    taken_off_mm : float
        What the billet's edge is likely to be measured too large, all round; the region, and
        with it the clearance, are without it.
    sigma_mm : float
        One standard deviation of the clearance: of the billet's edge at the tightest place, or
        more where a place that is known less well may leave less room.
    verdict : Verdict
        Fits, doubtful, or does not fit, at the margin that the job demands.
    covered : Covered or None
        A flaw or a hole that lies in the blank: it does not fit then, however narrow that is.
    """

    outline: Outline
    pose: Pose
    blank: Polygon
    region: UsableRegion
    clearance: Clearance
    taken_off_mm: float
    sigma_mm: float
    verdict: Verdict
    covered: Covered | None = None


def capture_of(job: Job, *, progress: Progress = None, stop: Stop = None) -> Capture:
    """Measure the job's photo. Slow: two seconds or so.

    Raises
    ------
    InputError
        If the job has no photo or nothing of known size.
    PhotoError
        If the photo cannot be measured.
    Cancelled
        If `stop` says so.
    """
    from calibration.capture import capture
    from calibration.photo import photo_from_bytes
    from calibration.trace_offset import OffsetTold

    if job.photo is None:
        raise InputError("there is no photo yet.", where="Photo", remedy="Open one.")
    return capture(
        photo_from_bytes(job.photo.data, job.photo.name),
        job.photo.references,
        inside_px=job.photo.inside_px,
        edge=job.photo.edge,
        subject=job.photo.subject,
        thickness_mm=job.thickness_mm,
        told=OffsetTold(sizes=job.photo.sizes, correct=job.photo.correct_offset, pen=job.photo.pen),
        progress=progress,
        stop=stop,
    )


def accepted(job: Job, capture: Capture) -> Job:
    """Return the job with the captured piece as its billet."""
    taken = replace(job, billet=capture.billet, measured_from=job.measure_fingerprint(), pose=None)
    return with_thickness(taken, job.thickness_mm)


def billet_of(job: Job) -> Billet:
    """Return the piece as it is: measured, then changed by hand; the same job gives the same one.

    Raises
    ------
    InputError
        If the job has no billet yet, or a change cannot be made on it; it names which.
    """
    if job.billet is None:
        raise InputError(
            "there is no piece of steel yet.",
            where="Steel",
            remedy="Measure a photo, or open a billet.",
        )
    return _edited(job.billet, job.edits)


def claim_of(job: Job) -> Claim | None:
    """Return where changes by hand claim most steel beyond what was measured; None if nowhere."""
    if job.billet is None or not job.edits:
        return None
    return claim(job.billet, billet_of(job))


_edited = lru_cache(maxsize=4)(edited)  # it is asked for at each step of a drag


def outline_of(job: Job) -> Outline:
    """Return the outline that the job chose.

    Raises
    ------
    InputError
        If a value is outside its range, or the values do not go together.
    """
    return chosen_outline(job.outline)


def chosen_outline(choice: OutlineChoice) -> Outline:
    """Return the outline of a choice; raises as `outline_of`."""
    if choice.drawing is not None:
        return choice.drawing
    return chosen_family(choice).outline(dict(choice.values))


def usable_region(billet: Billet) -> UsableRegion:
    """Return where a blank may lie on a billet: on steel to count on, clear of its flaws."""
    return UsableRegion(billet.usable())


def layout_of(job: Job) -> Layout | None:
    """Return how the blank fits where it lies; None while something is missing."""
    if job.billet is None or job.pose is None:
        return None
    billet = billet_of(job)
    return layout_at(outline_of(job), billet, usable_region(billet), job.pose, job.margin_mm)


def layout_at(
    outline: Outline, billet: Billet, region: UsableRegion, pose: Pose, margin_mm: float
) -> Layout:
    """Return how an outline fits at a pose: the part that runs while dragging."""
    blank = pose.shape(outline.polygon(FIT_CHORD_MM))
    clearance = region.clearance(blank)
    sigma_mm = billet.sigma_at_mm(clearance.edge_point_mm)
    verdict = judge(clearance.value_mm, sigma_mm, margin_mm)
    if verdict is Verdict.FITS:  # only if it does where the edge is less sure, too
        sigma_mm = clearance_sigma_mm(billet, blank, clearance)
        verdict = judge(clearance.value_mm, sigma_mm, margin_mm)
    over = covered(billet, blank) if clearance.value_mm <= 0.0 else None
    if over is not None:
        verdict = Verdict.DOES_NOT_FIT
    return Layout(
        outline=outline,
        pose=pose,
        blank=blank,
        region=region,
        clearance=clearance,
        taken_off_mm=billet.too_large_mm,
        sigma_mm=sigma_mm,
        verdict=verdict,
        covered=over,
    )


def roomiest_for(
    job: Job,
    *,
    tuck: bool = True,
    seconds: float = LONG_SECONDS,
    progress: Progress = None,
    stop: Stop = None,
) -> Placement:
    """Search the pose of greatest clearance, with a bound that none exceeds.

    Parameters
    ----------
    job : Job
        With a billet and an outline.
    tuck : bool
        Whether a blank that could slide with equal room goes to the end that leaves most.
    seconds : float
        After which it ends with the bound that it has.
    progress, stop : callable, optional
        Told the share done; asked whether to give up.

    Raises
    ------
    InputError
        If the job has no billet yet.
    Cancelled
        If `stop` says so.
    """
    from geometry.placement import roomiest

    billet = billet_of(job)
    return roomiest(
        outline_of(job).polygon(FIT_CHORD_MM),
        billet.usable(),
        flaws=billet.flaws,
        mirror=job.mirror_allowed,
        start=job.pose,
        tuck=tuck,
        seconds=seconds,
        progress=progress,
        stop=stop,
    )


def largest_for(
    job: Job, *, seconds: float = LONG_SECONDS, progress: Progress = None, stop: Stop = None
) -> Placement:
    """Search the greatest scale that surely keeps the margin; raises as `roomiest_for`.

    Surely: the doubt of the billet's edge, two standard deviations where it is worst, is added.
    """
    from geometry.largest import largest

    billet = billet_of(job)
    return largest(
        outline_of(job).polygon(FIT_CHORD_MM),
        billet.usable(),
        margin_mm=job.margin_mm + 2 * billet.worst_sigma_mm,
        mirror=job.mirror_allowed,
        seconds=seconds,
        progress=progress,
        stop=stop,
    )


def settled(job: Job) -> Placement:
    """Return the roomiest pose next to where the blank lies; raises as `roomiest_for`."""
    from geometry.placement import settle

    if job.pose is None:
        raise InputError("the blank was not placed yet.", where="Layout")
    billet, outline = billet_of(job), outline_of(job).polygon(FIT_CHORD_MM)
    return settle(outline, billet.usable(), job.pose, flaws=billet.flaws)


def placed(job: Job, placement: Placement) -> Job:
    """Return the job with its blank at a found pose."""
    return replace(job, pose=placement.pose)

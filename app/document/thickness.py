"""The steel's thickness, and what it tells of a trace round it."""

from __future__ import annotations

from dataclasses import replace

from app.document.job import Job


def with_thickness(job: Job, thickness_mm: float | None) -> Job:
    """Return the job with its steel as thick as told.

    A traced piece then also knows what a pen that nobody measured is likely to stand off there.
    """
    from calibration.trace_budget import UNTOLD_PEN, with_untold_pen

    job = replace(job, thickness_mm=thickness_mm)
    if job.billet is None:
        return job
    billet = replace(job.billet, thickness_mm=thickness_mm)
    known = any(part.name == UNTOLD_PEN for part in billet.budget.parts)
    if known or _is_trace_of_any_pen(job):
        billet = replace(billet, budget=with_untold_pen(billet.budget, thickness_mm))
    return replace(job, billet=billet)


def _is_trace_of_any_pen(job: Job) -> bool:
    """Return whether the billet is a trace of which nothing tells how far the pen stood off."""
    photo = job.photo
    if photo is None or not job.measured_from or photo.subject != "trace":
        return False
    return not photo.sizes and photo.pen is None

"""A measure shown for the thickness that is told now: of a trace it changes the doubt alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from app.document.flow import accepted
from app.document.job import Job

if TYPE_CHECKING:
    from calibration.capture import Capture


def of_thickness_told(capture: Capture, job: Job) -> Capture:
    """Return a measure that holds for the job's facts, as it is with the job's thickness."""
    before = capture.billet.thickness_mm
    if before == job.thickness_mm:
        return capture
    billet = accepted(job, capture).billet
    assert billet is not None
    old, new = _pen_note(before), _pen_note(job.thickness_mm)
    notes = tuple(new if note == old else note for note in capture.notes)
    return replace(capture, billet=billet, budget=billet.budget, notes=notes)


def _pen_note(thickness_mm: float | None) -> str:
    """Return the note on what a pen that nobody measured stands off."""
    from calibration.pens import stand_off_note
    from calibration.trace_offset import TELL_THICKNESS

    return stand_off_note(thickness_mm) if thickness_mm else TELL_THICKNESS

"""The end of the path from a job's facts: the pattern's lines."""

from __future__ import annotations

import datetime

from app.document.drawing import Drawing, TitleBlock
from app.document.flow import billet_of, claim_of, layout_of, outline_of
from app.document.job import Job
from app.document.pattern import PatternOptions, pattern_drawing
from app.document.wording import pattern_notes
from geometry.errors import InputError


def drawing_of(job: Job, day: datetime.date) -> Drawing:
    """Return the pattern's lines, in mm, dated; a blank that may not fit is said there.

    Raises
    ------
    InputError
        If the blank was not placed yet.
    """
    if job.pose is None:
        raise InputError(
            "the blank was not placed yet.",
            where="Pattern",
            remedy="Find its place on the piece first.",
        )
    return pattern_drawing(
        outline=outline_of(job),
        pose=job.pose,
        billet=None if job.billet is None else billet_of(job),
        title=TitleBlock(
            name=job.name,
            date=day,
            thickness_mm=job.thickness_mm,
            unit=job.unit,
            notes=pattern_notes(layout_of(job), claim_of(job), job.margin_mm, job.unit),
        ),
        options=PatternOptions(margin_mm=job.margin_mm, show_margin=job.pattern.show_margin),
    )

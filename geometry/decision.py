"""Whether an outline fits a piece of steel with a margin: yes, proven not, or too close to call."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from geometry.pose import Pose
from geometry.pose_proof import Best
from geometry.report import Report
from geometry.site import Site, Target

FitAnswer = Literal["fits", "does not fit", "too close to call"]

SECONDS = 2.0  # what is not proven by then is closer than the discs can show, or a turning plate


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What a decision came to.

    Parameters
    ----------
    answer : {"fits", "does not fit", "too close to call"}
        "does not fit" is proven; "fits" is shown by the pose.
    best : Best or None
        The best pose met on the way, and its exact clearance; None where none was climbed to.
    """

    answer: FitAnswer
    best: Best | None


def fits(
    site: Site,
    target: Target,
    margin_mm: float,
    *,
    mirror: bool,
    report: Report,
    scale: float = 1.0,
    start: Pose | None = None,
    seconds: float = SECONDS,
) -> Decision:
    """Decide whether any pose of an outline keeps a margin.

    Parameters
    ----------
    site, target : Site, Target
        The steel and the outline.
    margin_mm : float
        The clearance to keep.
    mirror : bool
        Whether the outline may be turned over.
    report : Report
        Told how far the search is; stopped, it is too close to call.
    scale : float
        The outline's scale.
    start : Pose, optional
        A pose of that scale that may keep it.
    seconds : float
        The time after which it is too close to call.

    Raises
    ------
    Cancelled
        If the report's stop said so before any pose was found.
    """
    found = site.search(
        target,
        report,
        mirror=mirror,
        scales=(scale, scale),
        start=start,
        enough_mm=margin_mm,
        seconds=seconds,
    )
    if found.best is not None and found.best.value_mm >= margin_mm:
        return Decision(answer="fits", best=found.best)
    answer: FitAnswer = "does not fit" if found.closed else "too close to call"
    return Decision(answer=answer, best=found.best)

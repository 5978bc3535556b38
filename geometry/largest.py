"""The largest scale of an outline that keeps a margin in a piece of steel, proven."""

from __future__ import annotations

import time
from dataclasses import replace

import shapely
from shapely import MultiPolygon, Polygon

from geometry.contacts import Fitting
from geometry.errors import FitError, InputError
from geometry.local_fit import larger, roomier
from geometry.placement import Placement
from geometry.pose import Pose
from geometry.report import LONG_SECONDS, Progress, Report, Stop
from geometry.site import CLIMB_CELL_MM, Answer, Site, Target

GROWTH = 9e-4  # what is asked for next is larger by this: proven to 0.1 %
LEAST_SHARE = 0.01  # of the scale that nothing exceeds: smaller is no use
SLACK_PER_DISC = 1e-4  # of the outline's largest disc: a step of growth must show
TURNS, SETTLED = 8, 1e-5  # of growing and moving; a turn that gains less is the last
FIRST_TRIM, TRIMMED = 1e-4, 1e-7  # of the scale


def largest(
    outline: Polygon,
    shape: Polygon | MultiPolygon,
    *,
    margin_mm: float,
    mirror: bool = True,
    seconds: float = LONG_SECONDS,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Placement:
    """Return the greatest scale, with a pose, at which the outline keeps the margin.

    Any pose of any scale that keeps it is searched, and grown as far as it goes; then any pose of
    any scale that is a little larger.  When it is proven that there is none, the scale is the
    largest to 0.1 %.

    Parameters
    ----------
    outline, shape, mirror, seconds, progress
        As for `geometry.placement.roomiest`; the outline's own size is scale 1.
    margin_mm : float
        The clearance to keep, >= 0.
    stop : callable, optional
        As there: stopped, it gives the largest scale so far and what is proven.

    Raises
    ------
    InputError
        If the outline or the steel is no clean area, or the margin is negative.
    FitError
        If the margin leaves no place for any size, or none was found in time.
    Cancelled
        If `stop` said so before any pose was found.
    """
    if not margin_mm >= 0.0:
        raise InputError(f"a margin of {margin_mm} mm.", where="Margin", remedy="Give 0 or more.")
    target = Target(outline, slack_per_disc=SLACK_PER_DISC)
    # Circles round shapes lie in one another as the shapes do.
    circle_mm = max(
        float(shapely.minimum_bounding_radius(part)) for part in shapely.get_parts(shape)
    )
    limit = (circle_mm - margin_mm) / target.discs.rim_mm
    site = Site(shape, slack_mm=target.slack_mm * max(limit, LEAST_SHARE))
    report, deadline = Report(progress, stop), time.monotonic() + seconds
    best: Pose | None = None
    low, boxes, closed = LEAST_SHARE * limit, 0, True
    while low < limit:
        share = 0.0 if best is None else best.scale / limit
        answer = site.search(
            target,
            report.part(share, 1.0),
            mirror=mirror,
            scales=(low, limit),
            start=best and replace(best, scale=low),
            enough_mm=margin_mm,
            seconds=deadline - time.monotonic(),
        )
        boxes += answer.boxes
        grown = _grown(site, target, answer, margin_mm, limit)
        if grown is None:
            limit, closed = (low, True) if answer.closed else (answer.open_scale, False)
            break
        best = grown
        low = best.scale * (1.0 + GROWTH)
    if best is None:
        found = "no size of the outline fits" if closed else "no size was found in the time given"
        raise FitError(
            f"with a margin of {margin_mm:g} mm {found}.",
            where="Margin",
            remedy="Give a smaller margin, or another piece.",
        )
    clearance = site.region.clearance(best.shape(target.outline))
    here = site.search(
        target,
        Report(None, stop),
        mirror=mirror,
        scales=(best.scale, best.scale),
        start=best,
        seconds=max(0.0, deadline - time.monotonic()),
    )
    report.done()
    return Placement(
        pose=best,
        clearance=clearance,
        upper_bound_mm=max(here.bound_mm, clearance.value_mm),
        proven=limit <= low,
        upper_bound_scale=max(limit, best.scale),
        boxes=boxes,
    )


def _grown(
    site: Site, target: Target, answer: Answer, margin_mm: float, limit: float
) -> Pose | None:
    """Return the largest pose that growing one that keeps the margin leads to; None without one."""
    found = answer.best
    if found is None or found.value_mm < margin_mm:
        return None
    part = site.part_of(target, found.pose)
    fitting = Fitting(target.outline, part, cell_mm=CLIMB_CELL_MM, scale=limit)
    grown, _ = larger(fitting, found.pose, margin_mm=margin_mm)
    for _ in range(TURNS):  # growing may end where moving gives room to grow on
        further, _ = larger(fitting, roomier(fitting, grown)[0], margin_mm=margin_mm)
        if further.scale < grown.scale * (1.0 + SETTLED):
            break
        grown = further
    return _trimmed(site, fitting, grown, margin_mm, found.pose)


def _trimmed(site: Site, fitting: Fitting, pose: Pose, margin_mm: float, otherwise: Pose) -> Pose:
    """Return a pose shrunk about the outline's centre until its exact clearance is the margin.

    The climb measured it nearly right: if it must shrink to less than the pose that it grew from,
    that one is given.
    """
    centre = pose.points(fitting.centre_mm[None])[0]

    def at(scale: float) -> Pose:
        return fitting.pose_at(centre, pose.theta_rad, pose.mirrored, scale)

    def keeps(scale: float) -> bool:
        time.sleep(0)  # the window's thread gets a turn
        return site.region.clearance(at(scale).shape(fitting.outline)).value_mm >= margin_mm

    high, shrink = pose.scale * (1.0 + FIRST_TRIM), FIRST_TRIM
    while not keeps(high * (1.0 - shrink)):
        shrink *= 2.0
        if high * (1.0 - shrink) <= otherwise.scale:
            return otherwise
    low = high * (1.0 - shrink)
    while high - low > TRIMMED * low:
        middle = (low + high) / 2.0
        low, high = (middle, high) if keeps(middle) else (low, middle)
    return at(low)

"""Where an outline fits best in a piece of steel, proven; and where it settles near a place."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely import MultiPolygon, Polygon

from geometry.clearance import Clearance, UsableRegion
from geometry.contacts import Fitting
from geometry.covered import OVER_MM, worth_mm
from geometry.local_fit import roomier
from geometry.pose import Pose
from geometry.report import LONG_SECONDS, Progress, Report, Stop
from geometry.site import Answer, Site, Target, profile_of
from geometry.tuck import tucked

SETTLE_CELL_MM = 4.0  # nothing is searched on it: it only names the near edges
PROVEN_GAP_MM = 0.05
WORTH_TURNING_MM = 0.005  # a symmetric outline gains rounding errors by being turned over


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """A pose, the room that it has, and what no pose can beat.

    Parameters
    ----------
    pose : Pose
        Where the outline lies.
    clearance : Clearance
        Its exact clearance there.
    upper_bound_mm : float
        No pose at this scale has a greater clearance; infinite where none was asked for.
    proven : bool
        Whether this pose reaches the bound, to 0.05 mm (for a largest scale, to 0.1 %). Where it
        was moved off a hole or a flaw that it would cover, it does not.
    upper_bound_scale : float, optional
        No greater scale keeps the margin; only where the largest scale was asked for.
    boxes : int
        Boxes of poses that the proof looked at.
    tucked : bool
        Whether it was slid along the steel, at no loss of room, to leave the largest rest.
    """

    pose: Pose
    clearance: Clearance
    upper_bound_mm: float
    proven: bool
    upper_bound_scale: float | None = None
    boxes: int = 0
    tucked: bool = False


def roomiest(
    outline: Polygon,
    shape: Polygon | MultiPolygon,
    *,
    flaws: Sequence[Polygon] = (),
    mirror: bool = True,
    start: Pose | None = None,
    seconds: float = LONG_SECONDS,
    tuck: bool = True,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Placement:
    """Return the pose of greatest clearance over the whole piece, all angles, both faces.

    Proven by branch and bound.  Stopped, or out of time, it gives the best pose so far and the
    bound that it has.  Where the outline fits nowhere, a hole or a flaw under it counts by how deep
    in it that lies: it rather sticks out a little than to be cut over a crack.  The bound is then
    still that of the clearance.

    Parameters
    ----------
    outline : shapely.Polygon
        The outline in its own frame, mm; its holes do not count.
    shape : shapely.Polygon or shapely.MultiPolygon
        The usable steel, mm.
    flaws : sequence of shapely.Polygon
        What was left out of it as flawed, mm.
    mirror : bool
        Whether the outline may be turned over.
    start : Pose, optional
        A pose to start from as well. Its scale is kept, and the answer is no worse than it,
        unless it is turned over and must not be.
    seconds : float
        The longest time for the proof.
    tuck : bool
        Whether, among poses with equal room, to take the one that leaves the largest rest of the
        steel (`geometry/tuck.py`).
    progress, stop : callable, optional
        Told the share done, 0 to 1; asked whether to give up.

    Raises
    ------
    InputError
        If the outline or the steel is no clean area.
    Cancelled
        If `stop` said so before any pose was found.
    """
    site, target, report = Site(shape), Target(outline), Report(progress, stop)
    return place_on(
        site,
        target,
        report,
        mirror=mirror,
        start=start,
        flaws=flaws,
        seconds=seconds,
        tuck=tuck,
    )


def place_on(
    site: Site,
    target: Target,
    report: Report,
    *,
    mirror: bool,
    start: Pose | None = None,
    flaws: Sequence[Polygon] = (),
    seconds: float = LONG_SECONDS,
    tuck: bool = True,
) -> Placement:
    """Return `roomiest` on steel and for an outline that were made ready before."""
    deadline = time.monotonic() + seconds
    scale = 1.0 if start is None else start.scale
    if start is not None and start.mirrored and not mirror:
        start = None
    answer = site.search(
        target, report, mirror=mirror, scales=(scale, scale), start=start, seconds=seconds
    )
    assert answer.best is not None  # only a search for enough room may find no pose
    pose = answer.best.pose
    if pose.mirrored:
        left = deadline - time.monotonic()
        pose = _upright_if_as_good(site, target, report, answer, left)
    if answer.best.value_mm < 0.0 and (site.region.holes or flaws):
        pose = _moved_off(site, target, pose, flaws)
    found = pose
    if tuck and answer.best.value_mm >= 0.0:
        pose = tucked(site.fitting(target, pose), site.region, pose)
    clearance = site.region.clearance(pose.shape(target.outline))
    report.done()
    bound = max(answer.bound_mm, clearance.value_mm)
    return Placement(
        pose=pose,
        clearance=clearance,
        upper_bound_mm=bound,
        proven=bound - clearance.value_mm <= PROVEN_GAP_MM,
        boxes=answer.boxes,
        tucked=pose != found,
    )


def _upright_if_as_good(
    site: Site, target: Target, report: Report, answer: Answer, seconds: float
) -> Pose:
    """Return a pose that is not turned over, if there is one with as much room; else the best."""
    best = answer.best
    assert best is not None
    enough_mm = best.value_mm - WORTH_TURNING_MM
    upright = site.search(
        target,
        Report(None, report.stop),
        mirror=False,
        scales=(best.pose.scale, best.pose.scale),
        start=replace(best.pose, mirrored=False),
        enough_mm=enough_mm,
        seconds=seconds,
    ).best
    return best.pose if upright is None or upright.value_mm < enough_mm else upright.pose


def _moved_off(site: Site, target: Target, pose: Pose, flaws: Sequence[Polygon]) -> Pose:
    """Return the pose near one that is clear of holes and flaws and sticks out least for it."""
    areas = [*site.region.holes, *flaws]
    found = [pose]
    for part in site.parts:
        fitting = Fitting(
            target.outline,
            part,
            cell_mm=SETTLE_CELL_MM,
            scale=pose.scale,
            flaws=flaws,
            over_mm=OVER_MM,
        )
        found.append(roomier(fitting, pose)[0])
    return max(found, key=lambda each: _worth_mm(site.region, each.shape(target.outline), areas))


def settle(
    outline: Polygon,
    shape: Polygon | MultiPolygon,
    pose: Pose,
    *,
    flaws: Sequence[Polygon] = (),
) -> Placement:
    """Return the locally roomiest pose near a pose, its scale and face kept; never a worse one.

    No bound is worked out: this is for the button under the hand.
    """
    profile, region = profile_of(outline), UsableRegion(shape)
    place = pose.shape(profile)
    part = min(shapely.get_parts(shape), key=lambda one: shapely.difference(place, one).area)
    areas = [*region.holes, *flaws]
    found = [(pose, _worth_mm(region, place, areas))]
    for over_mm in (0.0, OVER_MM):
        fitting = Fitting(
            profile, part, cell_mm=SETTLE_CELL_MM, scale=pose.scale, flaws=flaws, over_mm=over_mm
        )
        moved = roomier(fitting, found[-1][0])[0]
        found.append((moved, _worth_mm(region, moved.shape(profile), areas)))
        settled, most_mm = max(found, key=lambda one: one[1])
        if most_mm >= 0.0 or not areas:
            break
    clearance = region.clearance(settled.shape(profile))
    return Placement(pose=settled, clearance=clearance, upper_bound_mm=math.inf, proven=False)


def _worth_mm(region: UsableRegion, blank: Polygon, areas: Sequence[Polygon]) -> float:
    return worth_mm(region.clearance(blank).value_mm, blank, areas)

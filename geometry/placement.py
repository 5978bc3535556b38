"""Where an outline fits best in a piece of steel, and how large it may be."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, Polygon
from shapely.validation import explain_validity

from geometry.bounds import scale_bound, upper_bound_mm
from geometry.clearance import Clearance, UsableRegion
from geometry.contacts import Fitting
from geometry.covered import OVER_MM, worth_mm
from geometry.errors import FitError, InputError
from geometry.growth import grown_pose, trimmed
from geometry.local_fit import roomier
from geometry.pose import Pose
from geometry.pose_search import promising_poses
from geometry.report import Progress, Report, Stop

SEARCH_CELL_MM = 0.5
SETTLE_CELL_MM = 2.0  # nothing is searched on it: it only names the near edges
CANDIDATES = 30  # climbed, then measured exactly: the climbs measure crossings roughly
PROVEN_GAP_MM = 0.02
WORTH_TURNING_MM = 0.005  # a symmetric outline gains rounding errors by being turned over
PROVEN_GROWTH = 1e-3


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
        Whether the bound is reached, to 0.02 mm (for a largest scale, to 0.1 %).
    upper_bound_scale : float, optional
        No greater scale keeps the margin; only where the largest scale was asked for.
    """

    pose: Pose
    clearance: Clearance
    upper_bound_mm: float
    proven: bool
    upper_bound_scale: float | None = None


def roomiest(
    outline: Polygon,
    shape: Polygon | MultiPolygon,
    *,
    flaws: Sequence[Polygon] = (),
    mirror: bool = True,
    start: Pose | None = None,
    seed: int = 0,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Placement:
    """Return the pose of greatest clearance over the whole piece, all angles, both faces.

    The best of many local searches: the bound says whether anything better is possible.  Where the
    outline fits nowhere, a hole or a flaw under it counts by how deep in it that lies: it rather
    sticks out a little than to be cut over a crack.

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
    seed : int
        The same seed gives the same answer.
    progress, stop : callable, optional
        Told the share done, 0 to 1; asked whether to give up.

    Raises
    ------
    InputError
        If the outline or the steel is no clean area.
    Cancelled
        If `stop` said so.
    """
    region = UsableRegion(shape)
    _check(outline)
    report = Report(progress, stop)
    scale = 1.0 if start is None else start.scale
    bound = upper_bound_mm(outline, shape, scale=scale)
    poses = []
    if start is not None and (mirror or not start.mirrored):
        poses = [start, settle(outline, shape, start, flaws=flaws).pose]
    parts = shapely.get_parts(shape)
    for number, part in enumerate(parts):
        report.between(number / len(parts), (number + 1) / len(parts))
        fitting = Fitting(outline, part, cell_mm=SEARCH_CELL_MM, scale=scale, flaws=flaws)
        poses += _best_in_part(fitting, scale, mirror, seed, report)
    best, clearance = _roomiest_of(poses, outline, region, flaws)
    if clearance.value_mm < 0.0 and (region.holes or flaws):
        poses += _moved_off(poses, outline, list(parts), flaws, scale, report)
        best, clearance = _roomiest_of(poses, outline, region, flaws)
    report.between(0.0, 1.0)(1.0)
    return Placement(
        pose=best,
        clearance=clearance,
        upper_bound_mm=max(bound, clearance.value_mm),
        proven=bound - clearance.value_mm <= PROVEN_GAP_MM,
    )


def largest(
    outline: Polygon,
    shape: Polygon | MultiPolygon,
    *,
    margin_mm: float,
    mirror: bool = True,
    seed: int = 0,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Placement:
    """Return the greatest scale, with a pose, at which the outline keeps the margin.

    Poses are looked for at half the scale that cannot be exceeded, and each is grown as far as it
    goes. Then again at a scale a little above the best one, where only what is roomier elsewhere
    still shows, until nothing grows further.

    Parameters
    ----------
    outline, shape, mirror, seed, progress, stop
        As for `roomiest`; the outline's own size is scale 1.
    margin_mm : float
        The clearance to keep, >= 0.

    Raises
    ------
    InputError
        If the outline or the steel is no clean area, or the margin is negative.
    FitError
        If the margin leaves no place for any size.
    Cancelled
        If `stop` said so.
    """
    if not margin_mm >= 0.0:
        raise InputError(f"a margin of {margin_mm} mm.", where="Margin", remedy="Give 0 or more.")
    _check(outline)
    region = UsableRegion(shape)
    parts = shapely.get_parts(shape)
    limits = [scale_bound(outline, part, margin_mm=margin_mm) for part in parts]
    limit = max(limits)
    report = Report(progress, stop)
    found = []
    for number, (part, most) in enumerate(zip(parts, limits, strict=True)):
        report.between(number / len(parts), (number + 1) / len(parts))
        if most > 0.0:
            fitting = Fitting(outline, part, cell_mm=SEARCH_CELL_MM, scale=most / 2.0)
            tell = report.within(0.0, 1.0)
            pose = grown_pose(fitting, margin_mm, most / 2.0, mirror=mirror, seed=seed, tell=tell)
            found.append(trimmed(fitting, region, pose, margin_mm))
    report.between(0.0, 1.0)(1.0)
    best = max((pose for pose in found if pose), key=lambda pose: pose.scale, default=None)
    if best is None:
        raise FitError(
            f"with a margin of {margin_mm:g} mm no size of the outline fits.",
            where="Margin",
            remedy="Give a smaller margin, or another piece.",
        )
    clearance = region.clearance(best.shape(outline))
    return Placement(
        pose=best,
        clearance=clearance,
        upper_bound_mm=max(upper_bound_mm(outline, shape, scale=best.scale), clearance.value_mm),
        proven=limit <= best.scale * (1.0 + PROVEN_GROWTH),
        upper_bound_scale=max(limit, best.scale),
    )


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
    _check(outline)
    region = UsableRegion(shape)
    place = pose.shape(outline)
    part = min(shapely.get_parts(shape), key=lambda one: shapely.difference(place, one).area)
    found, areas = [pose], [*region.holes, *flaws]
    for over_mm in (0.0, OVER_MM):
        fitting = Fitting(
            outline, part, cell_mm=SETTLE_CELL_MM, scale=pose.scale, flaws=flaws, over_mm=over_mm
        )
        found.append(roomier(fitting, found[-1])[0])
        settled, after = max(
            ((each, region.clearance(each.shape(outline))) for each in found),
            key=lambda one: worth_mm(one[1].value_mm, one[0].shape(outline), areas),
        )
        if after.value_mm >= 0.0 or not areas:
            break
    return Placement(pose=settled, clearance=after, upper_bound_mm=math.inf, proven=False)


def _best_in_part(
    fitting: Fitting, scale: float, mirror: bool, seed: int, report: Report
) -> list[Pose]:
    """Return where the climbs from all promising poses in one part of the steel end."""
    starts = promising_poses(
        fitting,
        mirror=mirror,
        count=CANDIDATES,
        seed=seed,
        scale=scale,
        each_round=report.within(0.0, 0.6),
    )
    tell = report.within(0.6, 1.0)
    ends = []
    for number, pose in enumerate(starts):
        tell(number / len(starts))
        ends.append(roomier(fitting, pose)[0])
    return ends


def _moved_off(
    poses: Sequence[Pose],
    outline: Polygon,
    parts: Sequence[Polygon],
    flaws: Sequence[Polygon],
    scale: float,
    report: Report,
) -> list[Pose]:
    """Return the roomiest poses near some that are clear of holes and flaws, as far as they are."""
    found: list[Pose] = []
    for part in parts:
        fitting = Fitting(
            outline, part, cell_mm=SEARCH_CELL_MM, scale=scale, flaws=flaws, over_mm=OVER_MM
        )
        for pose in poses:
            report.between(0.99, 1.0)(len(found) / (len(parts) * len(poses)))
            found.append(roomier(fitting, pose)[0])
    return found


def _roomiest_of(
    poses: list[Pose], outline: Polygon, region: UsableRegion, flaws: Sequence[Polygon]
) -> tuple[Pose, Clearance]:
    """Return the pose that is worth most, and its exact clearance.

    Where turning the outline over gains nothing worth having, it is not turned over.
    """
    found, areas = [], [*region.holes, *flaws]
    for pose in poses:
        time.sleep(0)  # each is one long call: the window's thread gets a turn between them
        blank = pose.shape(outline)
        clearance = region.clearance(blank)
        found.append((pose, clearance, worth_mm(clearance.value_mm, blank, areas)))
    most_mm = max(worth for _, _, worth in found)
    as_good = [one for one in found if one[2] >= most_mm - WORTH_TURNING_MM]
    pose, clearance, _ = max(as_good, key=lambda one: (not one[0].mirrored, one[2]))
    return pose, clearance


def _check(outline: Polygon) -> None:
    if outline.is_empty or not outline.is_valid:
        raise InputError(
            f"the outline is no clean area ({explain_validity(outline)}).",
            where="Outline",
            remedy="Mend it so that it does not cross itself.",
        )

"""Where an outline fits best in a piece of steel, and how large it may be."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, Polygon
from shapely.validation import explain_validity

from geometry.bounds import upper_bound_mm
from geometry.clearance import Clearance, UsableRegion
from geometry.contacts import Fitting
from geometry.errors import Cancelled, InputError
from geometry.local_fit import roomier
from geometry.pose import Pose
from geometry.pose_search import promising_poses

Progress = Callable[[float], None]
Stop = Callable[[], bool]

SEARCH_CELL_MM = 0.5
SETTLE_CELL_MM = 2.0  # nothing is searched on it: it only names the near edges
CANDIDATES = 30  # climbed
CANDIDATES_CHECKED = 6  # measured exactly: the climbs measure crossings roughly
PROVEN_GAP_MM = 0.02


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
    mirror: bool = True,
    start: Pose | None = None,
    seed: int = 0,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Placement:
    """Return the pose of greatest clearance over the whole piece, all angles, both faces.

    The best of many local searches: the bound says whether anything better is possible.

    Parameters
    ----------
    outline : shapely.Polygon
        The outline in its own frame, mm; its holes do not count.
    shape : shapely.Polygon or shapely.MultiPolygon
        The usable steel, mm.
    mirror : bool
        Whether the outline may be turned over.
    start : Pose, optional
        A pose to start from as well; the answer has at least its clearance.
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
    report = _Report(progress, stop)
    bound = upper_bound_mm(outline, shape)
    found = [] if start is None else [start, settle(outline, shape, start).pose]
    parts = shapely.get_parts(shape)
    for number, part in enumerate(parts):
        report.between(number / len(parts), (number + 1) / len(parts))
        found += _best_in_part(outline, part, mirror, seed, report)
    report.between(0.0, 1.0)(1.0)
    best = max(found, key=lambda pose: region.clearance(pose.shape(outline)).value_mm)
    clearance = region.clearance(best.shape(outline))
    return Placement(
        pose=best,
        clearance=clearance,
        upper_bound_mm=max(bound, clearance.value_mm),
        proven=bound - clearance.value_mm <= PROVEN_GAP_MM,
    )


def settle(outline: Polygon, shape: Polygon | MultiPolygon, pose: Pose) -> Placement:
    """Return the locally roomiest pose near a pose, its scale and face kept; never a worse one.

    No bound is worked out: this is for the button under the hand.
    """
    _check(outline)
    region = UsableRegion(shape)
    before = region.clearance(pose.shape(outline))
    place = pose.shape(outline)
    part = min(shapely.get_parts(shape), key=lambda one: shapely.difference(place, one).area)
    settled, _ = roomier(Fitting(outline, part, cell_mm=SETTLE_CELL_MM), pose)
    after = region.clearance(settled.shape(outline))
    if after.value_mm <= before.value_mm:
        settled, after = pose, before
    return Placement(pose=settled, clearance=after, upper_bound_mm=math.inf, proven=False)


def _best_in_part(
    outline: Polygon, part: Polygon, mirror: bool, seed: int, report: _Report
) -> list[Pose]:
    """Return the best few poses of the search in one part of the steel."""
    fitting = Fitting(outline, part, cell_mm=SEARCH_CELL_MM)
    poses = promising_poses(
        fitting, mirror=mirror, count=CANDIDATES, seed=seed, each_round=report.within(0.0, 0.6)
    )
    tell = report.within(0.6, 1.0)
    climbed = []
    for number, pose in enumerate(poses):
        tell(number / len(poses))
        climbed.append(roomier(fitting, pose))
    climbed.sort(key=lambda one: -one[1])
    return [pose for pose, _ in climbed[:CANDIDATES_CHECKED]]


def _check(outline: Polygon) -> None:
    if outline.is_empty or not outline.is_valid:
        raise InputError(
            f"the outline is no clean area ({explain_validity(outline)}).",
            where="Outline",
            remedy="Mend it so that it does not cross itself.",
        )


class _Report:
    """Tells how far the work is, hears whether to stop, and lets the window breathe."""

    def __init__(self, progress: Progress | None, stop: Stop | None) -> None:
        self._progress, self._stop = progress, stop
        self._first, self._last = 0.0, 1.0

    def between(self, first: float, last: float) -> Progress:
        """Set the share of the whole work that is counted from here on."""
        self._first, self._last = first, last
        return self.within(0.0, 1.0)

    def within(self, first: float, last: float) -> Progress:
        """Return what to call with the share done of one stretch of that work."""
        span = self._last - self._first

        def tell(share: float) -> None:
            time.sleep(0)  # short calls one after another would keep the window's thread waiting
            if self._stop is not None and self._stop():
                raise Cancelled("the search was stopped.")
            if self._progress is not None:
                self._progress(self._first + span * (first + (last - first) * share))

        return tell

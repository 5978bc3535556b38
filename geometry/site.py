"""A piece of steel made ready for many searches: of poses, of sizes, of changed outlines."""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, Polygon
from shapely.validation import explain_validity

from geometry.clearance import UsableRegion
from geometry.contacts import Fitting
from geometry.disc_gaps import DiscGaps, OutlineDiscs
from geometry.errors import Cancelled, InputError
from geometry.local_fit import roomier
from geometry.no_steel import NoSteel
from geometry.pose import Pose
from geometry.pose_proof import Best, PoseSearch, Proof
from geometry.report import LONG_SECONDS, Report

OUTLINE_SLACK_MM, STEEL_SLACK_MM = 0.010, 0.015  # of the discs; both widen the gap of a proof
SLACK_PER_RIM = 2e-4  # finer for a small outline
GAP_MM = 0.04
CLIMB_CELL_MM = 4.0  # climbs start near their end: a coarse field names the same edges
CLIMB_TRUST_MM = 0.3
STARTS = 0.2  # of the work
LEAST_CLIMBED_MM = -2.0  # a pose that sticks out more is left as the discs have it


def profile_of(outline: Polygon) -> Polygon:
    """Return an outline without its holes.

    Raises
    ------
    InputError
        If the outline is no clean area.
    """
    if outline.is_empty or not outline.is_valid:
        raise InputError(
            f"the outline is no clean area ({explain_validity(outline)}).",
            where="Outline",
            remedy="Mend it so that it does not cross itself.",
        )
    return Polygon(outline.exterior)


class Target:
    """An outline made ready for searches at any scale.

    Parameters
    ----------
    outline : shapely.Polygon
        In its own frame, mm; its holes do not count.
    slack_per_disc : float, optional
        How far the discs may stay from its edge, per radius of its largest; else what suits the
        gap of 0.04 mm.

    Raises
    ------
    InputError
        If the outline is no clean area.
    """

    def __init__(self, outline: Polygon, *, slack_per_disc: float | None = None) -> None:
        self.outline = profile_of(outline)
        rim_mm = float(shapely.minimum_bounding_radius(self.outline))
        self.slack_mm = min(OUTLINE_SLACK_MM, SLACK_PER_RIM * rim_mm)
        if slack_per_disc is not None:
            self.slack_mm = slack_per_disc * float(
                shapely.maximum_inscribed_circle(self.outline, tolerance=rim_mm / 100.0).length
            )
        self.discs = OutlineDiscs(self.outline, slack_mm=self.slack_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a search over all parts came to.

    Parameters
    ----------
    best : Best or None
        The best pose found, and its exact clearance; None where no box was worth a climb.
    bound_mm : float
        No pose has a greater clearance.
    boxes : int
        Boxes of poses looked at.
    closed : bool
        Whether no box was left open.
    open_scale : float
        The greatest scale of a box left open; 0 if none was.
    """

    best: Best | None
    bound_mm: float
    boxes: int
    closed: bool
    open_scale: float = 0.0


class Site:
    """Usable steel, its parts made ready when they are first asked for.

    Parameters
    ----------
    shape : shapely.Polygon or shapely.MultiPolygon
        The usable steel, mm.
    slack_mm : float
        How far the discs outside may stay from its edge.

    Raises
    ------
    InputError
        If the steel is no clean area.
    """

    def __init__(self, shape: Polygon | MultiPolygon, *, slack_mm: float = STEEL_SLACK_MM) -> None:
        self._slack_mm = slack_mm
        self.region = UsableRegion(shape)
        self.parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
        self._no_steel: dict[int, NoSteel] = {}
        self._fitted: tuple[Target, int, float] | None = None
        self._fitting_made: Fitting

    def search(
        self,
        target: Target,
        report: Report,
        *,
        mirror: bool,
        scales: tuple[float, float] = (1.0, 1.0),
        start: Pose | None = None,
        gap_mm: float = GAP_MM,
        enough_mm: float | None = None,
        seconds: float = LONG_SECONDS,
    ) -> Answer:
        """Search all parts for the roomiest pose, or for any pose with enough room.

        Parameters
        ----------
        target : Target
            The outline.
        report : Report
            Told how far the search is; a stop ends it like the time.
        mirror, scales
            Whether the outline may be turned over; its least and greatest scale.
        start : Pose, optional
            A pose of such a scale that is known already.
        gap_mm : float
            How far the bound may lie above the best pose.
        enough_mm : float, optional
            Only asks whether any pose has so much: then the first one found ends the search.
        seconds : float
            The time after which it ends with the bound that it has.
        """
        deadline = time.monotonic() + seconds
        best = None if start is None else self._as_it_lies(target, start)
        searches: list[PoseSearch] = []
        count = len(self.parts)
        for number in range(count):
            search = self._searcher(target, number, mirror, scales, gap_mm, enough_mm)
            tell = report.within(STARTS * number / count, STARTS * (number + 1) / count)
            try:
                search.start(best, tell)
            except Cancelled:
                if search.best is None:
                    raise
                return Answer(
                    best=search.best,
                    bound_mm=math.inf,
                    boxes=0,
                    closed=False,
                    open_scale=scales[1],
                )
            best = search.best
            searches.append(search)
            if search.found_enough():
                return Answer(best=best, bound_mm=math.inf, boxes=0, closed=True)
        proofs: list[Proof] = []
        for number, search in enumerate(searches):
            search.best = best
            first, last = (STARTS + (1.0 - STARTS) * n / count for n in (number, number + 1))
            proofs.append(search.prove(deadline, report.within(first, last)))
            best = proofs[-1].best
        return Answer(
            best=best,
            bound_mm=max(proof.bound_mm for proof in proofs),
            boxes=sum(proof.boxes for proof in proofs),
            closed=all(proof.closed for proof in proofs),
            open_scale=max(proof.open_scale for proof in proofs),
        )

    def fitting(self, target: Target, pose: Pose) -> Fitting:
        """Return what climbs and slides from a pose that lies in the steel."""
        number = next(n for n, part in enumerate(self.parts) if part is self.part_of(target, pose))
        return self._fitting(target, number, pose.scale)

    def part_of(self, target: Target, pose: Pose) -> Polygon:
        """Return the part of the steel that an outline in a pose lies in, or lies in most."""
        place = pose.shape(target.outline)
        return min(self.parts, key=lambda part: shapely.difference(place, part).area)

    def _fitting(self, target: Target, number: int, scale: float) -> Fitting:
        if (target, number, scale) != self._fitted:
            part = self.parts[number]
            self._fitting_made = Fitting(target.outline, part, cell_mm=CLIMB_CELL_MM, scale=scale)
            self._fitted = (target, number, scale)
        return self._fitting_made

    def _as_it_lies(self, target: Target, pose: Pose) -> Best:
        clearance = self.region.clearance(pose.shape(target.outline))
        return Best(pose=pose, value_mm=clearance.value_mm)

    def _searcher(
        self,
        target: Target,
        number: int,
        mirror: bool,
        scales: tuple[float, float],
        gap_mm: float,
        enough_mm: float | None,
    ) -> PoseSearch:
        if number not in self._no_steel:
            self._no_steel[number] = NoSteel(self.parts[number], slack_mm=self._slack_mm)

        def measure(pose: Pose) -> Best:
            lies = self._as_it_lies(target, pose)
            if lies.value_mm < LEAST_CLIMBED_MM:
                return lies
            fitting = self._fitting(target, number, scales[1])
            climbed = roomier(fitting, pose, trust_mm=CLIMB_TRUST_MM)[0]
            # Where the outline sticks out the climb measures roughly, and may end lower.
            return max(lies, self._as_it_lies(target, climbed), key=lambda one: one.value_mm)

        return PoseSearch(
            DiscGaps(target.discs, self._no_steel[number]),
            measure,
            mirror=mirror,
            scales=scales,
            gap_mm=gap_mm,
            enough_mm=enough_mm,
        )

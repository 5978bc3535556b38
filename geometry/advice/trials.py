"""Outlines tried on one piece of steel: quick climbs first, decisions where those do not tell."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import shapely
from shapely import Polygon

from geometry.advice.model import Values
from geometry.clearance import Clearance
from geometry.contacts import Fitting
from geometry.decision import FitAnswer, fits
from geometry.errors import Cancelled, InputError
from geometry.local_fit import roomier
from geometry.pose import Pose
from geometry.pose_proof import Best
from geometry.report import Report
from geometry.site import CLIMB_CELL_MM, Site, Target

SAME_MM = 1e-6

OutlineAt = Callable[[Mapping[str, float]], Polygon]


@dataclass(slots=True, kw_only=True)
class Tried:
    """What is known of an outline: its best pose, and whether it fits if that is known."""

    outline: Polygon | None  # its edge; None: cannot be drawn
    best: Best | None = None
    answer: FitAnswer | None = None


class Trials:
    """Tries values on a piece of steel, each once.

    Parameters
    ----------
    site : Site
        The steel.
    outline_at : callable
        Gives the outline for all values by key; InputError where they do not go together.
    present : mapping of str to float
        All values as they are.
    known : Best
        The best pose known of the outline as it is: climbs start there. Its scale is kept.
    margin_mm, mirror
        The clearance to keep, and whether the outline may be turned over.
    report : Report
        Asked whether to stop.
    seconds, most_decisions : float, int
        When it is over.
    """

    def __init__(
        self,
        site: Site,
        outline_at: OutlineAt,
        present: Mapping[str, float],
        known: Best,
        *,
        margin_mm: float,
        mirror: bool,
        report: Report,
        seconds: float,
        most_decisions: int,
    ) -> None:
        self._site, self._outline_at, self.present = site, outline_at, dict(present)
        self._start, self.margin_mm, self._mirror = known.pose, margin_mm, mirror
        self._report, self._most = report, most_decisions
        self._deadline = time.monotonic() + seconds
        self.decisions = 0
        self.cut_short = False
        self._tried: dict[Values, Tried] = {(): Tried(outline=self._outline(()))}
        self._take(self._tried[()], known)

    def drawn(self, values: Values) -> Tried:
        """Return what is known of some values; at least whether they can be drawn."""
        if values not in self._tried:
            self._tried[values] = Tried(outline=self._outline(values))
        return self._tried[values]

    def _outline(self, values: Values) -> Polygon | None:
        try:
            outline = self._outline_at({**self.present, **dict(values)})
        except InputError:
            return None
        return Polygon(outline.exterior) if outline.is_valid else None

    def climbed(self, values: Values, near: Pose | None = None) -> Tried:
        """Return it with the best pose that climbs lead to, if there is time.

        They start from the pose of the outline as it is, and from one more where it is told.
        """
        self._check_stop()
        tried = self.drawn(values)
        for start, asked in ((self._start, tried.best is None), (near, tried.answer is None)):
            if tried.outline is None or start is None or not asked or self.out_of_time():
                continue
            self._take(tried, self._climb(tried.outline, start))
        return tried

    def decided(self, values: Values) -> Tried:
        """Return it decided by a search of the whole steel, or undecided where it is over."""
        tried = self.climbed(values)
        if tried.answer is not None or tried.outline is None or self.over():
            return tried
        self.decisions += 1
        decision = fits(
            self._site,
            Target(tried.outline),
            self.margin_mm,
            mirror=self._mirror,
            report=Report(None, self._report.stop),
            scale=self._start.scale,
            start=None if tried.best is None else tried.best.pose,
        )
        self._check_stop()
        if decision.best is not None:
            self._take(tried, decision.best)
        tried.answer = decision.answer
        return tried

    def over(self) -> bool:
        """Return whether no time or no decision is left; then what is asked for is cut short."""
        over = self.decisions >= self._most or self.out_of_time()
        self.cut_short = self.cut_short or over
        return over

    def out_of_time(self) -> bool:
        """Return whether no time is left for anything."""
        out = time.monotonic() > self._deadline
        self.cut_short = self.cut_short or out
        return out

    def same_edge(self, values: Values) -> bool:
        """Return whether values leave the outline's edge as it is."""
        tried, present = self.drawn(values).outline, self.drawn(()).outline
        if tried is None or present is None:
            return False
        return bool(shapely.equals_exact(tried, present, tolerance=SAME_MM))

    def placed(self, values: Values) -> tuple[Pose, Clearance]:
        """Return the best pose known of values that were tried, and its exact clearance."""
        tried = self._tried[values]
        assert tried.outline is not None
        assert tried.best is not None
        pose = tried.best.pose
        return pose, self._site.region.clearance(pose.shape(tried.outline))

    def as_is(self, values: Values) -> Values:
        """Return the same measures as they are."""
        return tuple((key, self.present[key]) for key, _ in values)

    def _take(self, tried: Tried, found: Best) -> None:
        if tried.best is None or found.value_mm > tried.best.value_mm:
            tried.best = found
        if tried.best.value_mm >= self.margin_mm:
            tried.answer = "fits"

    def _climb(self, outline: Polygon, start: Pose) -> Best:
        place = start.shape(outline)
        part = min(self._site.parts, key=lambda one: shapely.difference(place, one).area)
        fitting = Fitting(outline, part, cell_mm=CLIMB_CELL_MM, scale=start.scale)
        found = [start, roomier(fitting, start)[0]]
        values = [self._site.region.clearance(one.shape(outline)).value_mm for one in found]
        best = max(range(len(found)), key=values.__getitem__)
        return Best(pose=found[best], value_mm=values[best])

    def _check_stop(self) -> None:
        time.sleep(0)  # the window's thread gets a turn
        if self._report.stop is not None and self._report.stop():
            raise Cancelled("the search was stopped.")

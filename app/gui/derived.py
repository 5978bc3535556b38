"""What follows from the job, worked out once for each value and kept while it stays the same."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from app.document.flow import (
    Layout,
    billet_of,
    chosen_outline,
    claim_of,
    layout_at,
    usable_region,
)
from app.document.job import Job, OutlineChoice
from app.gui.told_thickness import of_thickness_told
from geometry.billet import Billet
from geometry.clearance import UsableRegion
from geometry.editing import Claim
from geometry.errors import ToolError
from geometry.outline import Outline
from geometry.pose import Pose

if TYPE_CHECKING:
    from calibration.capture import Capture
    from geometry.placement import Placement


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Best:
    """The best place that a search found, and for what."""

    billet: Billet | None
    choice: OutlineChoice
    mirror_allowed: bool
    placement: Placement


class Derived:
    """Keeps the outline, the usable steel and the search results of the job at hand."""

    def __init__(self) -> None:
        self._choice: OutlineChoice | None = None
        self._outline: Outline | None = None
        self._steel_of: tuple[object, ...] = ()
        self._steel: Billet | None = None
        self._steel_trouble: ToolError | None = None
        self._claim: Claim | None = None
        self._region_of: Billet | None = None
        self._region: UsableRegion | None = None
        self._layout_of: tuple[object, ...] = ()
        self._layout: Layout | None = None
        self._capture: tuple[str, bytes, Capture] | None = None
        self._fingerprint_of: tuple[object, ...] = ()
        self._fingerprint = ""
        self._best: Best | None = None
        self.exported: Job | None = None
        self.settled: OutlineChoice | None = None  # what the person took in the step Outline

    def outline(self, job: Job) -> Outline:
        """Return the outline that the job chose; InputError when its values do not go together."""
        if self._outline is None or job.outline is not self._choice:
            self._outline = chosen_outline(job.outline)
            self._choice = job.outline
        return self._outline

    def keep_outline(self, choice: OutlineChoice, outline: Outline) -> None:
        """Remember the outline of a choice that is about to be the job's."""
        self._choice, self._outline = choice, outline

    def billet(self, job: Job) -> Billet | None:
        """Return the piece as changed by hand; None without one, or where a change cannot be."""
        self._work_out_steel(job)
        return self._steel

    def billet_trouble(self, job: Job) -> ToolError | None:
        """Return why what was changed by hand cannot be changed on the piece at hand, if so."""
        self._work_out_steel(job)
        return self._steel_trouble

    def claim(self, job: Job) -> Claim | None:
        """Return where changes by hand claim most steel beyond what was measured, if anywhere."""
        self._work_out_steel(job)
        return self._claim

    def _work_out_steel(self, job: Job) -> None:
        facts = (job.billet, job.edits)
        if len(self._steel_of) == 2 and all(
            a is b for a, b in zip(facts, self._steel_of, strict=True)
        ):
            return
        self._steel, self._steel_trouble, self._claim = None, None, None
        self._steel_of = facts
        if job.billet is None:
            return
        try:
            self._steel, self._claim = billet_of(job), claim_of(job)
        except ToolError as error:
            self._steel_trouble = error

    def region(self, billet: Billet) -> UsableRegion:
        """Return where a blank may lie."""
        if self._region is None or billet is not self._region_of:
            self._region = usable_region(billet)
            self._region_of = billet
        return self._region

    def pose(self, job: Job) -> Pose | None:
        """Return where the blank lies; before it was placed, along the middle of the steel."""
        billet = self.billet(job)
        if job.pose is not None or billet is None:
            return job.pose
        return starting_pose(self.outline(job), billet)

    def layout(self, job: Job) -> Layout | None:
        """Return how the blank fits where it is shown; None without steel."""
        pose = self.pose(job)
        billet = self.billet(job)
        if billet is None or pose is None:
            return None
        facts = (billet, self.outline(job), pose, job.margin_mm)
        if self._layout is None or facts != self._layout_of:
            region = self.region(billet)
            self._layout = layout_at(self.outline(job), billet, region, pose, job.margin_mm)
            self._layout_of = facts
        return self._layout

    def keep_capture(self, job: Job, capture: Capture) -> None:
        """Remember what was measured from the photo facts as they stand."""
        assert job.photo is not None
        self._capture = (self.fingerprint(job), job.photo.data, capture)

    def capture(self, job: Job) -> Capture | None:
        """Return the measure of the photo facts as they stand, if it was taken."""
        if self._capture is None or self._capture[0] != self.fingerprint(job):
            return None
        return of_thickness_told(self._capture[2], job)

    def last_capture(self, job: Job) -> Capture | None:
        """Return the last measure of the job's photo, though something else is told by now."""
        if self._capture is None or job.photo is None or job.photo.data is not self._capture[1]:
            return None
        return self.capture(job) or self._capture[2]

    def fingerprint(self, job: Job) -> str:
        """Return the job's measure fingerprint; the photo is read through once, not each time."""
        facts = (job.photo, job.thickness_mm)
        if not self._fingerprint_of or any(
            a is not b for a, b in zip(facts, self._fingerprint_of, strict=True)
        ):
            self._fingerprint = job.measure_fingerprint()
            self._fingerprint_of = facts
        return self._fingerprint

    def measure_is_current(self, job: Job) -> bool:
        """Return whether the billet follows from the photo facts as they stand."""
        return job.billet is not None and job.measured_from == self.fingerprint(job)

    def keep_best(self, job: Job, placement: Placement) -> None:
        """Remember the roomiest place of the job's blank."""
        self._best = Best(
            billet=self.billet(job),
            choice=job.outline,
            mirror_allowed=job.mirror_allowed,
            placement=placement,
        )

    def best(self, job: Job) -> Placement | None:
        """Return the roomiest place that was found for this blank on this steel, at full size."""
        best = self._best
        if best is None or best.billet is not self.billet(job) or best.choice != job.outline:
            return None
        pose = job.pose
        same_size = pose is None or pose.scale == best.placement.pose.scale
        same_rule = best.mirror_allowed == job.mirror_allowed
        return best.placement if same_size and same_rule else None


def starting_pose(outline: Outline, billet: Billet) -> Pose:
    """Return a pose along the long side of the steel, middle on middle."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(billet.shape))[:3]
    sides = np.diff(corners, axis=0)
    dx, dy = sides[int(np.argmax(np.hypot(*sides.T)))].tolist()
    theta = math.atan2(dy, dx)
    if not -math.pi / 2 < theta <= math.pi / 2:
        theta += math.pi
    lying = Pose(theta_rad=theta)
    middle = lying.shape(outline.polygon(0.5)).envelope.centroid
    target = shapely.minimum_rotated_rectangle(billet.shape).centroid
    return replace(lying, x_mm=target.x - middle.x, y_mm=target.y - middle.y)

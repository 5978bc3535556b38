"""The layout step: move the blank by hand, by number or by search."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtWidgets import QWidget

from app.document.flow import largest_for, placed, roomiest_for, settled
from app.document.job import Job
from app.document.wording import rough
from app.gui.canvas.handles import scaled_about
from app.gui.canvas.layout_scene import LayoutScene
from app.gui.panels.layout import NUDGE_MM, LayoutPanel
from app.gui.rail import Step
from app.gui.steps.giving import Giving
from app.gui.steps.step import Desk, StepAtHand
from app.gui.worker import Progress, Stop
from geometry.errors import ToolError
from geometry.pose import Pose
from geometry.verdict import Verdict

if TYPE_CHECKING:
    from geometry.placement import Placement

A = TypeVar("A")

ROOM = 0.1  # for handles and callout round the steel
ASKED_OF = ("billet", "edits", "outline", "margin_mm", "mirror_allowed", "locked")
NUDGE_DEG, LARGE = 0.1, 10.0
TURNED = "The roomiest place found has the other face up: the blank was turned over."
TURNED_BACK = "The roomiest place found has the first face up again: the blank was turned back."
TUCKED = (
    "It could slide with equal room: it lies at the end that leaves the largest rest. "
    "Drag it elsewhere, and the foot says that the room is the same."
)


class LayoutStep(StepAtHand):
    """Joins the layout and its panel."""

    def __init__(self, desk: Desk) -> None:
        self.panel = LayoutPanel()
        super().__init__(desk, Step.LAYOUT, self.panel)
        self.scene = LayoutScene()
        self._gesture = -1
        self._asked: Job | None = None  # what the search at work is for
        self._asked_from: QWidget | None = None
        self._giving = Giving(self)
        panel, scene = self.panel, self.scene
        panel.roomiest_asked.connect(self.find_roomiest)
        panel.settle_asked.connect(self.settle)
        panel.largest_asked.connect(self.find_largest)
        panel.waiting.stopped.connect(self._stop)
        panel.placed.connect(self._place_by_number)
        panel.mirrored.connect(self._mirror)
        panel.unlocked.connect(self._unlock)
        panel.turning_over_allowed.connect(self._allow_turning_over)
        panel.margin_told.connect(self._tell_margin)
        scene.grabbed.connect(self._grabbed)
        scene.dragged.connect(self._dragged)
        desk.document.changed.connect(self._end_stale_search)
        desk.bench.view.viewed.connect(self._viewed)
        desk.bench.view.nudged.connect(self._nudged)

    def enter(self) -> None:
        """Show the layout."""
        self.desk.bench.show_scene(self.scene, in_mm=True, gaps=self.job.billet is not None)
        self.refresh()
        self.desk.bench.view.fit(self.scene.content, room=ROOM)

    @property
    def first(self) -> QWidget:
        """The search is what comes first here."""
        return self.panel.roomiest

    def refresh(self, *, afresh: bool = False) -> None:
        """Redraw blank, gap and numbers."""
        job = self.job
        try:
            layout = self.desk.derived.layout(job)
            pose = self.desk.derived.pose(job)
        except ToolError as error:
            layout, pose = None, None
            self.complain(error)
        fits = layout is not None and layout.verdict is Verdict.FITS
        self.panel.show_job(job, pose, found=fits and job.pose is not None, fits=fits)
        self._giving.show()
        other = self.scene.show_layout(job, self.desk.derived.billet(job), layout, afresh=afresh)
        self.desk.bench.legend.setVisible(layout is not None)
        if other:
            self.desk.bench.view.fit(self.scene.content, room=ROOM)
        self._tell_view()

    def finish(self) -> None:
        """Take the place where the blank is shown, if none was chosen."""
        job = self._with_pose()
        if job is not None:
            self.desk.document.change(job, "Place the blank")

    def find_roomiest(self) -> None:
        """Search the place with most room on the worker."""
        self.search(roomiest_for, self._take_roomiest)

    def find_largest(self) -> None:
        """Search the largest size that keeps the margin on the worker."""
        self.search(largest_for, self._take_largest)

    def settle(self) -> None:
        """Move to the roomiest place near by."""

        def search(job: Job, *, progress: Progress, stop: Stop) -> Placement:
            return settled(job)

        self.search(search, self._take_settled)

    def search(self, search: Callable[..., A], take: Callable[[Job, A], None]) -> None:
        """Work on the worker at what takes long, and take its answer."""
        job = self._with_pose()
        if job is None:
            return
        self._asked = job
        self.panel.say("")
        self._asked_from = self.desk.window.focusWidget()
        self.panel.waiting.begin()
        self.panel.waiting.stop_button.setFocus()
        self.panel.show_busy(True, able=True)
        self.desk.worker.start(
            lambda progress, stop: search(job, progress=progress, stop=stop),
            done=lambda found: self._found(found, take),
            failed=self._failed,
            progressed=self.panel.waiting.show_share,
            lane="search",
        )

    def _with_pose(self) -> Job | None:
        """Return the job with the blank where it is shown."""
        pose = self.desk.derived.pose(self.job)
        return None if pose is None else replace(self.job, pose=pose)

    def _found(self, found: A, take: Callable[[Job, A], None]) -> None:
        """Take an answer."""
        self._end_search()
        take(self.job, found)
        self.refresh()

    def _end_stale_search(self) -> None:
        """Stop a search whose steel, outline or rules are no longer the job's."""
        asked, job = self._asked, self.job
        if asked is None or not self.desk.worker.is_busy("search"):
            return
        if any(getattr(asked, fact) != getattr(job, fact) for fact in ASKED_OF):
            self._stop()
            self.panel.say("The job changed, so the search was stopped. Start it again.")

    def _take_roomiest(self, job: Job, placement: Placement) -> None:
        self.desk.derived.keep_best(job, placement)
        before = self.desk.derived.pose(job)
        self.desk.document.change(placed(job, placement), "Find the roomiest place")
        if before is not None and before.mirrored != placement.pose.mirrored:
            over = TURNED if placement.pose.mirrored else TURNED_BACK
            self.panel.say(over, good=True)
        elif placement.tucked:
            self.panel.say(TUCKED, good=True)
        self.standing_changed.emit()

    def _take_settled(self, job: Job, placement: Placement) -> None:
        self.desk.document.change(placed(job, placement), "Settle here")

    def _take_largest(self, job: Job, placement: Placement) -> None:
        unlocked = replace(placed(job, placement), size_locked=False)
        self.desk.document.change(unlocked, "Find the largest size")
        size = f"{100 * placement.pose.scale:.1f} %"
        self.panel.say(
            f"The largest size that surely keeps {rough(job.margin_mm, job.unit)} is {size}. "
            "Drilled holes keep their size.",
            good=True,
        )

    def _failed(self, error: Exception) -> None:
        self._end_search()
        self.complain(error)

    def _stop(self) -> None:
        self.desk.worker.cancel("search")
        self._end_search()

    def _end_search(self) -> None:
        self.panel.show_busy(False, able=self.desk.derived.pose(self.job) is not None)
        focused = self.panel.waiting.stop_button.hasFocus()
        self.panel.waiting.end()
        if focused and self._asked_from is not None:
            self._asked_from.setFocus()

    def _set_pose(self, pose: Pose, text: str, gesture: int = -1) -> None:
        self.panel.say("")
        if self.desk.worker.is_busy("search"):
            self._stop()
        self.desk.document.change(replace(self.job, pose=pose), text, gesture=gesture)

    def _grabbed(self) -> None:
        self._gesture = self.desk.document.new_gesture()

    def _dragged(self, pose: Pose, text: str) -> None:
        self._set_pose(pose, text, self._gesture)

    def _nudged(self, across: float, up: float, turn: float, large: bool) -> None:
        pose = self.desk.derived.pose(self.job)
        if pose is None or self.desk.bench.view.scene() is not self.scene:
            return
        far = LARGE if large else 1.0
        if turn:
            moved = pose.turned_about(self._middle(), math.radians(turn * NUDGE_DEG * far))
            self._set_pose(moved, "Turn the blank")
            return
        step = NUDGE_MM * far
        moved = replace(pose, x_mm=pose.x_mm + across * step, y_mm=pose.y_mm + up * step)
        self._set_pose(moved, "Move the blank")

    def _place_by_number(self, key: str, value: float) -> None:
        pose = self.desk.derived.pose(self.job)
        if pose is None:
            return
        if key == "angle_deg":
            turn = math.radians(value) - pose.theta_rad
            self._set_pose(pose.turned_about(self._middle(), turn), "Turn the blank")
        elif key == "size_percent":
            factor = value / 100 / pose.scale
            self._set_pose(scaled_about(pose, self._middle(), factor), "Change the size")
        elif key == "x_mm":
            self._set_pose(replace(pose, x_mm=value), "Move the blank")
        else:
            self._set_pose(replace(pose, y_mm=value), "Move the blank")

    def _middle(self) -> tuple[float, float]:
        """Return the middle of the blank where it is shown."""
        layout = self.desk.derived.layout(self.job)
        assert layout is not None
        return layout.blank.centroid.x, layout.blank.centroid.y

    def _mirror(self, mirrored: bool) -> None:
        pose = self.desk.derived.pose(self.job)
        if pose is None or pose.mirrored == mirrored:
            return
        self._set_pose(turned_over(pose, self._middle()), "Turn the blank over")

    def _unlock(self, unlocked: bool) -> None:
        job = replace(self.job, size_locked=not unlocked)
        pose = self.desk.derived.pose(self.job)
        if not unlocked and pose is not None and pose.scale != 1.0:
            job = replace(job, pose=scaled_about(pose, self._middle(), 1.0 / pose.scale))
        text = "Let the size change" if unlocked else "Keep the size"
        self.desk.document.change(job, text)
        self.refresh(afresh=True)

    def _allow_turning_over(self, allowed: bool) -> None:
        self.desk.document.change(
            replace(self.job, mirror_allowed=allowed), "Change the search's rule"
        )

    def _tell_margin(self, margin_mm: float) -> None:
        self.panel.say("")
        self.desk.document.change(replace(self.job, margin_mm=margin_mm), "Change the margin")

    def _viewed(self) -> None:
        if self.desk.bench.view.scene() is self.scene:
            self._tell_view()

    def _tell_view(self) -> None:
        view = self.desk.bench.view
        self.scene.set_view(view.px_a_unit, view.visible_rect())


def turned_over(pose: Pose, middle_mm: tuple[float, float]) -> Pose:
    """Return a pose with the other face up, its middle and its long direction kept.

    The blank is turned about the outline's own length through the middle: with the linear part
    ``R S`` it becomes ``R S diag(1, -1)``, and the middle is held where it was.
    """
    [inside] = pose.back([middle_mm])
    over = replace(pose, mirrored=not pose.mirrored)
    [(x, y)] = over.points([inside]).tolist()
    return replace(over, x_mm=over.x_mm + middle_mm[0] - x, y_mm=over.y_mm + middle_mm[1] - y)

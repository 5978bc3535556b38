"""The outline step: a family and its measures with a live drawing, or a drawing from a file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer

from app.document.flow import chosen_outline
from app.document.job import OutlineChoice, sorted_values
from app.gui.canvas.sheet_scene import SheetScene, draw_hint, draw_outline
from app.gui.errors import sentence_of
from app.gui.panels.outline import OutlinePanel
from app.gui.panels.shaping_page import show_piece
from app.gui.rail import Step
from app.gui.steps.by_hand import ByHand
from app.gui.steps.drawings import Drawings
from app.gui.steps.listing import Listing
from app.gui.steps.marking import Marking
from app.gui.steps.measure_shown import MeasureShown
from app.gui.steps.own_shapes import OwnShapes
from app.gui.steps.step import Begun, Desk, StepAtHand
from app.gui.steps.wheels import Wheels
from geometry.errors import ToolError

if TYPE_CHECKING:
    from geometry.family import Family


class OutlineStep(StepAtHand):
    """Joins the outline and its panel."""

    def __init__(self, desk: Desk) -> None:
        self.panel = OutlinePanel()
        super().__init__(desk, Step.OUTLINE, self.panel)
        self.scene = SheetScene()
        self._gesture = -1
        self._connect_shapes()
        self._add_marking()
        self.by_hand = ByHand(
            desk,
            self.panel,
            self.scene,
            take=self._take,
            complain=self._say_or_clear,
            redraw=self.refresh,
            told=self.standing_changed.emit,
        )
        self.measure = MeasureShown(desk, self.panel, self.scene, self._is_alone)

    def _connect_shapes(self) -> None:
        """Let the panel choose shapes, measures and drawings."""
        panel, desk = self.panel, self.desk
        panel.family_told.connect(self._choose)
        panel.value_told.connect(self._tell_value)
        panel.gesture_began.connect(self._begin_gesture)
        panel.usual_asked.connect(self._take_usual)
        panel.size_told.connect(self._take_size)
        self.drawings = Drawings(desk, take=self._read, say=panel.say)
        panel.open_asked.connect(self.drawings.ask)
        self.wheels = Wheels(desk, panel, self.complain)
        self.listing = Listing(desk, panel, take=self._take, complain=self.complain)
        self.own = OwnShapes(
            desk,
            panel,
            listing=self.listing,
            take=self._take,
            listed=self._list_anew,
            late=self.told.emit,
            complain=self.complain,
        )

    def _add_marking(self) -> None:
        """Let the piece, or a drawing, become the outline by its parts."""
        self.marking = Marking(
            self.desk,
            self.panel,
            self.scene,
            take=self._take,
            complain=self._say_or_clear,
            changed=self._shaping_changed,
            clear=lambda: self.by_hand.turn(False),
        )
        self.shaping = self.marking.shaping

    def _say_or_clear(self, error: Exception | None) -> None:
        """Say what is wrong; None takes away what was said."""
        if error is None:
            self.panel.say("")
        else:
            self.complain(error)

    @property
    def foot(self) -> str:
        """What a click is waited for, while it is."""
        return self.shaping.foot or self.by_hand.foot

    @property
    def undo_first(self) -> Begun | None:
        """A mark on the piece, or the work on the points, while either is begun."""
        return self.shaping.undo_first or self.by_hand.undo_first

    @property
    def redo_first(self) -> Begun | None:
        """A mark on the piece that was taken back."""
        return self.shaping.redo_first

    def finish(self) -> None:
        """Settle the outline as it is shown."""
        self.desk.derived.settled = self.job.outline

    def leave(self) -> None:
        """Put the shaping of the piece and the points away."""
        left = self.marking.put_away()
        self.by_hand.turn(False)
        if left:  # told where the person is by then
            QTimer.singleShot(0, self, lambda: self.told.emit(left, True))

    def stop_pointing(self) -> None:
        """Wait for no click; let a held point go back, else put away what was begun."""
        if self.by_hand.put_back():
            return
        if self.shaping.pointing_at:
            self.shaping.point_at("")
        else:
            self.marking.leave()
        self.by_hand.turn(False)

    def enter(self) -> None:
        """Show the outline; list the shapes when they are first needed."""
        self.desk.bench.show_scene(self.scene, in_mm=True)
        self.listing.show()
        self.refresh()
        self.desk.bench.view.fit(self.scene.content)

    def refresh(self, *, afresh: bool = False) -> None:
        """Redraw the outline and its measures."""
        job = self.job
        if afresh:
            self._list_anew()
        self.panel.show_choice(job.outline, self._family(), job.unit)
        self.by_hand.forget_words()
        self.own.show()
        self.listing.refresh()
        self.wheels.later()
        show_piece(self.panel.piece_button, is_there=self.desk.derived.billet(job) is not None)
        before = self.scene.content
        self.scene.clear_drawing()
        self.marking.end_stale()
        if self.shaping.is_on:
            self.shaping.draw()
            return
        self._draw()
        if self.desk.bench.view.scene() is self.scene:
            self.desk.bench.view.keep_in_view(before, self.scene.content)

    def _draw(self) -> None:
        job = self.job
        try:
            outline = self.desk.derived.outline(job)
            draw_outline(self.scene, outline, job.unit)
            self.measure.draw()
            self.by_hand.draw(outline)
        except ToolError as error:
            draw_hint(self.scene, ("This shape cannot be drawn", error.message))
            self.complain(error)

    def _is_alone(self) -> bool:
        """Return whether nothing but the outline is on the canvas."""
        return not (self.shaping.is_on or self.by_hand.is_on)

    def open_drawing(self, path: Path) -> None:
        """Take the outline in a file; asks for the unit when the file names none."""
        self.drawings.open(path)

    def _read(self, choice: OutlineChoice, said: str) -> None:
        self._take(choice, "Open a drawing")
        if self.job.outline == choice:
            self.panel.say(said, good=True)
        if self.desk.bench.view.scene() is self.scene:
            self.desk.bench.view.fit(self.scene.content)

    def _family(self) -> Family | None:
        from app.document.families import chosen_family

        try:
            return chosen_family(self.job.outline)
        except ToolError:
            return None

    def _list_anew(self) -> None:
        self.listing.anew()
        self.listing.refresh()
        self.own.show()

    def _choose(self, key: str) -> None:
        from app.document.families import choice_of

        try:
            choice = choice_of(self.listing.family(key))
        except ToolError as error:
            self.complain(error)
            return
        self._take(choice, "Choose a shape")
        self.desk.bench.view.fit(self.scene.content)

    def _take_usual(self) -> None:
        self._take(replace(self.job.outline, values=()), "Take the usual measures")

    def _take_size(self, name: str) -> None:
        family = self._family()
        if family is None:
            return
        values = dict(family.size_named(name).values) if name else {}
        choice = replace(self.job.outline, values=sorted_values(values))
        self._take(choice, f"Take the size {name}" if name else "Take the usual measures")

    def _shaping_changed(self) -> None:
        self.refresh()
        self.standing_changed.emit()

    def _begin_gesture(self) -> None:
        self._gesture = self.desk.document.new_gesture()

    def _tell_value(self, key: str, value: float) -> None:
        label = self.panel.rows[key].parameter.label.lower()
        choice = self.job.outline.with_value(key, value)
        pulled = (
            self.panel.rows[key].slider.hasFocus() or self.panel.rows[key].slider.isSliderDown()
        )
        self._take(choice, f"Change the {label}", self._gesture if pulled else -1, at=key)

    def _take(
        self,
        choice: OutlineChoice,
        text: str,
        gesture: int = -1,
        *,
        at: str = "",
        stays: str = "",
    ) -> None:
        """Make an outline the job's; one that cannot be drawn is refused and the old one kept.

        Why is said at the measure `at`, where the hand is; else above the foot. What stays as it
        is when the step is undone, `stays` says then.
        """
        try:
            outline = chosen_outline(choice)
            outline.polygon()
        except ToolError as error:
            self.refresh()
            if at:
                self.panel.say("")
                self.panel.say_at(at, sentence_of(error))
            else:
                self.complain(error)
            return
        self.panel.say("")
        self.desk.derived.keep_outline(choice, outline)
        self.desk.derived.settled = choice
        job = replace(self.job, outline=choice)
        self.desk.document.change(job, text, gesture=gesture, stays=stays)

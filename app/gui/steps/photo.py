"""The photo step: show the photo, point at the reference, measure, accept."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from app.document.flow import accepted, capture_of
from app.document.job import Job, PhotoFacts
from app.gui.canvas.photo_scene import PhotoScene, ShownPhoto, shown_photo
from app.gui.errors import sentence_of
from app.gui.panels.photo import PhotoPanel
from app.gui.places import numbered
from app.gui.rail import Step
from app.gui.steps.pens import Pens
from app.gui.steps.photo_telling import PhotoTelling
from app.gui.steps.pointing import Place, Pointing
from app.gui.steps.step import Desk, StepAtHand
from app.gui.steps.told import between_of, lines_of
from app.gui.worker import Progress, Stop

if TYPE_CHECKING:
    from calibration.capture import Capture
    from calibration.ink import Ink
    from calibration.photo import Photo


PHOTO_ROOM, FOUND_ROOM = 0.01, 0.1  # the photo fills the canvas; tags stand round what was found


class PhotoStep(StepAtHand):
    """Joins photo, panel and loupe."""

    def __init__(self, desk: Desk) -> None:
        self.panel = PhotoPanel()
        super().__init__(desk, Step.PHOTO, self.panel)
        self.scene = PhotoScene()
        self._data: bytes | None = None  # the photo that is shown
        self._photo: Photo | None = None
        self._ink: Ink | None = None
        self._expected: ShownPhoto | None = None
        self._pointing = Pointing(desk.bench, self.scene)
        panel = self.panel
        panel.main_asked.connect(self._main)
        panel.again_asked.connect(self.measure)
        panel.waiting.stopped.connect(self._stop)
        panel.mark_asked.connect(lambda on: self._mark_line(0, on))
        panel.drawn.mark_asked.connect(self._mark_line)
        panel.piece.inside_asked.connect(self._point_inside)
        panel.calipers.between_told.connect(self._between_told)
        panel.calipers.point_asked.connect(self._point_between)
        self._pens = Pens(desk, panel, self.complain)
        self._told = PhotoTelling(desk, panel, before=self._before_telling, complain=self.complain)

    def enter(self) -> None:
        """Show the photo."""
        self.desk.bench.show_scene(self.scene, in_mm=False)
        self._fit()

    def expect(self, photo: ShownPhoto) -> None:
        """Take a photo that was decoded already; the job with its bytes follows."""
        self._expected = photo

    def leave(self) -> None:
        """End pointing."""
        self.stop_pointing()

    def refresh(self, *, afresh: bool = False) -> None:
        """Show what is known and what was measured."""
        job, panel = self.job, self.panel
        self._load_picture()
        panel.show_facts(job, pen_can_be_kept=self._pens.measured is not None)
        current = self.desk.derived.capture(job)
        capture = self.desk.derived.last_capture(job)
        panel.show_measure(
            capture,
            job.unit,
            ready=job.photo is not None and bool(job.photo.references),
            used=self.desk.derived.measure_is_current(job),
            sizes=() if job.photo is None else job.photo.sizes,
            stale=current is None,
        )
        panel.next_button.setEnabled(job.billet is not None)
        if panel.waiting.is_on:
            panel.main.setEnabled(False)
        self.scene.show_capture(capture if self._photo is not None else None, job.unit)
        if current is None:
            self._show_told_marks()

    def measure(self) -> None:
        """Measure the photo on the worker."""
        job = self.job
        self.stop_pointing()
        self._show_told_marks()
        wrong = self.panel.wrong_entry()
        if wrong is not None:  # its old value is not what the person sees
            self.panel.show_entry(wrong)
            return
        self.panel.say("")
        self.panel.failed = False
        self.panel.waiting.begin()
        self.panel.waiting.stop_button.setFocus()
        self.panel.main.setEnabled(False)
        self.panel.again.setEnabled(False)

        def task(progress: Progress, stop: Stop) -> Capture:
            return capture_of(job, progress=progress, stop=stop)

        self.desk.worker.start(
            task,
            done=lambda capture: self._measured(job, capture),
            failed=self._failed,
            progressed=self.panel.waiting.show_share,
            lane="measure",
        )

    def stop_pointing(self) -> None:
        """Put the loupe away."""
        self._pointing.end()
        self.panel.show_pointing()
        self.standing_changed.emit()

    def _main(self) -> None:
        capture = self.desk.derived.capture(self.job)
        if capture is None:
            self.measure()
        else:
            self.desk.document.change(accepted(self.job, capture), "Use the measured piece")
            self.go.emit(Step.STEEL.value)

    def _measured(self, job: Job, capture: Capture) -> None:
        self._end_waiting()
        self.desk.derived.keep_capture(job, capture)
        self.panel.show_result()
        self.refresh()
        if self.desk.bench.view.scene() is self.scene:
            self._fit()
            self.panel.main.setFocus()
        self.standing_changed.emit()

    def _fit(self) -> None:
        """Show what was found with room for its tags; else the photo fills the canvas."""
        found = self.scene.found_rect()
        if found == self.scene.picture_rect():
            self.desk.bench.view.fit(found, room=PHOTO_ROOM)
        else:
            self.desk.bench.view.fit(found, room=FOUND_ROOM)

    def _failed(self, error: Exception) -> None:
        self._end_waiting()
        self.refresh()
        words, places = numbered([sentence_of(error)])
        if places:
            self.scene.show_places(places)
        self.panel.say(words[0])
        self.panel.failed = True
        self.standing_changed.emit()

    @property
    def foot(self) -> str:
        """Where the photo stands while a click or a mending is waited for."""
        if self._pointing.is_on:
            return "Point at the photo. Esc leaves it as it was."
        if self.panel.failed and self.panel.message:
            return "The photo could not be measured: the panel says why."
        return ""

    def _stop(self) -> None:
        self.desk.worker.cancel("measure")
        self._end_waiting()
        self.refresh()

    def _end_waiting(self) -> None:
        self.panel.main.setEnabled(True)
        self.panel.again.setEnabled(True)
        focused = self.panel.waiting.stop_button.hasFocus()
        self.panel.waiting.end()
        if focused:
            self.panel.main.setFocus()

    def _before_telling(self) -> None:
        self.panel.failed = False
        if self.desk.worker.is_busy("measure"):
            self._stop()

    def _mark_line(self, index: int, on: bool) -> None:
        if not on:
            self.stop_pointing()
            self.refresh()
        elif index >= len(lines_of(self.job.photo)):
            self.panel.show_pointing()
            self.panel.say("Tell the length of the line first; then mark its two ends.")
            self.panel.line.setFocus()
        else:
            self.panel.say("")
            self._begin_ends(lambda ends: self._told.line_ends(index, ends))
            self.panel.show_pointing(line=index)

    def _between_told(self, index: int, true_mm: float | None) -> None:
        """Take what was read; a width that has no places yet is pointed at next."""
        if true_mm is None or index < len(between_of(self.job.photo)):
            self._told.between(index, true_mm)
        else:
            self._point_between(index, True)

    def _point_between(self, index: int, on: bool) -> None:
        true_mm = self.panel.calipers.read_mm(index)
        if not on:
            self.stop_pointing()
            self.refresh()
        elif true_mm is None:
            self.panel.show_pointing()
            self.panel.say("Type what the calipers read first; then point at the two places.")
            self.panel.calipers.between[index][1].setFocus()
        else:
            self.panel.say("")
            self._begin_ends(lambda ends: self._told.between(index, true_mm, ends))
            self.panel.show_pointing(between=index)

    def _begin_ends(self, told: Callable[[tuple[Place, Place]], None]) -> None:
        """Ask for two places on the photo."""

        def take(ends: tuple[Place, Place]) -> None:
            self.stop_pointing()
            told(ends)
            self.refresh()
            self._focus_next()

        self._pointing.begin_line(take, self._photo, self._ink)
        self.standing_changed.emit()

    def _point_inside(self, on: bool) -> None:
        if on:
            self.panel.show_pointing(inside=True)
            self._pointing.begin_place(self._inside)
            self.standing_changed.emit()
        else:
            self.stop_pointing()
            self.refresh()

    def _inside(self, spot: Place) -> None:
        self.stop_pointing()
        self._told.inside(spot)
        self.refresh()
        self._focus_next()

    def _load_picture(self) -> None:
        """Decode the photo on the worker when it is another one, then its ink."""
        facts = self.job.photo
        data = None if facts is None else facts.data
        if data is self._data:
            return
        if self.desk.worker.is_busy("measure"):  # of a photo that is no longer there
            self.desk.worker.cancel("measure")
            self._end_waiting()
        self._data, self._photo, self._ink = data, None, None
        self.scene.show_picture(None)
        self.desk.bench.loupe.show_image(None)
        expected, self._expected = self._expected, None
        if facts is None:
            return
        if expected is not None and expected.photo.name == facts.name:
            self._decoded(expected)
        else:
            self._decode(facts)

    def _focus_next(self) -> None:
        """Give the keyboard to what comes next: a size to tell, or the measuring."""
        told = self.job.photo is not None and bool(self.job.photo.references)
        (self.panel.main if told and self.panel.main.isEnabled() else self.panel.line).setFocus()

    def _decode(self, facts: PhotoFacts) -> None:
        def task(progress: Progress, stop: Stop) -> ShownPhoto:
            from calibration.photo import photo_from_bytes

            return shown_photo(photo_from_bytes(facts.data, facts.name))

        self.desk.worker.start(task, done=self._decoded, failed=self.complain, lane="picture")

    def _decoded(self, shown: ShownPhoto) -> None:
        photo = shown.photo
        self._photo = photo
        self.scene.show_picture(shown)
        self.desk.bench.loupe.show_image(shown.image, shown.factor)
        if self.desk.bench.view.scene() is self.scene:
            self.desk.bench.view.fit(self.scene.picture_rect(), room=PHOTO_ROOM)
        self.refresh()
        self.standing_changed.emit()
        if self.job.photo is not None and self.desk.bench.view.scene() is self.scene:
            self._focus_next()

        def task(progress: Progress, stop: Stop) -> Ink:
            from calibration.ink import find_ink

            return find_ink(photo)

        def done(ink: Ink) -> None:
            if self._photo is photo:
                self._ink = ink

        self.desk.worker.start(task, done=done, failed=lambda error: None, lane="picture")

    def _show_told_marks(self) -> None:
        """Show the ends that were marked, while nothing is measured from them."""
        if self._pointing.marks:
            return
        lines = [line.ends_px for line in lines_of(self.job.photo)]
        jaws = [size.ends_px for size in between_of(self.job.photo)]
        self.scene.show_pairs([pair for pair in (*lines, *jaws) if pair is not None])

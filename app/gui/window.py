"""The main window: rail, canvas, panel and the foot with the verdict."""

from __future__ import annotations

import signal
import sys
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QRectF, Qt, QTimer
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QKeyEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QMainWindow,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.document.job import Job
from app.document.lengths import Unit
from app.gui.canvas.bench import Bench
from app.gui.canvas.photo_scene import ShownPhoto
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.derived import Derived
from app.gui.document import Document
from app.gui.errors import LastNet
from app.gui.job_files import JobFiles
from app.gui.menus import build_menus
from app.gui.rail import Rail, Step
from app.gui.remembered import remember_unit, remembered_appearance, remembered_unit
from app.gui.standing import reached, sentence, states, verdict
from app.gui.start_page import StartPage, drawn_example
from app.gui.steps.all import Steps
from app.gui.steps.step import Desk, StepAtHand
from app.gui.theme import PANEL_PX, theme
from app.gui.undoing import Undoing
from app.gui.verdict_bar import VerdictBar
from app.gui.worker import Worker

OF_ONE_JOB = ("drawing", "search", "shaping")  # lanes whose late answers belong to no other job


class MainWindow(QMainWindow):
    """The one window of the program."""

    def __init__(self) -> None:
        super().__init__()
        self.undoing = Undoing(self)
        self.document = Document(self)
        self.worker = Worker(self)
        self.derived = Derived()
        self.bench = Bench()
        self.files = JobFiles(self.document, self.worker, self)
        self.net = LastNet(self, self.files.keep_copy)
        desk = Desk(
            document=self.document,
            derived=self.derived,
            worker=self.worker,
            bench=self.bench,
            window=self,
        )
        self.steps = Steps(desk, self._take_step)
        self.current: Step | None = None
        self._faded: set[Step] = set()  # drawn in colours that are no longer in use
        self.undoing.watch(self.document.stack, self.worker)
        self.undoing.acting.connect(lambda: self.say(""))
        self._lay_out()
        build_menus(self)
        self._connect()
        self.setAcceptDrops(True)
        self.resize(1280, 720)
        self.setMinimumSize(960, 600)
        self.go(Step.PHOTO)
        self.start.photo.setFocus()
        QTimer.singleShot(0, self, self._draw_example)

    def _draw_example(self) -> None:
        """Work the first page's drawing out beside the window."""
        self.worker.start(
            lambda progress, stop: drawn_example(),
            done=self.start.sketch.show_outline,
            failed=lambda error: None,  # the page says the same in words
            lane="example",
        )

    def _take_step(self, made: StepAtHand) -> None:
        """Take a step that was made into the window."""
        self._panels.addWidget(made.base_panel)
        made.go.connect(lambda name: self.go(Step(name)))
        made.standing_changed.connect(self.show_standing)
        made.told.connect(lambda words, good: self.say(words, good=good))

    def go(self, step: Step) -> None:
        """Enter a step."""
        entered = self.steps.at(step)
        if self.current is not None and self.current is not step:
            self.steps.at(self.current).leave()
            self.steps.at(self.current).base_panel.say("")
        self.current = step
        self.rail.show_step(step)
        self._panels.setCurrentWidget(entered.base_panel)
        self._show_right_page()
        entered.enter()
        self.refresh(afresh=step in self._faded)
        self._faded.discard(step)
        if not self.rail.isAncestorOf(self.focusWidget()):  # who walks the rail stays on it
            entered.first.setFocus()

    def refresh(self, *, afresh: bool = False) -> None:
        """Redraw everything that shows the job."""
        job = self.document.job
        assert self.current is not None
        self._show_right_page()
        self.bench.set_unit(job.unit)
        self.steps.at(self.current).refresh(afresh=afresh)
        self.show_standing()
        self._show_title()

    def show_standing(self) -> None:
        """Show where the job stands: the rail's marks and the foot."""
        job = self.document.job
        assert self.current is not None
        self.rail.show_states(states(job, self.derived))
        placed = job.pose is not None or self.current is Step.LAYOUT
        foot = self.steps.at(self.current).foot
        self.undoing.show(self.steps.at(self.current))
        found = verdict(job, self.derived) if placed and not foot else None
        if found is None:
            self.verdict.show_sentence(foot or sentence(job, self.derived))
        else:
            self.verdict.show_verdict(*found, job.unit)

    def use_unit(self, unit: Unit) -> None:
        """Show lengths in another unit; nothing else changes."""
        name = "Use inches" if unit == "in" else "Use millimetres"
        self.document.change(replace(self.document.job, unit=unit), name)
        remember_unit(unit)

    def content_rect(self) -> QRectF:
        """Return what there is to fit in the canvas."""
        scene = self.bench.view.scene()
        if isinstance(scene, SheetScene):
            return scene.content
        return self.steps.photo.scene.picture_rect()

    def say(self, message: str, *, good: bool = False) -> None:
        """Say something where the person is looking."""
        if self._pages.currentWidget() is self.start:
            self.start.say(message)
        elif self.current is not None:
            self.steps.at(self.current).base_panel.say(message, good=good)

    def _lay_out(self) -> None:
        self.rail, self.verdict, self.start = Rail(), VerdictBar(), StartPage()
        self._panels = QStackedWidget()
        self._panels.setFixedWidth(PANEL_PX)
        work = QWidget()
        row = QHBoxLayout(work)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(1)
        row.addWidget(self.bench, 1)
        row.addWidget(self._panels)
        self._pages = QStackedWidget()
        self._pages.addWidget(self.start)
        self._pages.addWidget(work)
        middle = QHBoxLayout()
        middle.setSpacing(1)
        middle.addWidget(self.rail)
        middle.addWidget(self._pages, 1)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(1)
        column.addLayout(middle, 1)
        column.addWidget(self.verdict)
        self.setCentralWidget(whole)

    def _connect(self) -> None:
        self.rail.chosen.connect(lambda name: self.go(Step(name)))
        self.document.changed.connect(self.refresh)
        self.document.stack.cleanChanged.connect(self._show_title)
        self.files.saved.connect(self._show_title)
        self.start.photo_asked.connect(self.files.ask_photo)
        self.start.sample_asked.connect(self.files.open_sample)
        self.start.job_asked.connect(self.files.ask_any)
        self.files.photo_opened.connect(self._photo_opened)
        self.files.job_opened.connect(self._job_opened)
        self.files.drawing_asked.connect(self._open_drawing)
        self.files.complained.connect(self.say)
        self.files.saved.connect(lambda words: self.say(words, good=True))
        theme().changed.connect(self._recolour)

    def _show_title(self) -> None:
        self.setWindowTitle(f"{self.document.name}[*] – Blankwright")
        self.setWindowModified(not self.document.is_saved)

    def _recolour(self) -> None:
        self._faded = {step for step in Step if step is not self.current}
        self.refresh(afresh=True)

    def _show_right_page(self) -> None:
        """Show the first page while there is no photo to show, else the canvas."""
        job = self.document.job
        bare = self.current is Step.PHOTO and job.photo is None
        if not bare:
            self.start.say("")
        if bare and self._pages.currentIndex() != 0:
            self._pages.setCurrentIndex(0)
            self.start.photo.setFocus()
        elif not bare:
            self._pages.setCurrentIndex(1)

    def _photo_opened(self, photo: ShownPhoto) -> None:
        self.steps.photo.expect(photo)
        if self.current is not Step.PHOTO:
            QTimer.singleShot(0, lambda: self.go(Step.PHOTO))

    def _job_opened(self) -> None:
        job = self.document.job
        self.derived.settled = None
        for lane in OF_ONE_JOB:
            self.worker.cancel(lane)
        for step in self.steps.made:
            step.base_panel.say("")
        self.go(reached(job))

    def _open_drawing(self, path: Path) -> None:
        if path.suffix.lower() == ".json":
            from app.files.kinds import kind_of

            kind = kind_of(path)
            if kind == "piece" or (not kind and self.current is Step.STEEL):
                self.go(Step.STEEL)
                self.steps.steel.open_billet(path)
                return
        self.go(Step.OUTLINE)
        self.steps.outline.open_drawing(path)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave pointing with Escape."""
        if event.key() == Qt.Key.Key_Escape and self.current in (Step.PHOTO, Step.OUTLINE):
            pointed = self.steps.photo if self.current is Step.PHOTO else self.steps.outline
            pointed.stop_pointing()
            self.refresh()
            return
        super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the first dropped file."""
        paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            event.acceptProposedAction()
            self.files.open_path(Path(paths[0]))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes, then stop the worker."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.worker.close()
        self.net.release()
        event.accept()


def window_as_left() -> MainWindow:
    """Return a window with an empty job, in the appearance and the unit that were chosen last."""
    theme().choose(remembered_appearance())
    window = MainWindow()
    window.document.begin(Job(unit=remembered_unit()))
    return window


def main(path: Path | None = None) -> int:
    """Open the window, with a file on request; return the exit status.

    Parameters
    ----------
    path : Path, optional
        A job, a photo, a piece or a drawing.
    """
    running = QApplication.instance()
    app = running if isinstance(running, QApplication) else QApplication(sys.argv[:1])
    app.setApplicationName("Blankwright")
    app.setDesktopFileName("blankwright")
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Qt's loop would keep Ctrl+C from being seen
    window = window_as_left()
    window.show()
    if path is not None:
        QTimer.singleShot(0, lambda: window.files.open_path(path))
    return app.exec()

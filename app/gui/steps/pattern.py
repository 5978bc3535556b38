"""The pattern step: the pages as they print, and where they go."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from app.document.job import Job
from app.document.job_drawing import drawing_of
from app.document.paper import paper_named
from app.gui.asking import ask_place, file_name, saved_words
from app.gui.canvas.pages_scene import PagesScene
from app.gui.canvas.sheet_scene import draw_hint
from app.gui.panels.pattern import PatternPanel
from app.gui.rail import Step
from app.gui.standing import layout_or_none
from app.gui.steps.step import Desk, StepAtHand
from app.gui.worker import Progress, Stop
from geometry.verdict import Verdict

if TYPE_CHECKING:
    from app.exports.pages import Pages


class PatternStep(StepAtHand):
    """Joins the pages and their panel."""

    def __init__(self, desk: Desk) -> None:
        self.panel = PatternPanel()
        super().__init__(desk, Step.PATTERN, self.panel)
        self.scene = PagesScene()
        self._shown: Job | None = None
        self._fitted = False
        panel = self.panel
        panel.export_asked.connect(self._ask_where)
        panel.name_told.connect(self._tell_name)
        panel.paper_told.connect(self._tell_paper)
        panel.margin_asked.connect(self._show_margin)
        panel.correction_told.connect(self._correct)

    def enter(self) -> None:
        """Show the pages."""
        self.desk.bench.show_scene(self.scene, in_mm=True)
        self.desk.bench.view.setBackgroundBrush(self.desk.bench.palette().alternateBase())
        self._fitted = False
        self.refresh()

    @property
    def first(self) -> QWidget:
        """Saving is what comes first here."""
        return self.panel.pdf

    def refresh(self, *, afresh: bool = False) -> None:
        """Lay the pages out again on the worker, when the job changed."""
        job = self.job
        self._show_facts()
        if job is self._shown and not afresh:
            if not self._fitted:
                self._fit()
            return
        self._shown = None
        if job.pose is None:
            self._show(job, None)
            draw_hint(self.scene, ("No pattern yet", "Place the blank first: step Layout."))
            self._fit()
            return

        self._lay_out(job)

    def _lay_out(self, job: Job) -> None:
        """Lay the pages of a job out on the worker, and show them."""

        def task(progress: Progress, stop: Stop) -> Pages:
            from app.document.print_scale import stretch_for
            from app.exports.pages import laid_out

            pattern = job.pattern
            return laid_out(
                drawing_of(job, datetime.date.today()),
                paper_named(pattern.paper),
                stretch=(
                    stretch_for(pattern.correct_x, "Correction across"),
                    stretch_for(pattern.correct_y, "Correction up"),
                ),
            )

        self.desk.worker.start(
            task,
            done=lambda pages: self._show(job, pages),
            failed=self._failed,
            lane="pages",
        )

    def _correct(self, key: str, ratio: float) -> None:
        """Take what a bar of an earlier print measured."""
        self.panel.say("")
        old = self.job.pattern
        pattern = (
            replace(old, correct_x=ratio) if key == "correct_x" else replace(old, correct_y=ratio)
        )
        self.desk.document.change(replace(self.job, pattern=pattern), "Correct the printer")

    def export(self, path: Path) -> None:
        """Write the pattern into a file on the worker."""
        job = self.job
        self.panel.say("")

        def task(progress: Progress, stop: Stop) -> int:
            from app.exports.write import write_pattern

            return write_pattern(drawing_of(job, datetime.date.today()), path, job.pattern)

        self.desk.worker.start(
            task,
            done=lambda pages: self._exported(job, path, pages),
            failed=self.complain,
            lane="export",
        )

    def _show_facts(self) -> None:
        layout = layout_or_none(self.job, self.desk.derived) if self.job.pose else None
        misfit = layout is not None and layout.verdict is Verdict.DOES_NOT_FIT
        self.panel.show_job(self.job, misfit=misfit)

    def _show(self, job: Job, pages: Pages | None) -> None:
        self._shown = job
        self.scene.show_pages(pages)
        self.panel.show_pages(None if pages is None else len(pages.pages))
        if not self._fitted and self.desk.bench.view.scene() is self.scene:
            self._fit()

    def _fit(self) -> None:
        self._fitted = not self.scene.content.isEmpty()
        self.desk.bench.view.fit(self.scene.content)

    def _failed(self, error: Exception) -> None:
        self.scene.show_pages(None)
        self.panel.show_pages(None)
        self.complain(error)

    def _exported(self, job: Job, path: Path, pages: int) -> None:
        self.desk.derived.exported = job
        some = (
            ""
            if path.suffix.lower() != ".pdf"
            else " 1 page."
            if pages == 1
            else f" {pages} pages."
        )
        self.panel.say(f"{saved_words(path)}{some}", good=True)
        self.standing_changed.emit()

    def _ask_where(self, kind: str) -> None:
        stem = file_name(self.job.name, "pattern")
        folder = self.desk.document.path.parent if self.desk.document.path else Path.home()
        start = folder / f"{stem}.{kind}"
        path = ask_place(self.desk.window, "Save the pattern", start, kind.upper())
        if path is not None:
            self.export(path)

    def _tell_name(self, name: str) -> None:
        if name:
            self.desk.document.change(replace(self.job, name=name), "Name the job")
        self._show_facts()

    def _tell_paper(self, paper: str) -> None:
        self.panel.say("")
        self._fitted = False
        pattern = replace(self.job.pattern, paper=paper)
        self.desk.document.change(replace(self.job, pattern=pattern), "Choose the paper")

    def _show_margin(self, shown: bool) -> None:
        pattern = replace(self.job.pattern, show_margin=shown)
        self.desk.document.change(
            replace(self.job, pattern=pattern), "Show or hide the margin line"
        )

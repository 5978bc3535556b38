"""The steel step: the piece at true scale on paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtWidgets import QFileDialog

from app.gui.canvas.sheet_scene import SheetScene, draw_billet, draw_hint
from app.gui.panels.steel import SteelPanel
from app.gui.rail import Step
from app.gui.steps.step import Desk, StepAtHand
from geometry.errors import ToolError


class SteelStep(StepAtHand):
    """Joins the piece and its panel."""

    def __init__(self, desk: Desk) -> None:
        self.panel = SteelPanel()
        super().__init__(desk, Step.STEEL, self.panel)
        self.scene = SheetScene()
        self.panel.thickness_told.connect(self._tell_thickness)
        self.panel.open_asked.connect(self._ask_billet)

    def enter(self) -> None:
        """Show the piece."""
        self.desk.bench.show_scene(self.scene, in_mm=True)
        self.refresh()
        self.desk.bench.view.fit(self.scene.content)

    def refresh(self, *, afresh: bool = False) -> None:
        """Redraw the piece and its numbers."""
        job = self.job
        current = self.desk.derived.measure_is_current(job)
        stale = job.photo is not None and bool(job.measured_from) and not current
        self.panel.show_job(job, stale=stale)
        self.scene.clear_drawing()
        if job.billet is None:
            draw_hint(self.scene, ("No steel yet", "Measure a photo first: step Photo."))
        else:
            draw_billet(self.scene, job.billet, job.unit, dimensions=True)

    def open_billet(self, path: Path) -> None:
        """Take the piece in a file."""
        from app.files.billet_file import read_billet

        try:
            billet = read_billet(path)
        except ToolError as error:
            self.complain(error)
            return
        self.panel.say("")
        thickness = billet.thickness_mm or self.job.thickness_mm
        job = replace(self.job, billet=billet, measured_from="", pose=None, thickness_mm=thickness)
        self.desk.document.change(job, "Open a piece")
        self.desk.bench.view.fit(self.scene.content)

    def _tell_thickness(self, thickness_mm: float | None) -> None:
        self.panel.say("")
        job = replace(self.job, thickness_mm=thickness_mm)
        self.desk.document.change(job, "Tell the thickness")

    def _ask_billet(self) -> None:
        name, _ = QFileDialog.getOpenFileName(
            self.desk.window, "Open a saved piece", "", "Pieces of steel (*.json)"
        )
        if name:
            self.open_billet(Path(name))

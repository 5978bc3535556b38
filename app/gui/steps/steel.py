"""The steel step: the piece at true scale on paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtWidgets import QFileDialog

from app.document.job import Job
from app.document.thickness import with_thickness
from app.document.wording import claim_sentence, rough
from app.gui.canvas.axes import scene_point
from app.gui.canvas.sheet_scene import NO_CHANGE, NO_STEEL, SheetScene, draw_billet, draw_hint
from app.gui.canvas.tag import Tag
from app.gui.errors import sentence_of
from app.gui.panels.steel import SteelPanel
from app.gui.rail import Step
from app.gui.standing import measure_is_stale
from app.gui.steps.step import Desk, StepAtHand
from geometry.billet import Billet
from geometry.errors import ToolError

CHANGED = "Changed by hand, nowhere beyond the steel that was measured."


class SteelStep(StepAtHand):
    """Joins the piece and its panel."""

    def __init__(self, desk: Desk) -> None:
        self.panel = SteelPanel()
        super().__init__(desk, Step.STEEL, self.panel)
        self.scene = SheetScene()
        self.panel.thickness_told.connect(self._tell_thickness)
        self.panel.open_asked.connect(self._ask_billet)
        self.panel.as_measured_asked.connect(self._as_measured)

    def enter(self) -> None:
        """Show the piece."""
        self.desk.bench.show_scene(self.scene, in_mm=True)
        self.refresh()
        self.desk.bench.view.fit(self.scene.content)

    def refresh(self, *, afresh: bool = False) -> None:
        """Redraw the piece and its numbers."""
        job = self.job
        stale = measure_is_stale(job, self.desk.derived)
        billet = self.desk.derived.billet(job)
        self.panel.show_job(job, billet, changed=self._changed_words(), stale=stale)
        self.scene.clear_drawing()
        if billet is None:
            draw_hint(self.scene, NO_STEEL if job.billet is None else NO_CHANGE)
        else:
            draw_billet(self.scene, billet, job.unit, dimensions=True)
            self._draw_claim()

    def _changed_words(self) -> str:
        """Return what is to be said of flaws and of changes by hand, if anything."""
        off = flaws_off_words(self.desk.derived.billet(self.job))
        return f"{self._edit_words()} {off}".strip()

    def _edit_words(self) -> str:
        trouble = self.desk.derived.billet_trouble(self.job)
        if trouble is not None:
            return str(trouble)
        claimed = self.desk.derived.claim(self.job)
        if claimed is not None:
            return claim_sentence(claimed, self.job.unit)
        return CHANGED if self.job.edits else ""

    def _draw_claim(self) -> None:
        """Point at the steel that was drawn in where none was measured, where it is most."""
        claimed = self.desk.derived.claim(self.job)
        if claimed is None:
            return
        beyond = rough(claimed.beyond_mm, self.job.unit)
        spot = scene_point(claimed.point_mm)
        inward = 1.0 if spot.x() < self.scene.content.center().x() else -1.0  # sizes stand outside
        words = ("drawn in by hand", f"{beyond} beyond the measure")
        tag = Tag(words, "doubt", (110.0 * inward, 84.0))
        tag.setPos(spot)
        self.scene.addItem(tag)

    def _as_measured(self) -> None:
        self.desk.document.change(replace(self.job, edits=()), "Take back all changes by hand")

    def open_billet(self, path: Path) -> None:
        """Take the piece in a file."""
        from app.files.billet_file import read_billet

        try:
            billet = read_billet(path)
        except ToolError as error:
            self.panel.say(f"{path.name}: {sentence_of(error)}")
            return
        self.panel.say("")
        thickness = billet.thickness_mm or self.job.thickness_mm
        job = replace(
            self.job,
            name=path.stem if self.job.name == Job().name else self.job.name,
            billet=billet,
            edits=(),  # they were of another piece
            measured_from="",
            pose=None,
            thickness_mm=thickness,
        )
        self.desk.document.change(job, "Open a piece")
        self.desk.bench.view.fit(self.scene.content)

    def _tell_thickness(self, thickness_mm: float | None) -> None:
        self.panel.say("")
        job = with_thickness(self.job, thickness_mm)
        self.desk.document.change(job, "Tell the thickness")

    def _ask_billet(self) -> None:
        name, _ = QFileDialog.getOpenFileName(
            self.desk.window, "Open a saved piece", "", "Pieces of steel (*.json)"
        )
        if name:
            self.open_billet(Path(name))


def flaws_off_words(billet: Billet | None) -> str:
    """Return how many flaws lie wholly off the steel; empty if none does.

    Examples
    --------
    >>> from shapely import box
    >>> flaws_off_words(Billet(shape=box(0, 0, 90, 40), flaws=(box(200, 0, 210, 9),)))
    '1 of 1 flaws lies wholly off the steel and keeps nothing clear: check where it is.'
    """
    flaws = () if billet is None else billet.flaws
    off = 0 if billet is None else sum(not flaw.intersects(billet.shape) for flaw in flaws)
    if not off:
        return ""
    lie, keep, are = ("lies", "keeps", "it is") if off == 1 else ("lie", "keep", "they are")
    return (
        f"{off} of {len(flaws)} flaws {lie} wholly off the steel and {keep} nothing clear: "
        f"check where {are}."
    )

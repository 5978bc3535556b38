"""The panel of the pattern step: paper, what is drawn, and where it goes."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QLineEdit

from app.document.job import Job
from app.document.lengths import MM_PER, Unit, format_length
from app.document.paper import NAMED
from app.document.print_scale import stretch_for
from app.gui.check_box import CheckBox
from app.gui.choice import Choice
from app.gui.length_field import LengthField
from app.gui.panels.panel import Panel, button, stacked, words

HAVE = "These are the pages as they print, at true size."
MISFIT = "The blank does not fit the steel where it lies. Lay it anew before you cut."
NONE = "Place the blank on the steel first; then its pattern shows here."
CORRECT = (
    "If one bar is off though the print was at 100 %, type what both measured, and print again."
)
BAR_MM: dict[Unit, float] = {"mm": 100.0, "in": 4 * MM_PER["in"]}  # the bars on every page
PROVE = (
    "Print at 100 %, with no fitting to the page. Then measure the two bars on each page "
    "before you cut: only paper that proves its scale is glued on."
)


class PatternPanel(Panel):
    """Controls of the pattern step."""

    export_asked = Signal(str)  # "pdf", "svg" or "dxf"
    name_told = Signal(str)
    paper_told = Signal(str)
    margin_asked = Signal(bool)
    correction_told = Signal(str, float)  # "correct_x" or "correct_y", printed over asked length

    def __init__(self) -> None:
        super().__init__("Pattern", HAVE, "")
        self.pdf = button("Save the PDF…", primary=True)
        self.svg, self.dxf = button("Save SVG…"), button("Save DXF…")
        for one, kind in ((self.pdf, "pdf"), (self.svg, "svg"), (self.dxf, "dxf")):
            one.clicked.connect(lambda _=False, kind=kind: self.export_asked.emit(kind))
        self.foot.addWidget(stacked((self.svg, self.dxf), (self.pdf,)))
        self.add_group("On the paper")
        self.name = QLineEdit()
        self.name.setAccessibleName("Name on the pattern")
        self.name.editingFinished.connect(self._tell_name)
        self.add_row("name", self.name, width=190)
        self.paper = Choice()
        for key, paper in NAMED.items():
            self.paper.addItem(paper.name, key)
        self.paper.activated.connect(lambda _: self.paper_told.emit(self.paper.currentData()))
        self.add_row("paper", self.paper)
        self.margin_line = CheckBox("draw the margin line")
        self.margin_line.clicked.connect(self.margin_asked)
        self.column.addWidget(self.margin_line)
        self.pages = words("", "quiet")
        self.column.addWidget(self.pages)
        self.add_group("Before you cut")
        self.column.addWidget(words(PROVE))
        self._add_correction()
        self.column.addStretch(1)

    def _add_correction(self) -> None:
        self.correction_head = self.add_group("")
        self.column.addWidget(words(CORRECT, "quiet"))
        self._unit: Unit = "mm"
        self.across, self.up = LengthField("Bar across"), LengthField("Bar up")
        for field, key, label in (
            (self.across, "correct_x", "bar across measured"),
            (self.up, "correct_y", "bar up measured"),
        ):
            field.set_check(partial(self._require_bar, field.accessibleName()))
            field.edited.connect(partial(self._tell_correction, key))
            self.add_row(label, field)

    def _require_bar(self, where: str, measured_mm: float) -> None:
        stretch_for(measured_mm / BAR_MM[self._unit], where)

    def _tell_correction(self, key: str, measured_mm: float) -> None:
        self.correction_told.emit(key, measured_mm / BAR_MM[self._unit])

    def _show_correction(self, job: Job) -> None:
        self._unit = job.unit
        bar_mm = BAR_MM[job.unit]
        self.correction_head.setText(f"Your printer, by the {format_length(bar_mm, job.unit)} bars")
        for field, ratio in (
            (self.across, job.pattern.correct_x),
            (self.up, job.pattern.correct_y),
        ):
            field.set_unit(job.unit)
            field.show_value(bar_mm * ratio)

    def show_job(self, job: Job, *, misfit: bool = False) -> None:
        """Show what is drawn; a blank that does not fit is told of."""
        if not self.name.isModified():
            self.name.setText(job.name)
            self.name.setCursorPosition(0)
        self._show_correction(job)
        known = self.paper.findData(job.pattern.paper.lower())
        if known < 0:
            self.paper.addItem(job.pattern.paper, job.pattern.paper)
            known = self.paper.count() - 1
        self.paper.setCurrentIndex(known)
        self.margin_line.setChecked(job.pattern.show_margin)
        ready = job.pose is not None
        self.sentence.setText(NONE if not ready else MISFIT if misfit else HAVE)
        for one in (self.pdf, self.svg, self.dxf):
            one.setEnabled(ready)

    def show_pages(self, count: int | None) -> None:
        """Say how many pages there are."""
        some = "" if count is None else "one page" if count == 1 else f"{count} pages, with overlap"
        self.pages.setText(f"Takes {some}." if some else "")

    def _tell_name(self) -> None:
        if self.name.isModified():
            self.name.setModified(False)
            self.name_told.emit(self.name.text().strip())

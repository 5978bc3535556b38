"""The panel of the pattern step: paper, what is drawn, and where it goes."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit

from app.document.job import Job
from app.document.paper import NAMED
from app.gui.panels.panel import Panel, button, words

HAVE = "These are the pages as they print, at true size."
NONE = "Place the blank on the steel first; then its pattern shows here."
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

    def __init__(self) -> None:
        super().__init__("Pattern", HAVE, "")
        self.pdf = button("Save the PDF…", primary=True)
        self.svg, self.dxf = button("Save SVG…"), button("Save DXF…")
        for one, kind in ((self.pdf, "pdf"), (self.svg, "svg"), (self.dxf, "dxf")):
            one.clicked.connect(lambda _=False, kind=kind: self.export_asked.emit(kind))
        self.column.addWidget(self.pdf)
        self.add_buttons(self.svg, self.dxf)
        self.add_group("On the paper")
        self.name = QLineEdit()
        self.name.setAccessibleName("Name on the pattern")
        self.name.editingFinished.connect(self._tell_name)
        self.add_row("name", self.name, width=190)
        self.paper = QComboBox()
        for key, paper in NAMED.items():
            self.paper.addItem(paper.name, key)
        self.paper.activated.connect(lambda _: self.paper_told.emit(self.paper.currentData()))
        self.add_row("paper", self.paper)
        self.margin_line = QCheckBox("draw the margin line")
        self.margin_line.clicked.connect(self.margin_asked)
        self.column.addWidget(self.margin_line)
        self.pages = words("", "quiet")
        self.column.addWidget(self.pages)
        self.add_group("Before you cut")
        self.column.addWidget(words(PROVE))
        self.column.addStretch(1)

    def show_job(self, job: Job) -> None:
        """Show what is drawn."""
        if not self.name.isModified():
            self.name.setText(job.name)
        known = self.paper.findData(job.pattern.paper.lower())
        if known < 0:
            self.paper.addItem(job.pattern.paper, job.pattern.paper)
            known = self.paper.count() - 1
        self.paper.setCurrentIndex(known)
        self.margin_line.setChecked(job.pattern.show_margin)
        ready = job.pose is not None
        self.sentence.setText(HAVE if ready else NONE)
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

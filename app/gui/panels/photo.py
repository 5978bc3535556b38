"""The panel of the photo step: what is known on the sheet, and what was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QFrame, QScrollArea, QVBoxLayout, QWidget

from app.document.job import Job
from app.document.lengths import Unit, format_length
from app.document.wording import check_words, offset_words
from app.gui.errors import in_the_window
from app.gui.length_field import Entry, LengthField
from app.gui.panels.calipers_page import POINT, CalipersPage
from app.gui.panels.drawn_page import DrawnPage
from app.gui.panels.folds import Folds, Row
from app.gui.panels.panel import Panel, Waiting, button, words
from app.gui.panels.piece_page import PiecePage
from app.gui.size_field import require_drawn, size_words
from app.gui.steps.told import first_of
from app.gui.theme import GAP_PX
from calibration.references import (
    PAPER_LABELS,
    PAPERS,
    LineReference,
    MatReference,
    SheetReference,
)

if TYPE_CHECKING:
    from calibration.calipers import Check
    from calibration.capture import Capture

TELL = "Tell what is drawn on the sheet in a known size, then measure."
USED = "This piece is in use. If you tell something else here, measure again."
LOOK = "Is the line on the photo the steel's edge? Then use this piece."
POINT_LINE = "Click on one end of the line, then on the other. Esc leaves it."
POINT_INSIDE = "Click anywhere inside the piece. Esc leaves it."
OWN_SIZE = "own"
LINE_PX, MARK_PX = 104, 112
MAT = "mat"


class PhotoPanel(Panel):
    """Controls of the photo step.

    Attributes
    ----------
    main_asked, again_asked, mark_asked : Signal
        A button: measure or use, measure again, mark the line (whether on).
    line_told : Signal
        A length in mm or None.
    sheet_told : Signal
        The chosen key.
    drawn, piece, calipers : Page
        What else may be told, folded away.
    """

    main_asked = Signal()
    again_asked = Signal()
    mark_asked = Signal(bool)
    line_told = Signal(object)
    sheet_told = Signal(str)

    def __init__(self) -> None:
        super().__init__("Photo", TELL, "Next: steel")
        self.main = button("Measure the sheet", primary=True)
        self.main.clicked.connect(self.main_asked)
        self.again = button("Measure again")
        self.again.clicked.connect(self.again_asked)
        self.waiting = Waiting("Measuring the sheet")
        self.column.addWidget(self.main)
        self.column.addWidget(self.again)
        self.column.addWidget(self.waiting)
        self._add_known()
        self._add_more()
        self._add_result()

    def _add_known(self) -> None:
        self.add_group("Known on the sheet")
        self.line = LengthField("Length of the drawn line", optional=True)
        self.line.setPlaceholderText("3 in, 100 mm")
        self.line.set_check(lambda mm: require_drawn(mm, "Drawn line"))
        self.line.edited.connect(lambda mm: self.line_told.emit(mm))
        self.line.cleared.connect(lambda: self.line_told.emit(None))
        self.mark = button(
            "Mark the line", tip="Point at its two ends, if it is not found by itself"
        )
        self.mark.setCheckable(True)
        self.mark.clicked.connect(self.mark_asked)
        self.mark.setFixedWidth(MARK_PX)
        self.line.setFixedWidth(LINE_PX)
        self.line.refused.connect(lambda words: self.say(words))
        self.column.addWidget(Row("drawn line", self.line, self.mark))
        self.sheet = QComboBox()
        self.sheet.addItem("not told", "")
        for key in PAPERS:
            self.sheet.addItem(PAPER_LABELS[key], key)
        self.sheet.addItem("printed mat", MAT)
        self.sheet.activated.connect(self._tell_sheet)
        self.add_row("sheet of paper", self.sheet)

    def _tell_sheet(self) -> None:
        if self.sheet.currentData() != OWN_SIZE:  # that one is told already
            self.sheet_told.emit(self.sheet.currentData())

    def _add_more(self) -> None:
        self.drawn, self.piece, self.calipers = DrawnPage(), PiecePage(), CalipersPage()
        self.folds = Folds(
            {
                "More drawn": (self.drawn, "Other lines, a rectangle, a sheet of its own size"),
                "The piece": (self.piece, "A trace or the steel itself, its thickness"),
                "Calipers": (self.calipers, "Sizes of the steel, and the pen"),
            }
        )
        self.folds.turned.connect(self._turned)
        self.column.addWidget(self.folds)
        inside = QWidget()
        inside.setObjectName("measures")
        self._shown = QVBoxLayout(inside)
        self._shown.setContentsMargins(0, 0, 0, 0)
        self._shown.setSpacing(GAP_PX - 2)
        for page in (self.drawn, self.piece, self.calipers):
            page.refused.connect(lambda words: self.say(words))
            self._shown.addWidget(page)
        area = QScrollArea()
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidgetResizable(True)
        area.setWidget(inside)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.column.addWidget(area, 1)

    def _add_result(self) -> None:
        self._result_head = words("What was measured", "group")
        self.result = words("")
        self.notes = words("", "quiet")
        for part in (self._result_head, self.result, self.notes):
            self._shown.addWidget(part)
        self._shown.addStretch(1)
        self._turned()

    def show_facts(self, job: Job, *, pen_can_be_kept: bool = False) -> None:
        """Show what was told about the photo."""
        photo, unit = job.photo, job.unit
        line = first_of(photo, LineReference)
        self.line.set_unit(unit)
        self.line.show_value(None if line is None else line.length_mm)
        marked = line is not None and line.ends_px is not None
        if not self.mark.isChecked():
            self.mark.setText("Mark again" if marked else "Mark the line")
        self._show_sheet(first_of(photo, SheetReference), unit)
        if first_of(photo, MatReference) is not None:
            self.sheet.setCurrentIndex(self.sheet.findData(MAT))
        for part in (self.line, self.mark, self.sheet, self.drawn, self.piece, self.calipers):
            part.setEnabled(photo is not None)
        self.drawn.show_facts(photo, unit)
        self.piece.show_facts(job)
        self.calipers.show_facts(job, pen_can_be_kept=pen_can_be_kept)

    def _show_sheet(self, sheet: SheetReference | None, unit: Unit) -> None:
        """Show the told sheet; one of another size gets a row of its own."""
        own = self.sheet.findData(OWN_SIZE)
        if own >= 0:
            self.sheet.removeItem(own)
        key = paper_key(sheet)
        if sheet is not None and not key:
            self.sheet.addItem(size_words((sheet.width_mm, sheet.height_mm), unit), OWN_SIZE)
            key = OWN_SIZE
        self.sheet.setCurrentIndex(max(self.sheet.findData(key), 0))

    def show_measure(self, capture: Capture | None, unit: Unit, *, ready: bool, used: bool) -> None:
        """Show what was measured, and let the main button say what comes next.

        Parameters
        ----------
        capture : Capture, optional
            The measured piece, of the facts as they stand.
        ready : bool
            Whether there is something of known size.
        used : bool
            Whether this piece is the job's steel already.
        """
        self.main.setText("Use this piece" if capture is not None else "Measure the sheet")
        self.main.setAccessibleName(self.main.text())
        self.main.setEnabled(ready and not (capture is not None and used))
        self.again.setVisible(capture is not None)
        self.sentence.setText(TELL if capture is None else USED if used else LOOK)
        self.result.setText("" if capture is None else result_words(capture, unit))
        notes = () if capture is None else notes_beside(capture)
        self.notes.setText("\n".join(f"• {in_the_window(note)}" for note in notes))
        checks = () if capture is None else capture.checks
        self.calipers.show_checks(
            [(check.size, check_words(check, unit)) for check in checks],
            "" if capture is None else offset_words(capture.pen_offset, capture.offset, unit),
        )
        self._turned()

    def show_result(self) -> None:
        """Fold what may be told away, so that what was measured is seen.

        The page with the sizes stays: there the measure answers to each.
        """
        if self.folds.page is not self.calipers:
            self.folds.open(None)

    def show_entry(self, entry: Entry) -> None:
        """Go to a field whose text was refused, and say so."""
        for page in (self.drawn, self.piece, self.calipers):
            if page.isAncestorOf(entry):
                self.folds.open(page)
        if not self.message:
            self.say(f"{entry.accessibleName()}: this cannot be used. Mend it or take it back.")
        entry.setFocus()

    def show_pointing(
        self, *, line: int | None = None, between: int | None = None, inside: bool = False
    ) -> None:
        """Show what a click on the photo points at now."""
        self.mark.setChecked(line == 0)
        self.drawn.show_pointing(line)
        self.calipers.show_pointing(between)
        self.piece.inside.setChecked(inside)
        if line == 0:
            self.mark.setText("Marking…")
        if line is not None or inside or between is not None:
            self.sentence.setText(
                POINT_LINE if line is not None else POINT_INSIDE if inside else POINT
            )

    def _turned(self) -> None:
        """Show what was measured while no page is open."""
        folded = self.folds.page is None
        for part in (self._result_head, self.result):
            part.setVisible(folded and bool(self.result.text()))
        self.notes.setVisible(folded and bool(self.notes.text()))


def paper_key(sheet: SheetReference | None) -> str:
    """Return the name of a sheet's paper, empty if it has none."""
    if sheet is None:
        return ""
    sides = sorted((sheet.width_mm, sheet.height_mm))
    return next((key for key, size in PAPERS.items() if sorted(size) == sides), "")


def result_words(capture: Capture, unit: Unit) -> str:
    """Return size and trust of a measured piece."""
    from app.gui.canvas.sheet_scene import sides_mm

    sizes = " x ".join(
        format_length(side, unit, decimals=1 if unit == "mm" else 2)
        for side in sides_mm(capture.billet)
    )
    sigmas = sorted(capture.billet.vertex_sigma_mm) or [0.0]
    places = 2 if unit == "mm" else 3
    usual, worst = (
        format_length(2 * sigma, unit, decimals=places)
        for sigma in (sigmas[len(sigmas) // 2], sigmas[-1])
    )
    calipers = checks_words(capture.checks)
    holes = len(capture.billet.shape.interiors)
    drilled = f", {holes} {'hole' if holes == 1 else 'holes'}" if holes else ""
    return (
        f"Piece of {sizes}{drilled}.\nIts edge: give or take {usual}, {worst} at worst.{calipers}"
    )


def notes_beside(capture: Capture) -> list[str]:
    """Return what the maker should know, without what stands at each size told."""
    told = {check.sentence() for check in capture.checks}
    return [note for note in capture.notes if note not in told]


def checks_words(checks: tuple[Check, ...]) -> str:
    """Return how many sizes of the steel agree, a line below others; empty if none was told."""
    if not checks:
        return ""
    agree = sum(check.agrees for check in checks)
    if agree == len(checks):
        return "\nWhat calipers say agrees."
    if not agree:
        return "\nWhat calipers say does not agree: see “Calipers”."
    return f"\n{agree} of {len(checks)} sizes by calipers agree: see “Calipers”."

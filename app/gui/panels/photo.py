"""The panel of the photo step: what is known on the sheet, and what was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.document.job import Job
from app.document.lengths import Unit
from app.document.wording import check_words, offset_words
from app.gui.check_box import CheckBox
from app.gui.choice import Choice
from app.gui.errors import in_the_window
from app.gui.length_field import Entry, LengthField
from app.gui.panels.calipers_page import POINT, CalipersPage
from app.gui.panels.drawn_page import DrawnPage, bars_mm, require_bars
from app.gui.panels.folds import Folds, Row
from app.gui.panels.panel import Panel, Waiting, button, stacked, words
from app.gui.panels.photo_words import notes_beside, result_words, told_now, trust_words
from app.gui.panels.piece_page import PiecePage
from app.gui.places import numbered
from app.gui.size_field import SizeField, require_drawn, size_words
from app.gui.steps.told import first_of
from app.gui.theme import GAP_PX
from calibration.references import (
    PAPER_LABELS,
    PAPERS,
    LineReference,
    MatReference,
    SheetReference,
)
from calibration.sizes import SteelSize

if TYPE_CHECKING:
    from calibration.capture import Capture

TELL = "Tell what is drawn on the sheet in a known size, then measure."
USED = "This piece is in use. If you tell something else here, measure again."
STALE = "You told something else since this was measured: measure again."
TOGETHER_STALE = "Measure again to see what the sizes tell together."
LOOK = "Is the line on the photo the steel's edge? Then use this piece."
POINT_LINE = "Click on one end of the line, then on the other. Esc leaves it."
POINT_INSIDE = "Click anywhere inside the piece. Esc leaves it."
OWN_SIZE = "own"
LINE_PX, MARK_PX, BARS_PX = 104, 112, 150
BARS_READ = ("bars: 119.6 x 119.8", "bars: 4.709 x 4.717")  # of 120 mm, in mm and in inches
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
    bars_told : Signal
        What the mat's bars measure, two lengths in mm, or None.
    drawn, piece, calipers : Page
        What else may be told, folded away.
    failed : bool
        Whether what the panel says is why the photo could not be measured.
    """

    main_asked = Signal()
    again_asked = Signal()
    mark_asked = Signal(bool)
    line_told = Signal(object)
    sheet_told = Signal(str)
    bars_told = Signal(object)

    def __init__(self) -> None:
        super().__init__("Photo", TELL, "Next: steel")
        self.failed = False
        self._pointing = ""  # what a click is waited for, in words
        self.main = button("Measure the sheet", primary=True)
        self.main.clicked.connect(self.main_asked)
        self.again = button("Measure again")
        self.again.clicked.connect(self.again_asked)
        asking = stacked((self.again, self.main))
        self.waiting = Waiting("Measuring", asking)
        self.foot.addWidget(asking)
        self.foot.addWidget(self.waiting)
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
        self.sheet = Choice()
        self.sheet.addItem("not told", "")
        for key in PAPERS:
            self.sheet.addItem(PAPER_LABELS[key], key)
        self.sheet.activated.connect(self._tell_sheet)
        self.add_row("sheet of paper", self.sheet)
        self._add_mat()

    def _add_mat(self) -> None:
        self.mat = CheckBox("printed mat")
        self.mat.setToolTip("The piece lies on the mat that “Save a mat to print” makes")
        self.mat.clicked.connect(lambda on: self.sheet_told.emit(MAT if on else ""))
        self.bars = SizeField(
            "Bars of the printed mat, across and up", where="Bars", examples=BARS_READ
        )
        self.bars.setToolTip("What calipers read of the mat's two bars, across and up")
        self.bars.set_check(require_bars)
        self.bars.told.connect(self.bars_told)
        self.bars.refused.connect(lambda words: self.say(words))
        self.bars.setFixedWidth(BARS_PX)
        line = QHBoxLayout()
        line.addWidget(self.mat, 1)
        line.addWidget(self.bars)
        self.column.addLayout(line)

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
        self.result, self.notes, self.trust = words(""), words(""), words("", "quiet")
        for part in (self._result_head, self.result, self.notes, self.trust):
            self._shown.addWidget(part)
            part.hide()
        self._shown.addStretch(1)

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
        mat = first_of(photo, MatReference)
        self.mat.setChecked(mat is not None)
        self.bars.show_size(bars_mm(mat), unit)
        known = (self.line, self.mark, self.sheet, self.mat)
        for part in (*known, self.drawn, self.piece, self.calipers):
            part.setEnabled(photo is not None)
        self.bars.setEnabled(mat is not None)
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

    def show_measure(
        self,
        capture: Capture | None,
        unit: Unit,
        *,
        ready: bool,
        used: bool,
        sizes: tuple[SteelSize, ...] = (),
        stale: bool = False,
    ) -> None:
        """Show what was measured, and let the main button say what comes next.

        Parameters
        ----------
        capture : Capture, optional
            The measured piece.
        ready : bool
            Whether there is something of known size.
        used : bool
            Whether this piece is the job's steel already.
        sizes : tuple of SteelSize
            Sizes of the steel as they are told now.
        stale : bool
            Whether something else is told by now than when it was measured.
        """
        first = capture is None
        name = "Measure the sheet" if first else "Measure again" if stale else "Use this piece"
        self.main.setText(name)
        self.main.setAccessibleName(name)
        self.main.setEnabled(ready and (first or stale or not used))
        self.again.setVisible(not first and not stale)
        said = TELL if first else STALE if stale else USED if used else LOOK
        self.sentence.setText(self._pointing or said)
        self._show_result(capture, unit)
        checks = () if capture is None else told_now(capture.checks, sizes)
        together = "" if capture is None else offset_words(capture.pen_offset, capture.offset, unit)
        if together and stale:
            together = TOGETHER_STALE
        self.calipers.show_checks(
            [(check.size, check_words(check, unit)) for check in checks], together
        )

    def _show_result(self, capture: Capture | None, unit: Unit) -> None:
        notes, _ = ([], []) if capture is None else numbered(notes_beside(capture))
        self.result.setText("" if capture is None else result_words(capture, unit))
        self.notes.setText("\n".join(f"• {in_the_window(note)}" for note in notes))
        self.trust.setText("" if capture is None else trust_words(capture, unit))
        for part in (self.result, self.notes, self.trust):
            part.setVisible(bool(part.text()))
        self._result_head.setVisible(capture is not None)

    def show_result(self) -> None:
        """Fold what may be told away, so that what was measured is seen whole.

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
        self._pointing = POINT_LINE if line is not None else POINT_INSIDE if inside else ""
        if between is not None:
            self._pointing = POINT
        if self._pointing:
            self.sentence.setText(self._pointing)


def paper_key(sheet: SheetReference | None) -> str:
    """Return the name of a sheet's paper, empty if it has none."""
    if sheet is None:
        return ""
    sides = sorted((sheet.width_mm, sheet.height_mm))
    return next((key for key, size in PAPERS.items() if sorted(size) == sides), "")

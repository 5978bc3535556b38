"""The panel of the photo step: what is known on the sheet, and what was measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QWidget

from app.document.job import Job
from app.document.lengths import Unit, format_length
from app.gui.errors import in_the_window
from app.gui.length_field import Entry, LengthField
from app.gui.panels.panel import Panel, Waiting, button, words
from app.gui.panels.steel import require_thickness
from app.gui.size_field import SizeField, require_drawn, size_words
from calibration.references import (
    PAPER_LABELS,
    PAPERS,
    LineReference,
    MatReference,
    RectangleReference,
    SheetReference,
)

if TYPE_CHECKING:
    from calibration.capture import Capture

TELL = "Tell what is drawn on the sheet in a known size, then measure."
USED = "This piece is in use. If you tell something else here, measure again."
LOOK = "Is the line on the photo the steel's edge? Then use this piece."
POINT_LINE = "Click on one end of the line, then on the other. Esc leaves it."
POINT_INSIDE = "Click anywhere inside the piece. Esc leaves it."
MOST_NOTES = 4
MORE, LESS = "A rectangle, the steel itself, more… ▸", "Less to tell ▾"
OWN_SIZE = "own"
MAT = "mat"
BARS_READ = ("119.6 x 119.8", "4.709 x 4.717")  # of 120 mm, in mm and in inches
EDGES = {"inner": "inner side of the ink", "middle": "middle of the ink", "outer": "outer side"}
SUBJECTS = {"trace": "a traced line", "steel": "the steel itself"}


class PhotoPanel(Panel):
    """Controls of the photo step.

    Attributes
    ----------
    main_asked, again_asked, mark_asked, inside_asked : Signal
        A button: measure or use, measure again, mark the line (whether on), point into the piece.
    line_told, thickness_told, rectangle_told, bars_told : Signal
        A length in mm or None; two in mm or None: the rectangle's sides, or what the mat's bars
        across and up measure.
    sheet_told, edge_told, subject_told : Signal
        The chosen key.
    """

    main_asked = Signal()
    again_asked = Signal()
    mark_asked = Signal(bool)
    inside_asked = Signal(bool)
    line_told = Signal(object)
    rectangle_told = Signal(object)
    bars_told = Signal(object)
    sheet_told = Signal(str)
    edge_told = Signal(str)
    subject_told = Signal(str)
    thickness_told = Signal(object)

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
        self.column.addStretch(1)

    def _add_known(self) -> None:
        self.add_group("Known on the sheet")
        self.line = LengthField("Length of the drawn line", optional=True)
        self.line.setPlaceholderText("3 in, 100 mm")
        self.line.set_check(lambda mm: require_drawn(mm, "Drawn line"))
        self.line.edited.connect(lambda mm: self.line_told.emit(mm))
        self.line.cleared.connect(lambda: self.line_told.emit(None))
        self.add_row("drawn line, its length", self.line)
        self.mark = button(
            "Mark the line", tip="Point at its two ends, if it is not found by itself"
        )
        self.mark.setCheckable(True)
        self.mark.clicked.connect(self.mark_asked)
        self.add_row("its ends", self.mark)
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
        self.more = button(MORE)
        self.more.setCheckable(True)
        self.more.toggled.connect(self._fold)
        self.column.addWidget(self.more)
        self.rectangle = SizeField("Sides of the drawn rectangle")
        self.rectangle.told.connect(self.rectangle_told)
        self.bars = SizeField(
            "Bars of the printed mat, across and up", where="Bars", examples=BARS_READ
        )
        self.bars.told.connect(self.bars_told)
        self.subject, self.edge = QComboBox(), QComboBox()
        for box, names, told in (
            (self.subject, SUBJECTS, self.subject_told),
            (self.edge, EDGES, self.edge_told),
        ):
            for key, label in names.items():
                box.addItem(label, key)
            box.activated.connect(lambda _, box=box, told=told: told.emit(box.currentData()))
        self.thickness = LengthField("Thickness of the steel", optional=True)
        self.thickness.setPlaceholderText("not told")
        self.thickness.set_check(require_thickness)
        self.thickness.edited.connect(lambda mm: self.thickness_told.emit(mm))
        self.thickness.cleared.connect(lambda: self.thickness_told.emit(None))
        self.inside = button("Point at it")
        self.inside.setCheckable(True)
        self.inside.clicked.connect(self.inside_asked)
        self._folded: list[QWidget] = []
        for label, field, width in (
            ("drawn rectangle", self.rectangle, 176),
            ("mat's two bars", self.bars, 176),
            ("photo shows", self.subject, 176),
            ("its thickness", self.thickness, 118),
            ("steel is at the", self.edge, 176),
            ("inside of the piece", self.inside, 118),
        ):
            self._folded += [self.add_row(label, field, width=width), field]

    def _add_result(self) -> None:
        self._result_head = self.add_group("What was measured")
        self.result = words("")
        self.notes = words("", "quiet")
        self.column.addWidget(self.result)
        self.column.addWidget(self.notes)
        self._fold(False)

    def show_facts(self, job: Job) -> None:
        """Show what was told about the photo."""
        photo, unit = job.photo, job.unit
        self.thickness.set_unit(unit)
        self.thickness.show_value(job.thickness_mm)
        references = () if photo is None else photo.references
        line = next((one for one in references if isinstance(one, LineReference)), None)
        self.line.set_unit(unit)
        self.line.show_value(None if line is None else line.length_mm)
        marked = line is not None and line.ends_px is not None
        if not self.mark.isChecked():
            self.mark.setText("Mark again" if marked else "Mark the line")
        sheet = next((one for one in references if isinstance(one, SheetReference)), None)
        self._show_sheet(sheet, unit)
        mat = next((one for one in references if isinstance(one, MatReference)), None)
        if mat is not None:
            self.sheet.setCurrentIndex(self.sheet.findData(MAT))
        self.bars.show_size(bars_mm(mat), unit)
        box = next((one for one in references if isinstance(one, RectangleReference)), None)
        self.rectangle.show_size(None if box is None else (box.width_mm, box.height_mm), unit)
        if photo is not None:
            self.subject.setCurrentIndex(self.subject.findData(photo.subject))
            self.edge.setCurrentIndex(self.edge.findData(photo.edge))
            self.inside.setText("Point again" if photo.inside_px else "Point at it")
        for part in (self.line, self.mark, self.sheet, self.more, *self._folded):
            part.setEnabled(photo is not None)
        traced = photo is not None and photo.subject == "trace"
        self.edge.setEnabled(traced)
        self.bars.setEnabled(mat is not None)
        self.thickness.setEnabled(photo is not None and not traced)

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
        notes = () if capture is None else capture.notes
        self.notes.setText("\n".join(f"• {in_the_window(note)}" for note in notes[:MOST_NOTES]))
        self._fold(self.more.isChecked())

    def show_result(self) -> None:
        """Fold what may be told away, so that what was measured is seen."""
        self.more.setChecked(False)

    def show_entry(self, entry: Entry) -> None:
        """Go to a field whose text was refused, and say so."""
        if entry in self._folded:
            self.more.setChecked(True)
        if not self.message:
            self.say(f"{entry.accessibleName()}: this cannot be used. Mend it or take it back.")
        entry.setFocus()

    def show_pointing(self, *, line: bool = False, inside: bool = False) -> None:
        """Show what a click on the photo points at now."""
        self.mark.setChecked(line)
        self.inside.setChecked(inside)
        if line or inside:
            self.mark.setText("Marking…" if line else self.mark.text())
            self.sentence.setText(POINT_LINE if line else POINT_INSIDE)

    def _fold(self, opened: bool) -> None:
        self.more.setText(LESS if opened else MORE)
        for part in self._folded:
            part.setVisible(opened)
        for part in (self._result_head, self.result):
            part.setVisible(not opened and bool(self.result.text()))
        self.notes.setVisible(not opened and bool(self.notes.text()))


def bars_mm(mat: MatReference | None) -> tuple[float, float] | None:
    """Return what the mat's bars measure across and up, mm; None if nobody told."""
    if mat is None or mat.printed_x is None or mat.printed_y is None:
        return None
    from calibration.mat import BAR_MM  # markers, and with them cv2: not on the way in

    return mat.printed_x * BAR_MM, mat.printed_y * BAR_MM


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
    holes = len(capture.billet.shape.interiors)
    drilled = f", {holes} {'hole' if holes == 1 else 'holes'}" if holes else ""
    return f"Piece of {sizes}{drilled}.\nIts edge: give or take {usual}, {worst} at worst."

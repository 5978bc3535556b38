"""What else is drawn on the sheet in a known size: more lines, a rectangle, a cross, bars."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton

from app.document.job import PhotoFacts
from app.document.lengths import Unit
from app.gui.length_field import LengthField
from app.gui.panels.folds import WIDE_PX, Page, Row
from app.gui.panels.panel import button
from app.gui.size_field import SizeField, require_drawn
from app.gui.steps.told import first_of, lines_of
from calibration.references import CrossReference, MatReference, RectangleReference, SheetReference

MOST_LINES = 4
MARK_PX, LINE_PX = 70, 98
CROSS_READ = ("150 x 100", "6 x 4")
SHEETS_READ = ("300 x 200", "12 x 9")


class DrawnPage(Page):
    """Rows for everything of known size beyond the first line and the sheet.

    Attributes
    ----------
    line_told : Signal
        Which line, from 0, and its length in mm or None.
    mark_asked : Signal
        Which line's ends are to be pointed at, and whether.
    rectangle_told, cross_told, sheet_told : Signal
        Two lengths in mm, or None.
    """

    line_told = Signal(int, object)
    mark_asked = Signal(int, bool)
    rectangle_told = Signal(object)
    cross_told = Signal(object)
    sheet_told = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[tuple[Row, LengthField, QPushButton]] = []
        for index in range(1, MOST_LINES):
            self._add_line(index)
        self.rectangle = SizeField("Sides of the drawn rectangle")
        self.cross = SizeField(
            "Lengths of two lines that cross at right angles", where="Cross", examples=CROSS_READ
        )
        self.sheet = SizeField(
            "Sides of a sheet of its own size", where="Sheet", examples=SHEETS_READ
        )
        for label, field, told in (
            ("drawn rectangle", self.rectangle, self.rectangle_told),
            ("crossed lines", self.cross, self.cross_told),
            ("sheet, own size", self.sheet, self.sheet_told),
        ):
            field.told.connect(told)
            field.setToolTip(field.accessibleName())
            self.add_row(label, field, width=WIDE_PX)

    def _add_line(self, index: int) -> None:
        field = LengthField("Length of another drawn line", optional=True)
        field.setPlaceholderText("not told")
        field.set_check(lambda mm: require_drawn(mm, "Drawn line"))
        field.edited.connect(lambda mm: self.line_told.emit(index, mm))
        field.cleared.connect(lambda: self.line_told.emit(index, None))
        mark = button("Mark", tip="Point at its two ends, if it is not found by itself")
        mark.setCheckable(True)
        mark.setFixedWidth(MARK_PX)
        mark.clicked.connect(lambda on: self.mark_asked.emit(index, on))
        self.lines.append((self.add_row("another line", field, mark, width=LINE_PX), field, mark))

    def show_facts(self, photo: PhotoFacts | None, unit: Unit) -> None:
        """Show what was told; one row more than there are lines."""
        told = lines_of(photo)
        for index, (row, field, mark) in enumerate(self.lines, start=1):
            line = told[index] if index < len(told) else None
            field.set_unit(unit)
            field.show_value(None if line is None else line.length_mm)
            mark.setEnabled(line is not None)
            mark.setText("Again" if line is not None and line.ends_px else "Mark")
            row.setVisible(index <= max(len(told), 1))
        box = first_of(photo, RectangleReference)
        self.rectangle.show_size(None if box is None else (box.width_mm, box.height_mm), unit)
        cross = first_of(photo, CrossReference)
        self.cross.show_size(None if cross is None else (cross.first_mm, cross.second_mm), unit)
        sheet = first_of(photo, SheetReference)
        self.sheet.show_size(None if sheet is None else (sheet.width_mm, sheet.height_mm), unit)

    def show_pointing(self, index: int | None) -> None:
        """Show which line's ends a click marks now, if any."""
        for number, (_, _, mark) in enumerate(self.lines, start=1):
            mark.setChecked(number == index)


def bars_mm(mat: MatReference | None) -> tuple[float, float] | None:
    """Return what the mat's bars measure across and up, mm; None if nobody told."""
    if mat is None or mat.printed_x is None or mat.printed_y is None:
        return None
    from calibration.mat import BAR_MM  # markers, and with them cv2: not on the way in

    return mat.printed_x * BAR_MM, mat.printed_y * BAR_MM


def require_bars(read_mm: tuple[float, float]) -> None:
    """Raise InputError for lengths that the mat's bars cannot have."""
    bars_told(read_mm)


def bars_told(read_mm: tuple[float, float] | None) -> MatReference:
    """Return the mat with what its bars measure, mm; InputError if they cannot."""
    from calibration.mat import BAR_MM

    if read_mm is None:
        return MatReference()
    across, up = (one / BAR_MM for one in read_mm)
    return MatReference(printed_x=across, printed_y=up)

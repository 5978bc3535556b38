"""What calipers say of the steel, and what the pen stood off: they check or correct the trace."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton

from app.document.job import Job
from app.gui.check_box import CheckBox
from app.gui.choice import Choice
from app.gui.length_field import LengthField
from app.gui.panels.folds import Page, Row
from app.gui.panels.panel import button, words
from app.gui.size_field import require_drawn
from calibration.sizes import Kind, SteelSize

MOST_BETWEEN = 4
POINT_PX, READ_PX, PEN_PX = 70, 98, 128
NO_PEN, OWN_OFFSET = "", "\0"  # no pen has such a name
WHOLE: tuple[tuple[Kind, str], ...] = (("length", "whole length"), ("width", "widest place"))
POINT = "Click where one jaw was, then where the other was. Esc leaves it."


class CalipersPage(Page):
    """Rows for sizes of the steel and for the pen.

    Attributes
    ----------
    size_told : Signal
        Length or width of the whole piece: which, and mm or None.
    between_told : Signal
        Which width between two places, from 0, and what was read, mm or None.
    point_asked : Signal
        Which of them is to be pointed at, and whether.
    correct_told : Signal
        Whether the sizes correct the trace.
    pen_told : Signal
        The name of the chosen pen; empty for none.
    offset_told : Signal
        What the pen stands off, mm or None.
    keep_asked : Signal
        Keep what the sizes tell of the pen.
    forget_asked : Signal
        Forget the kept pen of a name.
    """

    size_told = Signal(str, object)
    between_told = Signal(int, object)
    point_asked = Signal(int, bool)
    correct_told = Signal(bool)
    pen_told = Signal(str)
    offset_told = Signal(object)
    keep_asked = Signal()
    forget_asked = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.whole: dict[Kind, tuple[Row, LengthField]] = {}
        for kind, label in WHOLE:
            field = self._field(f"Calipers: {label}")
            field.edited.connect(lambda mm, kind=kind: self.size_told.emit(kind, mm))
            field.cleared.connect(lambda kind=kind: self.size_told.emit(kind, None))
            self.whole[kind] = (self.add_row(label, field), field)
        self.between: list[tuple[Row, LengthField, QPushButton]] = []
        for index in range(MOST_BETWEEN):
            self._add_between(index)
        self.correct = CheckBox("correct the trace by these sizes")
        self.correct.clicked.connect(self.correct_told)
        self.column.addWidget(self.correct)
        self.together = words("", "quiet")
        self.column.addWidget(self.together)
        self._add_pen()

    def _field(self, name: str) -> LengthField:
        field = LengthField(name, optional=True)
        field.setPlaceholderText("not told")
        field.set_check(lambda mm: require_drawn(mm, "Calipers"))
        return field

    def _add_between(self, index: int) -> None:
        field = self._field("Calipers: width between two places")
        field.edited.connect(lambda mm: self.between_told.emit(index, mm))
        field.cleared.connect(lambda: self.between_told.emit(index, None))
        point = button("Point", tip="Point at the two places where the jaws were")
        point.setCheckable(True)
        point.setFixedWidth(POINT_PX)
        point.clicked.connect(lambda on: self.point_asked.emit(index, on))
        row = self.add_row("width at a place", field, point, width=READ_PX)
        self.between.append((row, field, point))

    def _add_pen(self) -> None:
        self.pen = Choice()
        self.pen.setAccessibleName("Pen of the trace")
        self.pen.activated.connect(self._choose_pen)
        self.keep = button("Keep…", tip="Use what the sizes tell of it for other traces")
        self.keep.clicked.connect(self.keep_asked)
        self.forget = button("Forget", tip="Take this pen off the list")
        self.forget.clicked.connect(lambda: self.forget_asked.emit(self.pen.currentData()))
        for one in (self.keep, self.forget):
            one.setFixedWidth(POINT_PX)
        self.forget.hide()
        self.add_row("traced with", self.pen, self.keep, self.forget, width=PEN_PX)
        self.offset = LengthField("What the pen stands off", optional=True)
        self.offset.setPlaceholderText("0.5 mm")
        self.offset.edited.connect(lambda mm: self.offset_told.emit(mm))
        self.offset.cleared.connect(lambda: self.offset_told.emit(None))
        self._offset_row = self.add_row("it stands off", self.offset)
        self.show_pens(())
        self._offset_row.hide()

    def _choose_pen(self) -> None:
        own = self.pen.currentData() == OWN_OFFSET
        self._offset_row.setVisible(own)
        if own:
            self.offset.setFocus()
        else:
            self.pen_told.emit(self.pen.currentData())

    def show_pens(self, names: tuple[str, ...]) -> None:
        """List the pens that were measured; the chosen one stays."""
        chosen = self.pen.currentData()
        self.pen.clear()
        self.pen.addItem("any pen", NO_PEN)
        for name in names:
            self.pen.addItem(name, name)
        self.pen.addItem("a pen I measured…", OWN_OFFSET)
        self.pen.setCurrentIndex(max(self.pen.findData(chosen), 0))

    def show_facts(self, job: Job, *, pen_can_be_kept: bool) -> None:
        """Show what was told; one row more than there are widths."""
        photo = job.photo
        sizes = () if photo is None else photo.sizes
        for kind, (_, field) in self.whole.items():
            field.set_unit(job.unit)
            field.show_value(next((one.true_mm for one in sizes if one.kind == kind), None))
        between = [one for one in sizes if one.kind == "between"]
        for index, (row, field, point) in enumerate(self.between):
            told = between[index] if index < len(between) else None
            field.set_unit(job.unit)
            field.show_value(None if told is None else told.true_mm)
            point.setText("Point" if told is None else "Again")
            row.setVisible(index <= len(between))
        traced = photo is not None and photo.subject == "trace"
        self.correct.setEnabled(traced and bool(sizes))
        self.correct.setChecked(photo is not None and photo.correct_offset)
        self.pen.setEnabled(traced)
        self.keep.setEnabled(pen_can_be_kept)
        self._show_pen(job)

    def _show_pen(self, job: Job) -> None:
        pen = None if job.photo is None else job.photo.pen
        own = pen is not None and not pen.name
        self.offset.set_unit(job.unit)
        self.offset.setPlaceholderText("0.02 in" if job.unit == "in" else "0.5 mm")
        self.offset.show_value(pen.offset_mm if pen is not None and own else None)
        key = OWN_OFFSET if own else NO_PEN if pen is None else pen.name
        if self.pen.findData(key) < 0:  # chosen before, and forgotten since
            self.pen.insertItem(1, key, key)
        if pen is not None or self.pen.currentData() != OWN_OFFSET or not self.offset.hasFocus():
            self.pen.setCurrentIndex(self.pen.findData(key))
            self._offset_row.setVisible(own)
        named = pen is not None and not own
        self.forget.setVisible(named)
        self.keep.setVisible(not named)

    def read_mm(self, index: int) -> float | None:
        """Return what stands in a row for a width between two places, mm."""
        return self.between[index][1].value

    def show_checks(self, said: list[tuple[SteelSize, str]], together: str) -> None:
        """Show what the measure says to each size, below it, and to all of them."""
        self.together.setText(together)
        self.together.setVisible(bool(together))
        by_kind: dict[Kind, str] = {
            size.kind: told for size, told in said if size.kind != "between"
        }
        for kind, (row, _) in self.whole.items():
            row.say(by_kind.get(kind, ""))
        between = [told for size, told in said if size.kind == "between"]
        for index, (row, _, _) in enumerate(self.between):
            row.say(between[index] if index < len(between) else "")

    def show_pointing(self, index: int | None) -> None:
        """Show which width's places a click points at now, if any."""
        for number, (_, _, point) in enumerate(self.between):
            point.setChecked(number == index)

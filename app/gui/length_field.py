"""Fields for numbers with a unit, read as people write them in any locale."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from app.document.lengths import (
    MM_PER_INCH,
    Unit,
    format_fraction,
    format_length,
    parse_length_mm,
)
from geometry.errors import InputError, ToolError

WHOLE, INCH_MARK = 1e-9, '"'
NUMBER = re.compile(r"([+\-−]?\s*(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*°?")


class Entry(QLineEdit):
    """A line to type in that shows by its frame when its text cannot be used."""

    refused = Signal(str)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.textEdited.connect(lambda _: self.mark(False))

    @property
    def is_wrong(self) -> bool:
        """Whether the text was refused and stands there still."""
        return bool(self.property("wrong"))

    def mark(self, wrong: bool) -> None:
        """Show whether the text can be used."""
        if self.is_wrong != wrong:
            self.setProperty("wrong", wrong)
            self.style().unpolish(self)
            self.style().polish(self)


class NumberField(Entry):
    """A line to type a number in; keeps the last good value while the text is no number.

    Attributes
    ----------
    edited : Signal
        The person entered another value: its float, in mm, degrees or plain.
    refused : Signal
        The text is no value: what is wrong, in words; an empty text when all is well again.
    """

    edited = Signal(float)

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(name, parent)
        self._value: float | None = None
        self._where = name
        self._check: Callable[[float], None] = lambda value: None
        self.editingFinished.connect(self.take_text)

    @property
    def value(self) -> float | None:
        """The last good value; None while nothing was entered."""
        return self._value

    def show_value(self, value: float | None) -> None:
        """Show a value that came from elsewhere; an entry that is being typed stays."""
        same = value == self._value
        self._value = value
        if same and self.hasFocus() and (self.isModified() or self.is_wrong):
            return
        self.mark(False)
        self._show()

    def set_check(self, check: Callable[[float], None]) -> None:
        """Let a function raise InputError for values that cannot be used."""
        self._check = check

    def take_text(self) -> None:
        """Read the text: a good value is told, a bad one is marked and the old value kept.

        Nothing typed means the old value.
        """
        if not self.isModified():
            return
        if not self.text().strip():
            self.mark(False)
            self._show()
            self.refused.emit("")
            return
        try:
            value = self._read(self.text())
            self._check(value)
        except ToolError as error:
            self.mark(True)
            self.setToolTip(str(error))
            self.refused.emit(str(error))
            return
        self.mark(False)
        changed = value != self._value
        self._value = value
        self._show()
        self.refused.emit("")
        if changed:
            self.edited.emit(value)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take the old value back with Escape."""
        if event.key() == Qt.Key.Key_Escape and (self.isModified() or self.is_wrong):
            self.mark(False)
            self._show()
            self.refused.emit("")
            return
        super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Select all when the field is entered by the keyboard."""
        super().focusInEvent(event)
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self.selectAll()

    def _read(self, text: str) -> float:
        found = NUMBER.fullmatch(text.strip())
        if found is None:
            raise InputError(
                f"“{text}” is not a number.", where=self._where, remedy="Write it like 3.4."
            )
        return float(found[1].replace(",", ".").replace("−", "-").replace(" ", ""))

    def _words(self, value: float) -> tuple[str, str]:
        """Return the text for a value, and the tooltip."""
        return f"{value:g}", ""

    def _show(self) -> None:
        text, tip = ("", "") if self._value is None else self._words(self._value)
        self.setText(text)
        self.setModified(False)
        self.setCursorPosition(0)
        self.setToolTip(tip)


class LengthField(NumberField):
    """A length; the value is in mm whatever the unit shown.

    Parameters
    ----------
    name : str
        What it measures, for messages and screen readers.
    unit : {"mm", "in"}
        The unit shown, and what a bare number means.
    optional : bool
        Whether an empty text means that nothing is told; then ``cleared`` is sent.
    decimals : int, optional
        Places of millimetres shown; as many as matter if left out.
    """

    cleared = Signal()

    def __init__(
        self,
        name: str,
        unit: Unit = "mm",
        *,
        optional: bool = False,
        decimals: int | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(name, parent)
        self._unit: Unit = unit
        self._optional = optional
        self._decimals = decimals

    def set_unit(self, unit: Unit) -> None:
        """Show another unit; the length stays."""
        if unit != self._unit:
            self._unit = unit
            self.mark(False)
            self._show()

    def take_text(self) -> None:
        """Read the text; an empty one clears the value of an optional field."""
        if self._optional and self.isModified() and not self.text().strip():
            self.mark(False)
            self.setModified(False)
            self.refused.emit("")
            if self._value is not None:
                self._value = None
                self.cleared.emit()
            return
        super().take_text()

    def _read(self, text: str) -> float:
        return parse_length_mm(text, unit=self._unit, where=self._where)

    def _words(self, value: float) -> tuple[str, str]:
        places = self._decimals if self._unit == "mm" else None
        text = format_length(value, self._unit, decimals=places)
        if self._unit == "in" and self._decimals is None:
            text = as_marked(value) or text
        if self._unit == "mm":
            other = f"{format_length(value, 'in')}, about {format_fraction(value)}"
        else:
            other = f"{format_length(value, 'mm')}, about {format_fraction(value)}"
        return text, other


def as_marked(value_mm: float) -> str:
    """Return inches as a fraction where three decimals would not keep it; else empty.

    Examples
    --------
    >>> as_marked(7.9375), as_marked(12.7), as_marked(8.0)  # 5/16, 1/2 and 0.315 in
    ('5/16 in', '', '')
    """
    inches = value_mm / MM_PER_INCH
    kept = abs(round(inches, 3) - inches) < WHOLE
    if kept or abs(round(64 * inches) - 64 * inches) > 64 * WHOLE:
        return ""
    return f"{format_fraction(value_mm).removesuffix(INCH_MARK)} in"


class AngleField(NumberField):
    """An angle in degrees."""

    def _words(self, value: float) -> tuple[str, str]:
        rounded = round(value, 2) + 0.0
        return f"{rounded:g}°", f"{math.radians(value):.4f} rad"

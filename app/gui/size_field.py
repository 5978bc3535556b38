"""A field for two sides, read as people write them: 250x100, 8.5 x 11 in."""

from __future__ import annotations

import re
from collections.abc import Callable

from PySide6.QtCore import Signal

from app.document.lengths import Unit, format_length, parse_size_mm
from app.gui.length_field import Entry
from geometry.errors import InputError

EXAMPLES = ("250 x 100", "10 x 4")  # in mm, in inches
TWO = re.compile(r"[x×*]", re.IGNORECASE)
LONGEST_MM = 3000.0  # no sheet and no line drawn on one is longer


class SizeField(Entry):
    """Two lengths, like 250x100; empty when nothing is told.

    Attributes
    ----------
    told : Signal
        The two sides in mm, or None.
    """

    told = Signal(object)

    def __init__(
        self, name: str, *, where: str = "Rectangle", examples: tuple[str, str] = EXAMPLES
    ) -> None:
        super().__init__(name)
        self._where, self._examples = where, examples
        self._unit: Unit = "mm"
        self._size: tuple[float, float] | None = None
        self._check: Callable[[tuple[float, float]], None] = lambda size: None
        self.editingFinished.connect(self._take)

    def set_check(self, check: Callable[[tuple[float, float]], None]) -> None:
        """Let a function raise InputError for lengths that cannot be used."""
        self._check = check

    def show_size(self, size_mm: tuple[float, float] | None, unit: Unit) -> None:
        """Show two lengths, or none; an entry that is being typed stays."""
        self.setPlaceholderText(self._examples[unit == "in"])
        if self.isModified() and size_mm == self._size and unit == self._unit:
            return
        self._size, self._unit = size_mm, unit
        self.mark(False)
        self.setText("" if size_mm is None else size_words(size_mm, unit))
        self.setCursorPosition(0)
        self.setModified(False)

    def _take(self) -> None:
        if not self.isModified():
            return
        text = self.text().strip()
        try:
            size = self._read(text) if text else None
        except InputError as error:
            self.mark(True)
            self.refused.emit(str(error))
            return
        self.setModified(False)
        self.refused.emit("")
        self.told.emit(size)

    def _read(self, text: str) -> tuple[float, float]:
        if not TWO.search(text):
            example = self._examples[self._unit == "in"].rpartition(": ")[2]
            raise InputError(
                "two lengths are asked for.", where=self._where, remedy=f"Write it like {example}."
            )
        size = parse_size_mm(text, unit=self._unit, where=self._where)
        require_drawn(max(size), self._where)
        self._check(size)
        return size


def size_words(size_mm: tuple[float, float], unit: Unit) -> str:
    """Return two sides with their unit once.

    Examples
    --------
    >>> size_words((250.0, 100.0), "mm"), size_words((215.9, 279.4), "in")
    ('250 x 100 mm', '8.5 x 11 in')
    """
    first, second = (format_length(side, unit) for side in size_mm)
    return f"{first.removesuffix(unit).strip()} x {second}"


def require_drawn(length_mm: float, where: str) -> None:
    """Raise InputError for a length that nobody draws on a sheet."""
    if length_mm <= 0:
        raise InputError(
            "it must be longer than zero.", where=where, remedy="Give it as it was drawn."
        )
    if length_mm > LONGEST_MM:
        raise InputError(
            "it is longer than any sheet.", where=where, remedy="Check the number and its unit."
        )

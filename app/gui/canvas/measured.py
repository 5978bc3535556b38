"""What stands round the canvas and counts in the unit in use."""

from __future__ import annotations

from PySide6.QtGui import QFont, QPainter
from PySide6.QtWidgets import QWidget

from app.document.lengths import Unit
from app.gui.theme import theme


class Measured(QWidget):
    """A drawing that counts in a unit, and follows the appearance."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._unit: Unit = "mm"
        theme().changed.connect(self.update)

    def set_unit(self, unit: Unit) -> None:
        """Count in another unit."""
        self._unit = unit
        self.update()

    def painter(self, size: float) -> QPainter:
        """Return a painter that writes at a share of the window's own size."""
        made = QPainter(self)
        font = QFont(self.font())
        font.setPointSizeF(font.pointSizeF() * size)
        made.setFont(font)
        return made

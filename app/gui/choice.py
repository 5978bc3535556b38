"""Lists and sliders that the mouse wheel passes over: it scrolls what they stand in."""

from __future__ import annotations

from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QComboBox, QSlider


class Choice(QComboBox):
    """A list to choose from; its choice is not changed by the wheel while it is closed."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what the list stands in."""
        event.ignore()


class Slide(QSlider):
    """A slider that is pulled or moved by keys alone."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Leave the wheel to what the slider stands in."""
        event.ignore()

"""What the job keeps of its shape that is not among the shapes, or is there otherwise."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.gui.panels.panel import button, side_by_side, words
from app.gui.theme import GAP_PX


class KeptRow(QWidget):
    """A quiet sentence with what can be done; hidden while there is nothing to say.

    Attributes
    ----------
    take_asked, put_asked : Signal
        Take the shape as it is elsewhere; put the job's among the maker's own.
    """

    take_asked = Signal()
    put_asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self._words = words("", "quiet")
        self.take = button("", tip="As it is now; your measures stay where it takes them")
        self.put = button("")
        self.take.clicked.connect(self.take_asked)
        self.put.clicked.connect(self.put_asked)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GAP_PX)
        column.addWidget(self._words)
        column.addLayout(side_by_side(self.take, self.put))
        self._aside = False
        self.hide()

    @property
    def said(self) -> str:
        """The sentence; empty where the row is hidden."""
        return "" if self.isHidden() else self._words.text()

    def say(self, sentence: str, *, take: str = "", put: str = "") -> None:
        """Show a sentence and the buttons that have words; without a sentence hide all."""
        self._words.setText(sentence)
        for one, text in ((self.take, take), (self.put, put)):
            one.setText(text)
            one.setAccessibleName(text)
            one.setVisible(bool(text))
        self._show()

    def show_aside(self, aside: bool) -> None:
        """Keep it out of the way of something begun, or no longer."""
        self._aside = aside
        self._show()

    def _show(self) -> None:
        self.setVisible(bool(self._words.text()) and not self._aside)

"""The menu of the maker's own shapes: keep, rename, copy, write out, bring in, throw away."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from app.gui.panels.panel import button

KEEP, SIZE, USUAL, RANGE, NOTES, RENAME, COPY, WRITE, BRING, TRASH, BACK = (
    "keep", "size", "usual", "range", "notes", "rename", "copy", "write", "bring", "trash", "back",
)  # fmt: skip
ENTRIES = (
    (KEEP, "Keep this shape as your own…"),
    (SIZE, "Keep these measures as a size…"),
    (USUAL, "Make these measures its usual ones"),
    (RANGE, "Change the range of a measure…"),
    ("", ""),
    (NOTES, "Write notes…"),
    (RENAME, "Rename it…"),
    (COPY, "Make a copy…"),
    (WRITE, "Write it to a file…"),
    (TRASH, "Move it to the trash"),
    ("", ""),
    (BRING, "Bring in a file…"),
    (BACK, "Take back from the trash…"),
)
OF_OWN = (SIZE, USUAL, RANGE, NOTES, RENAME, TRASH)  # ask for a shape of the maker's own
OF_FAMILY = (COPY, WRITE)  # ask for a shape with measures


class OwnMenu(QObject):
    """A button with the menu.

    Attributes
    ----------
    asked : Signal
        What is asked for, one of the entries' words.
    """

    asked = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.button = button("Your shapes", tip="Keep a shape as your own, and look after those")
        self._menu = QMenu(self.button)
        self.actions: dict[str, QAction] = {}
        for word, text in ENTRIES:
            if not word:
                self._menu.addSeparator()
                continue
            action = QAction(text, self)  # made here: one that the menu makes may go under our hand
            self._menu.addAction(action)
            action.triggered.connect(lambda _checked=False, word=word: self.asked.emit(word))
            self.actions[word] = action
        self.button.setMenu(self._menu)

    def show_own(self, *, own: bool, family: bool) -> None:
        """Offer what can be done with the chosen shape: a family, one of the maker's own."""
        for words, offered in ((OF_OWN, own), (OF_FAMILY, family)):
            for word in words:
                self.actions[word].setEnabled(offered)

"""Pages of a panel that are folded away until they are wanted, one open at a time."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.gui.length_field import Entry
from app.gui.panels.panel import FIELD_PX, button, words
from app.gui.theme import GAP_PX

WIDE_PX = 176


class Row(QWidget):
    """A value with its label before it, and a quiet line of words below where there are any."""

    def __init__(self, label: str, *fields: QWidget) -> None:
        super().__init__()
        self.label = QLabel(label)
        self.label.setBuddy(fields[0])
        line = QHBoxLayout()
        line.setSpacing(GAP_PX)
        line.addWidget(self.label, 1)
        for field in fields:
            line.addWidget(field)
        self._said = words("", "quiet")
        self._said.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addLayout(line)
        column.addWidget(self._said)

    @property
    def said(self) -> str:
        """The words below."""
        return self._said.text()

    def say(self, text: str) -> None:
        """Show words below, or none."""
        self._said.setText(text)
        self._said.setVisible(bool(text))


class Page(QWidget):
    """A column of rows.

    Attributes
    ----------
    refused : Signal
        What is wrong with an entry, in words; an empty text when all is well again.
    """

    refused = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(GAP_PX - 2)

    def add_row(self, label: str, *fields: QWidget, width: int = FIELD_PX) -> Row:
        """Add a value; the first field is as wide as asked."""
        fields[0].setFixedWidth(width)
        row = Row(label, *fields)
        self.column.addWidget(row)
        for field in fields:
            if isinstance(field, Entry):
                field.refused.connect(self.refused)
        return row


class Folds(QWidget):
    """The heads of some pages, side by side; a press opens one and folds the others away.

    Attributes
    ----------
    turned : Signal
        Another page is open, or none.
    """

    turned = Signal()

    def __init__(self, pages: dict[str, tuple[Page, str]]) -> None:
        super().__init__()
        self._pages = {title: page for title, (page, _) in pages.items()}
        self.heads: dict[str, QPushButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GAP_PX // 2)
        for title, (page, tip) in pages.items():
            head = button(title, tip=tip)
            head.setCheckable(True)
            head.setProperty("head", True)
            head.toggled.connect(lambda on, title=title: self._toggled(title, on))
            self.heads[title] = head
            row.addWidget(head, 1)
            page.hide()
        self._show()

    @property
    def page(self) -> Page | None:
        """The open page."""
        return next(
            (self._pages[title] for title, one in self.heads.items() if one.isChecked()), None
        )

    def open(self, page: Page | None) -> None:
        """Open a page, or fold all away."""
        for title, head in self.heads.items():
            head.setChecked(self._pages[title] is page)

    def _toggled(self, title: str, on: bool) -> None:
        if on:
            for other, head in self.heads.items():
                if other != title:
                    head.setChecked(False)
        self._show()
        self.turned.emit()

    def _show(self) -> None:
        for title, head in self.heads.items():
            head.setText(f"{title} {'▾' if head.isChecked() else '▸'}")
            self._pages[title].setVisible(head.isChecked())

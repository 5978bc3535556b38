"""The page of what must give: changes that make the blank fit, each ready to be made."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from app.gui.check_box import CheckBox
from app.gui.panels.folds import Page
from app.gui.panels.panel import button, words
from app.gui.theme import GAP_PX

MAKE_PX = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceRow:
    """One change: what changes, one line each, and what comes of it."""

    changes: tuple[str, ...]
    outcome: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock:
    """A measure that may be kept as it is."""

    key: str
    label: str
    on: bool


class AdvicePage(Page):
    """A list of changes, and the measures to keep as they are.

    Attributes
    ----------
    made : Signal
        The number of the change to make.
    locked : Signal
        The key of a measure, and whether it is to stay as it is.
    left : Signal
        Show position and rules again.
    """

    made = Signal(int)
    locked = Signal(str, bool)
    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.column.addWidget(words("What must give", "group"))
        self.area = QScrollArea()
        self.area.setFrameShape(QFrame.Shape.NoFrame)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setWidgetResizable(True)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.column.addWidget(self.area, 1)
        self.back = button("Back to position and rules")
        self.back.clicked.connect(self.left)
        self.column.addWidget(self.back)
        self.buttons: list[QWidget] = []
        self.locks: dict[str, CheckBox] = {}

    def show_rows(self, rows: list[AdviceRow], rest: list[str], locks: list[Lock]) -> None:
        """Show changes, the words below them, and what may be kept.

        Parameters
        ----------
        rows : list of AdviceRow
            The smallest change first.
        rest : list of str
            What there is to say besides.
        locks : list of Lock
            In the order to show them.
        """
        inside = QWidget()
        inside.setObjectName("measures")
        column = QVBoxLayout(inside)
        column.setContentsMargins(0, 0, GAP_PX // 2, 0)
        column.setSpacing(GAP_PX)
        self.buttons, self.locks = [], {}
        for number, row in enumerate(rows):
            column.addLayout(self._row(number, row))
        for text in rest:
            column.addWidget(words(text, "quiet"))
        if locks:
            column.addWidget(words("Keep as it is", "group"))
        for lock in locks:
            box = CheckBox(lock.label)
            box.setChecked(lock.on)
            box.clicked.connect(lambda on, key=lock.key: self.locked.emit(key, on))
            self.locks[lock.key] = box
            column.addWidget(box)
        column.addStretch(1)
        self.area.setWidget(inside)

    def _row(self, number: int, row: AdviceRow) -> QHBoxLayout:
        make = button("Apply", tip="Change it so, and lay the blank where it fits then")
        make.setAccessibleName(f"Apply: {', '.join(row.changes)}")
        make.setFixedWidth(MAKE_PX)
        make.clicked.connect(lambda: self.made.emit(number))
        self.buttons.append(make)
        said = QVBoxLayout()
        said.setSpacing(0)
        for change in row.changes:
            said.addWidget(words(change))
        said.addWidget(words(row.outcome, "quiet"))
        line = QHBoxLayout()
        line.addLayout(said, 1)
        line.addWidget(make, 0, Qt.AlignmentFlag.AlignTop)
        return line

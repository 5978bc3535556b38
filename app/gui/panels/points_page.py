"""The page for the points of an edge: add one, remove one, take fewer."""

from __future__ import annotations

from PySide6.QtCore import Signal

from app.document.lengths import Unit, format_length
from app.gui.choice import Choice
from app.gui.panels.folds import Page, Row
from app.gui.panels.panel import Waiting, button, words

EXPLAINED = (
    "Drag a point, or move the last one by the arrow keys. A double click on the edge adds a "
    "point, Delete removes the last one."
)
LOSES = "The first change makes it a drawing, without its measures."
FEWER = "Smoother: curves take the place of many points. Corners and straight stretches stay."
TOLERANCES_MM = (0.1, 0.2, 0.5)
CHOICE_PX = 110


class PointsPage(Page):
    """Controls for the points of an edge.

    Attributes
    ----------
    add_asked : Signal
        Whether the next click on the edge is to add a point.
    remove_asked : Signal
        Remove the point at hand.
    fewer_asked : Signal
        Take fewer points; how far the edge may move, mm.
    left : Signal
        Put the points away.
    """

    add_asked = Signal(bool)
    remove_asked = Signal()
    fewer_asked = Signal(float)
    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.column.addWidget(words(EXPLAINED, "quiet"))
        self.loses = words(LOSES, "message")
        self.loses.hide()
        self.column.addWidget(self.loses)
        self.count = words("")
        self.column.addWidget(self.count)
        self.add = button("Add a point", tip="Then click on the edge where it is to be")
        self.add.setCheckable(True)
        self.add.clicked.connect(self.add_asked)
        self.remove = button("Remove the point", tip="The filled one: the one taken last")
        self.remove.clicked.connect(self.remove_asked)
        self.column.addWidget(self.add)
        self.column.addWidget(self.remove)
        self.column.addWidget(words(FEWER, "quiet"))
        self.tolerance = Choice()
        self.tolerance.setAccessibleName("How far the edge may move")
        self.tolerance.setFixedWidth(CHOICE_PX)
        self.column.addWidget(Row("The edge may move", self.tolerance))
        self.fewer = button("Take fewer points")
        self.fewer.clicked.connect(lambda: self.fewer_asked.emit(self.tolerance.currentData()))
        self.column.addWidget(self.fewer)
        self.waiting = Waiting("Fitting curves", self.fewer)
        self.column.addWidget(self.waiting)
        self.column.addStretch(1)
        self.done = button("Done", tip="Put the points away")
        self.done.clicked.connect(self.left)
        self.column.addWidget(self.done)
        self._unit: Unit | None = None
        self.show_unit("mm")

    def show_unit(self, unit: Unit) -> None:
        """Write lengths in a unit."""
        if unit == self._unit:
            return
        self._unit = unit
        at = max(self.tolerance.currentIndex(), 1)
        self.tolerance.clear()
        for mm in TOLERANCES_MM:
            words = format_length(mm, unit, decimals=1 if unit == "mm" else 3)
            self.tolerance.addItem(words, mm)
        self.tolerance.setCurrentIndex(at)

    def show_points(self, count: int, *, at_hand: bool) -> None:
        """Show how many points there are, and whether one is at hand."""
        self.count.setText(f"{count} points.")
        self.remove.setEnabled(at_hand)

    def show_measures(self, has_measures: bool) -> None:
        """Say what the first change takes away, while the shape has measures."""
        self.loses.setVisible(has_measures)

    def show_adding(self, on: bool) -> None:
        """Show whether a click adds a point."""
        self.add.setChecked(on)

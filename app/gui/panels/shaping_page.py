"""The page that makes an outline of a shape: where its tip, butt, heel and spine are."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton

from app.gui.panels.folds import Page
from app.gui.panels.panel import button, side_by_side, words

EXPLAINED = (
    "The heel comes to the origin, the tip ahead, the spine up. All four are proposed from the "
    "shape; where that is wrong, drag the mark or point at the place."
)
OTHER_PIECE = "The piece is another one now: begin anew with its shape."
NO_PIECE = "The piece is no longer there, so its shape was left."
PIECE_TIP = "Make an outline of the piece that was measured: a traced knife, or a drawn design"
NO_PIECE_TIP = "Measure a photo first, or open a saved piece: step Photo"
OF_PIECE, OF_DRAWING = "Shape of the piece…", "Tip and butt…"  # what begins it
KEPT = "Your marks are kept: “{}” in the step Outline goes on with them."
NOT_MADE = "The outline is still what it was: “{}” in the step Outline goes on with the other one."
COMES_BACK = "Your marks are kept for when it comes back."
AGAIN = "Your marks are there as you left them; undo takes them back one by one."
PLACES = ("tip", "butt", "heel")


class ShapingPage(Page):
    """Controls that say where the parts of the shape are.

    Attributes
    ----------
    point_asked : Signal
        Point at a part, by its name; an empty one ends the pointing.
    over_asked : Signal
        The spine is on the other side.
    taken, left : Signal
        Make it the outline; leave all as it was.
    """

    point_asked = Signal(str)
    over_asked = Signal()
    taken = Signal()
    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.column.addWidget(words(EXPLAINED, "quiet"))
        self.point_at = {name: button(f"Point at the {name}") for name in PLACES}
        for name, one in self.point_at.items():
            one.setCheckable(True)
            one.clicked.connect(lambda on, name=name: self.point_asked.emit(name if on else ""))
            self.column.addWidget(one)
        self.over = button("The spine is on the other side")
        self.over.clicked.connect(self.over_asked)
        self.column.addWidget(self.over)
        self.sizes = words("")
        self.column.addWidget(self.sizes)
        self.doubts = words("", "message")
        self.doubts.hide()
        self.column.addWidget(self.doubts)
        self.column.addStretch(1)
        self.take = button("Make it the outline", primary=True)
        self.take.clicked.connect(self.taken)
        self.leave_it = button("Leave it")
        self.leave_it.clicked.connect(self.left)
        self.column.addLayout(side_by_side(self.leave_it, self.take))

    def show_doubts(self, sentences: Iterable[str]) -> None:
        """Show what is doubted of the proposal."""
        self.doubts.setText("\n".join(sentences))
        self.doubts.setVisible(bool(self.doubts.text()))

    def show_pointing(self, name: str) -> None:
        """Show which part is pointed at; none for an empty name."""
        for each, one in self.point_at.items():
            one.setChecked(each == name)


def show_piece(button: QPushButton, *, is_there: bool) -> None:
    """Offer to shape the piece, where there is one."""
    button.setEnabled(is_there)
    button.setToolTip(PIECE_TIP if is_there else NO_PIECE_TIP)

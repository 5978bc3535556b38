"""What the panels share: heading, one sentence, main action, values, message, the way on."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.gui.length_field import Entry
from app.gui.theme import GAP_PX, PANEL_PX

FIELD_PX = 118


class Panel(QWidget):
    """A column of controls for one step.

    Attributes
    ----------
    onward : Signal
        The person takes the way on at the foot.
    """

    onward = Signal()

    def __init__(
        self, heading: str, sentence: str, way_on: str, *, way_on_is_main: bool = False
    ) -> None:
        super().__init__()
        self.setObjectName("panel")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setFixedWidth(PANEL_PX)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(20, 14, 20, 14)
        outer.setSpacing(GAP_PX)
        self.sentence = words(sentence, "quiet")
        self.sentence.setAlignment(Qt.AlignmentFlag.AlignTop)
        two_lines = 2 * self.sentence.fontMetrics().lineSpacing() + 2
        self.sentence.setMinimumHeight(two_lines)  # what is said here moves nothing below it
        self.column = QVBoxLayout()
        self.column.setSpacing(GAP_PX - 2)
        self._message = words("", "message")
        self._message.setAccessibleName("Message")
        self._message.hide()
        self.next_button = button(way_on, primary=way_on_is_main)
        self.next_button.clicked.connect(self.onward)
        outer.addWidget(words(heading, "heading"))
        outer.addWidget(self.sentence)
        outer.addLayout(self.column, 1)
        outer.addWidget(self._message)
        self.foot = QVBoxLayout()  # stands at one place, whatever is said above it
        self.foot.setSpacing(GAP_PX)
        outer.addLayout(self.foot)
        outer.addWidget(self.next_button)
        if not way_on:
            self.next_button.hide()

    @property
    def message(self) -> str:
        """What is said above the foot."""
        return self._message.text() if self._message.isVisibleTo(self) else ""

    def say(self, message: str, *, good: bool = False) -> None:
        """Say something calmly above the foot; an empty text takes it away."""
        self._message.setText(message)
        self._message.setProperty("kind", "news" if good else "message")
        self._message.style().unpolish(self._message)
        self._message.style().polish(self._message)
        self._message.setVisible(bool(message))

    def showEvent(self, event: QShowEvent) -> None:
        """Let Tab come to the way on last, where it stands."""
        super().showEvent(event)
        last, part = None, self.nextInFocusChain()
        while part is not None and self.isAncestorOf(part):
            last = part if part is not self.next_button else last
            part = part.nextInFocusChain()
        if last is not None:
            self.setTabOrder(last, self.next_button)

    def add_group(self, title: str) -> QLabel:
        """Begin a group of values."""
        self.column.addSpacing(GAP_PX)
        label = words(title, "group")
        self.column.addWidget(label)
        return label

    def add_row(self, label: str, field: QWidget, *, width: int = FIELD_PX) -> QLabel:
        """Add a value with its label before it."""
        name = QLabel(label)
        name.setBuddy(field)
        field.setFixedWidth(width)
        row = QHBoxLayout()
        row.addWidget(name, 1)
        row.addWidget(field)
        self.column.addLayout(row)
        if isinstance(field, Entry):
            field.refused.connect(lambda words: self.say(words))
        return name

    def wrong_entry(self) -> Entry | None:
        """Return a field whose text was refused, and that the person may take for told."""
        return next((one for one in self.findChildren(Entry) if one.is_wrong), None)

    def add_buttons(self, *buttons: QPushButton) -> None:
        """Add buttons side by side."""
        self.column.addLayout(side_by_side(*buttons))


class Waiting(QFrame):
    """A bar for long work with the way to stop it; hidden while there is none.

    Parameters
    ----------
    what : str
        What takes long.
    instead : QWidget, optional
        What asks for the work; the bar stands in its place while the work goes on.
    """

    stopped = Signal()

    def __init__(self, what: str, instead: QWidget) -> None:
        super().__init__()
        self._instead = instead
        self.bar = QProgressBar()
        self.bar.setRange(0, 1000)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName(what)
        self.stop_button = button("Stop")
        self.stop_button.clicked.connect(self.stopped)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        name = words(what, "quiet")
        name.setWordWrap(False)
        row = QHBoxLayout()
        row.addWidget(name)
        row.addWidget(self.bar, 1)
        row.addWidget(self.stop_button)
        column.addLayout(row)
        self.hide()

    @property
    def is_on(self) -> bool:
        """Whether there is work."""
        return not self.isHidden()

    def begin(self) -> None:
        """Show that work began."""
        self.bar.setValue(0)
        self.setMinimumHeight(self._instead.sizeHint().height())
        self._instead.hide()
        self.show()

    def end(self) -> None:
        """Show that it is over."""
        self.hide()
        self._instead.show()

    def show_share(self, share: float) -> None:
        """Show how much of it is done, 0 to 1."""
        self.bar.setValue(round(1000 * min(max(share, 0.0), 1.0)))


def side_by_side(*buttons: QPushButton) -> QHBoxLayout:
    """Return a row of buttons of one width."""
    row = QHBoxLayout()
    row.setSpacing(GAP_PX)
    for one in buttons:
        row.addWidget(one, 1)
    return row


def stacked(*rows: tuple[QPushButton, ...]) -> QWidget:
    """Return rows of buttons as one widget, to be shown and hidden together."""
    made = QWidget()
    column = QVBoxLayout(made)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(GAP_PX)
    for row in rows:
        column.addLayout(side_by_side(*row))
    return made


class PanelButton(QPushButton):
    """A push button that Return presses as Space does."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press it."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
            return
        super().keyPressEvent(event)


def words(text: str, kind: str = "") -> QLabel:
    """Return a label; its kind sets how it looks."""
    label = QLabel(text)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    if kind:
        label.setProperty("kind", kind)
    return label


def make_main(one: QPushButton, main: bool) -> None:
    """Make a button the one that comes next, or one among others."""
    if one.property("primary") != main:
        one.setProperty("primary", main)
        one.style().unpolish(one)
        one.style().polish(one)


def button(text: str, *, primary: bool = False, tip: str = "") -> QPushButton:
    """Return a push button; a panel has one primary one."""
    made = PanelButton(text)
    made.setAccessibleName(text)
    made.setToolTip(tip)
    made.setProperty("primary", primary)
    return made

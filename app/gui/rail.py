"""The steps of the job in order, each with its state in a mark and in words."""

from __future__ import annotations

from enum import StrEnum

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QVBoxLayout, QWidget

from app.gui.theme import colour, theme

RAIL_PX, STEP_PX = 112, 52


class Step(StrEnum):
    """The steps; the value is what people read."""

    PHOTO = "Photo"
    STEEL = "Steel"
    OUTLINE = "Outline"
    LAYOUT = "Layout"
    PATTERN = "Pattern"


class State(StrEnum):
    """How far a step is."""

    DONE = "done"
    LOOK_AGAIN = "look again"
    NOT_YET = "not yet"


class StepButton(QAbstractButton):
    """One step: its word, its mark, and a bar while it is the one at hand."""

    def __init__(self, step: Step) -> None:
        super().__init__()
        self.step = step
        self._state = State.NOT_YET
        self.setText(step.value)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.toggled.connect(self._name)
        self._name()

    @property
    def state(self) -> State:
        """How far the step is."""
        return self._state

    def set_state(self, state: State) -> None:
        """Show how far the step is."""
        if state != self._state:
            self._state = state
            self._name()
            self.update()

    def sizeHint(self) -> QSize:
        """Return the size of one step in the rail."""
        return QSize(RAIL_PX, STEP_PX)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter the step with Return as with Space."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.click()
            return
        super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the word, the mark and the bar."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.isChecked():
            painter.fillRect(self.rect(), colour("chosen"))
            painter.fillRect(0, 0, 4, self.height(), colour("accent"))
        elif self.underMouse():
            painter.fillRect(self.rect(), colour("window"))
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold if self.isChecked() else QFont.Weight.Normal)
        painter.setFont(font)
        pale = self._state is State.NOT_YET and not self.isChecked()
        painter.setPen(colour("quiet" if pale else "text"))
        words = self.rect().adjusted(18, 0, -30, 0)
        painter.drawText(words, int(Qt.AlignmentFlag.AlignVCenter), self.text())
        self._draw_mark(painter, QPointF(self.width() - 19.0, self.height() / 2))
        if self.hasFocus():
            painter.setPen(QPen(colour("accent"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(6, 4, -4, -4), 5, 5)

    def _draw_mark(self, painter: QPainter, at: QPointF) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self._state is State.LOOK_AGAIN:
            painter.setPen(QPen(colour("doubt"), 2))
            corners = [QPointF(0, -7), QPointF(8, 7), QPointF(-8, 7)]
            painter.drawPolygon(QPolygonF([at + corner for corner in corners]))
        elif self.isChecked():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(colour("accent"))
            painter.drawEllipse(at, 4, 4)
        elif self._state is State.DONE:
            painter.setPen(QPen(colour("accent"), 2))
            tick = [QPointF(-6, 0), QPointF(-2, 5), QPointF(6, -5)]
            painter.drawPolyline(QPolygonF([at + point for point in tick]))

    def _name(self) -> None:
        here = "the step at hand, " if self.isChecked() else ""
        self.setAccessibleName(f"{self.step.value}: {here}{self._state.value}")
        self.setToolTip(f"{self.step.value}: {self._state.value}")


class Rail(QWidget):
    """The list of steps; any of them can be entered at any time."""

    chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("rail")
        self.setFixedWidth(RAIL_PX)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 8)
        column.setSpacing(0)
        group = QButtonGroup(self)
        self.buttons: dict[Step, StepButton] = {}
        for step in Step:
            button = StepButton(step)
            button.clicked.connect(lambda _=False, step=step: self.chosen.emit(step.value))
            group.addButton(button)
            column.addWidget(button)
            self.buttons[step] = button
        column.addStretch(1)
        theme().changed.connect(self.update)

    def show_step(self, step: Step) -> None:
        """Mark the step at hand."""
        self.buttons[step].setChecked(True)

    def show_states(self, states: dict[Step, State]) -> None:
        """Show how far each step is."""
        for step, state in states.items():
            self.buttons[step].set_state(state)

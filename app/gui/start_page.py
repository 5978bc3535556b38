"""The first page: what to do when nothing is open."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.gui.panels.panel import button, words
from app.gui.theme import GAP_PX, colour, theme

HOW = (
    ("1", "Lay the steel on paper and trace it. Beside it draw a straight line of known length."),
    ("2", "Photograph the whole sheet from straight above, with the main lens."),
    ("3", "Open the photo here, tell the line's length, choose a shape, print its pattern."),
)


class StartPage(QWidget):
    """Says what to do first, and does it."""

    photo_asked = Signal()
    sample_asked = Signal()
    job_asked = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("start")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.photo = button("Open a photo…", primary=True)
        self.photo.clicked.connect(self.photo_asked)
        self.sample = button("Try the sample")
        self.sample.clicked.connect(self.sample_asked)
        self.job = button("Open a job…")
        self.job.clicked.connect(self.job_asked)
        self._message = words("", "message")
        self._message.hide()
        outer = QHBoxLayout(self)
        outer.addStretch(1)
        column = QVBoxLayout()
        column.setSpacing(GAP_PX)
        outer.addLayout(column, 3)
        outer.addStretch(1)
        column.addStretch(1)
        column.addWidget(_Sketch())
        column.addSpacing(GAP_PX)
        column.addWidget(words("From a traced piece of steel to a paper pattern", "heading"))
        column.addSpacing(GAP_PX)
        for number, text in HOW:
            row = QHBoxLayout()
            mark = words(number, "group")
            mark.setFixedWidth(20)
            mark.setAlignment(Qt.AlignmentFlag.AlignTop)
            row.addWidget(mark)
            row.addWidget(words(text), 1)
            column.addLayout(row)
        column.addSpacing(2 * GAP_PX)
        buttons = QHBoxLayout()
        for one in (self.photo, self.sample, self.job):
            one.setMinimumWidth(150)
            buttons.addWidget(one)
        buttons.addStretch(1)
        column.addLayout(buttons)
        column.addWidget(words("Or drop a photo, a job or a drawing anywhere here.", "quiet"))
        column.addWidget(self._message)
        column.addStretch(2)
        self.photo.setFocus()

    @property
    def message(self) -> str:
        """What is said at the foot."""
        return self._message.text()

    def say(self, message: str) -> None:
        """Say something calmly; an empty text takes it away."""
        self._message.setText(message)
        self._message.setVisible(bool(message))


class _Sketch(QWidget):
    """A sheet with a traced piece and a line of known length, drawn small."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedSize(300, 170)
        self.setAccessibleName("A sheet with a traced piece of steel and a line of known length")
        theme().changed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the sketch."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(colour("frame"), 1.2))
        painter.setBrush(colour("window"))
        painter.drawRect(QRectF(6, 6, 240, 158))
        piece = QPainterPath(QPointF(26, 70))
        for spot in ((40, 40, 96, 36), (150, 30, 214, 42), (232, 62, 222, 84)):
            piece.quadTo(*map(float, spot))
        for spot in ((150, 100, 84, 94), (34, 96, 26, 70)):
            piece.quadTo(*map(float, spot))
        painter.setBrush(colour("steel"))
        painter.setPen(QPen(colour("steel_edge"), 2))
        painter.drawPath(piece)
        painter.setPen(QPen(colour("blank"), 2))
        painter.drawLine(QPointF(30, 134), QPointF(120, 134))
        for x in (30.0, 120.0):
            painter.drawLine(QPointF(x, 127), QPointF(x, 141))
        painter.setPen(colour("quiet"))
        painter.drawText(QRectF(30, 140, 90, 20), int(Qt.AlignmentFlag.AlignCenter), "3 in")
        blade = QPainterPath(QPointF(46, 62))
        blade.cubicTo(QPointF(70, 48), QPointF(150, 50), QPointF(206, 60))
        blade.cubicTo(QPointF(216, 66), QPointF(212, 78), QPointF(200, 80))
        blade.cubicTo(QPointF(170, 70), QPointF(150, 88), QPointF(126, 78))
        blade.cubicTo(QPointF(100, 84), QPointF(66, 82), QPointF(46, 62))
        painter.setPen(QPen(colour("blank"), 1.5, Qt.PenStyle.DashLine))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(blade)

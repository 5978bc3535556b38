"""The first page: what to do when nothing is open."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.gui.panels.panel import button, words
from app.gui.theme import GAP_PX, colour, theme

HOW = (
    ("1", "Lay the steel on paper and trace it. Beside it draw a straight line of known length."),
    ("2", "Photograph the whole sheet from straight above, with the main lens."),
    ("3", "Open the photo here, tell the line's length, choose a shape, print its pattern."),
)


Ring = tuple[tuple[float, float], ...]
Drawn = tuple[Ring, Ring]  # piece and blank, mm
EXAMPLE = "full_tang_drop_point"
PX_A_MM = 1.25
WIDE_PX, HIGH_PX = 320, 172
COLUMN_PX = 520
LINE_MM = 76.2  # 3 in


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
        self.sketch = Sketch()
        self._lay_out()
        self.photo.setFocus()

    def _lay_out(self) -> None:
        """Put sketch, way and buttons below each other in the middle."""
        outer = QHBoxLayout(self)
        outer.addStretch(1)
        middle = QWidget()
        middle.setFixedWidth(COLUMN_PX)
        column = QVBoxLayout(middle)
        column.setSpacing(GAP_PX)
        outer.addWidget(middle)
        outer.addStretch(1)
        column.addStretch(1)
        column.addWidget(self.sketch)
        column.addSpacing(GAP_PX)
        column.addWidget(words("From a traced piece of steel to a paper pattern", "heading"))
        column.addSpacing(GAP_PX)
        for number, text in HOW:
            column.addLayout(_numbered(number, text))
        column.addSpacing(2 * GAP_PX)
        buttons = QHBoxLayout()
        for one in (self.photo, self.sample, self.job):
            one.setMinimumWidth(150)
            buttons.addWidget(one)
        buttons.addStretch(1)
        column.addLayout(buttons)
        column.addWidget(
            words("Or drop a photo, a job, a piece or a drawing anywhere here.", "quiet")
        )
        column.addWidget(self._message)
        column.addStretch(2)

    @property
    def message(self) -> str:
        """What is said at the foot."""
        return self._message.text()

    def say(self, message: str) -> None:
        """Say something calmly; an empty text takes it away."""
        self._message.setText(message)
        self._message.setVisible(bool(message))


def _numbered(number: str, text: str) -> QHBoxLayout:
    """Return one step of the way, its number before it."""
    row = QHBoxLayout()
    mark = words(number, "group")
    mark.setFixedWidth(20)
    mark.setAlignment(Qt.AlignmentFlag.AlignTop)
    row.addWidget(mark)
    row.addWidget(words(text), 1)
    return row


class Sketch(QWidget):
    """A sheet with a traced piece, a blank that fits it, and a line of known length."""

    def __init__(self) -> None:
        super().__init__()
        self.setFixedSize(WIDE_PX + 12, HIGH_PX + 12)
        self.setAccessibleName("A sheet with a traced piece of steel and a line of known length")
        self._piece, self._blank = QPainterPath(), QPainterPath()
        theme().changed.connect(self.update)

    @property
    def blank(self) -> QPainterPath:
        """What is drawn on the steel, px; empty until it was worked out."""
        return self._blank

    def show_outline(self, drawn: Drawn) -> None:
        """Take piece and blank, in mm."""
        self._piece, self._blank = (_path(ring) for ring in drawn)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the sketch."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(colour("frame"), 1.2))
        painter.setBrush(colour("window"))
        painter.drawRect(QRectF(6, 6, WIDE_PX, HIGH_PX))
        painter.setBrush(colour("steel"))
        painter.setPen(QPen(colour("steel_edge"), 2))
        painter.drawPath(self._piece)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour("blank"), 1.6, Qt.PenStyle.DashLine))
        painter.drawPath(self._blank)
        start, end = QPointF(36, 142), QPointF(36 + LINE_MM * PX_A_MM, 142)
        painter.setPen(QPen(colour("blank"), 2))
        painter.drawLine(start, end)
        for spot in (start, end):
            painter.drawLine(spot - QPointF(0, 7), spot + QPointF(0, 7))
        painter.setPen(colour("quiet"))
        words = QRectF(start + QPointF(0, 8), end + QPointF(0, 28))
        painter.drawText(words, int(Qt.AlignmentFlag.AlignCenter), "3 in")


def drawn_example() -> Drawn:
    """Return a forging with a blank on it, mm, y up; reads a family, so not on the way in."""
    import shapely
    from shapely.affinity import translate

    from geometry.family import family_named

    blank = family_named(EXAMPLE).outline().polygon(0.2)
    piece = blank.buffer(22.0).buffer(-14.0)  # hammered round the knife with 8 mm to spare
    middle = piece.envelope.centroid
    rings = (translate(one.exterior, -middle.x, -middle.y) for one in (piece, blank))
    piece_mm, blank_mm = (
        tuple((x, y) for x, y in shapely.get_coordinates(ring).tolist()) for ring in rings
    )
    return piece_mm, blank_mm


def _path(ring_mm: Ring) -> QPainterPath:
    middle = QPointF(6 + WIDE_PX / 2, 66)
    path = QPainterPath()
    path.addPolygon(QPolygonF([middle + QPointF(x, -y) * PX_A_MM for x, y in ring_mm]))
    path.closeSubpath()
    return path

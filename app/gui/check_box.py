"""A check box whose frame and tick can be seen in every appearance."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QCheckBox

from app.gui.theme import GAP_PX, colour

BOX_PX = 16.0
TICK = ((3.5, 8.0), (6.5, 11.5), (12.5, 4.5))


class CheckBox(QCheckBox):
    """A check box in our own tones."""

    def sizeHint(self) -> QSize:
        """Return the room for box and words."""
        words = self.fontMetrics().horizontalAdvance(self.text())
        return QSize(int(BOX_PX) + GAP_PX + words + 8, 26)

    def hitButton(self, pos: QPoint) -> bool:
        """Take a click on the words too."""
        return self.rect().contains(pos)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw box, tick, words, and the focus."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        corner = QPointF(2.5, round((self.height() - BOX_PX) / 2) + 0.5)
        box = QRectF(corner.x(), corner.y(), BOX_PX - 1, BOX_PX - 1)
        able = self.isEnabled()
        focus = self.hasFocus()
        painter.setPen(QPen(colour("accent" if focus else "frame"), 2.0 if focus else 1.2))
        painter.setBrush(colour("paper" if able else "panel"))
        painter.drawRoundedRect(box, 3, 3)
        tone = "text" if able else "quiet"
        if self.isChecked():
            painter.setPen(QPen(colour("accent" if able else "quiet"), 2.2))
            painter.drawPolyline(QPolygonF([corner + QPointF(*spot) for spot in TICK]))
        painter.setPen(colour(tone))
        words = QRectF(self.rect()).adjusted(BOX_PX + GAP_PX, 0, 0, 0)
        painter.drawText(words, int(Qt.AlignmentFlag.AlignVCenter), self.text())

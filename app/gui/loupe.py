"""A round magnifier at the cursor, for pointing at a place of the photo."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.gui.theme import colour

LOUPE_PX = 176
TIMES = 6.0
LEAST_PX, MOST_PX = 1.0, 12.0  # screen pixels that one photo pixel takes under the loupe


class Loupe(QWidget):
    """Shows the photo six times larger than the canvas round a place, with a crosshair."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.resize(LOUPE_PX, LOUPE_PX)
        self._image: QImage | None = None
        self._at = QPointF()
        self._factor = 1
        self._snapped = False
        self._px = 1.0
        self.hide()

    def show_image(self, image: QImage | None, factor: int = 1) -> None:
        """Look at a photo; the factor is photo pixels for one of the image."""
        self._image, self._factor = image, factor

    def look(self, cursor: QPoint, place: QPointF, px_a_unit: float, *, snapped: bool) -> None:
        """Show a place of the photo.

        Parameters
        ----------
        cursor : QPoint
            Where the loupe stands on the canvas.
        place : QPointF
            The photo pixel under the crosshair.
        px_a_unit : float
            The canvas's own scale, screen pixels for a photo pixel.
        snapped : bool
            Whether the place was drawn to ink.
        """
        self._at, self._snapped = place, snapped
        self._px = min(max(TIMES * px_a_unit, LEAST_PX), MOST_PX)
        self.move(cursor - QPoint(LOUPE_PX // 2, LOUPE_PX // 2))
        self.show()
        self.raise_()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the round piece of the photo and the crosshair."""
        if self._image is None:
            return
        painter = QPainter(self)
        painter.setRenderHints(
            QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
        )
        middle, radius = LOUPE_PX / 2, LOUPE_PX / 2 - 3
        circle = QPainterPath()
        circle.addEllipse(QPointF(middle, middle), radius, radius)
        painter.setClipPath(circle)
        painter.fillPath(circle, colour("window"))
        reach = LOUPE_PX / 2 / self._px
        # pixel centres stand at whole numbers, the image's corners at whole numbers too
        x, y, size = (
            value / self._factor
            for value in (self._at.x() + 0.5 - reach, self._at.y() + 0.5 - reach, 2 * reach)
        )
        source = QRectF(x, y, size, size)
        painter.drawImage(QRectF(0, 0, LOUPE_PX, LOUPE_PX), self._image, source)
        self._draw_cross(painter, middle, radius)
        painter.setClipping(False)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour("panel"), 5))
        painter.drawEllipse(QPointF(middle, middle), radius, radius)
        painter.setPen(QPen(colour("accent"), 2))
        painter.drawEllipse(QPointF(middle, middle), radius, radius)

    def _draw_cross(self, painter: QPainter, middle: float, radius: float) -> None:
        for pen in (QPen(QColor(255, 255, 255, 200), 3), QPen(colour("blank"), 1.2)):
            painter.setPen(pen)
            for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
                painter.drawLine(
                    QPointF(middle + 6 * dx, middle + 6 * dy),
                    QPointF(middle + radius * dx, middle + radius * dy),
                )
            if self._snapped:
                painter.drawEllipse(QPointF(middle, middle), 9, 9)

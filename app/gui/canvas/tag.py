"""Things drawn at one size whatever the zoom: tags with words, dimension lines, haloed lines."""

from __future__ import annotations

import math

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPathItem,
    QGraphicsScene,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.gui.theme import LIGHT, colour

PAD_X_PX, PAD_Y_PX = 8.0, 4.0


def cosmetic(tone: str | QColor, width_px: float, dashes: tuple[float, ...] = ()) -> QPen:
    """Return a pen as wide on the screen at any zoom."""
    pen = QPen(colour(tone) if isinstance(tone, str) else tone, width_px)
    pen.setCosmetic(True)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if dashes:
        pen.setDashPattern(list(dashes))
    return pen


class HaloPath(QGraphicsPathItem):
    """A dark line with a light rim, so that it shows on any photo, whatever the appearance."""

    def __init__(self, path: QPainterPath, tone: str, width_px: float = 2.0) -> None:
        super().__init__(path)
        self._halo = cosmetic(QColor(255, 255, 255, 210), width_px + 3)
        self.setPen(cosmetic(QColor(getattr(LIGHT, tone)), width_px))

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the rim, then the line."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for pen in (self._halo, self.pen()):
            painter.setPen(pen)
            painter.drawPath(self.path())


class Tag(QGraphicsItem):
    """Words in a small frame at a place of the scene.

    Parameters
    ----------
    lines : tuple of str
        The first stands out when there are more.
    tone : str
        Of the frame.
    offset_px : (float, float)
        From the place to the middle of the frame, on the screen; a leader joins them when the
        frame does not cover the place.
    """

    def __init__(
        self,
        lines: tuple[str, ...],
        tone: str = "frame",
        offset_px: tuple[float, float] = (0.0, 0.0),
    ) -> None:
        super().__init__()
        self._lines, self._tone = lines, tone
        self._offset = QPointF(*offset_px)
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self.setZValue(20)

    def say(self, lines: tuple[str, ...], tone: str, offset_px: tuple[float, float]) -> None:
        """Show other words at another distance."""
        self.prepareGeometryChange()
        self._lines, self._tone, self._offset = lines, tone, QPointF(*offset_px)
        self.update()

    def frame(self) -> QRectF:
        """Return the frame, px from the place."""
        fonts = self._fonts()
        sizes = [
            QFontMetricsF(font).size(0, line) for font, line in zip(fonts, self._lines, strict=True)
        ]
        width = max(size.width() for size in sizes) + 2 * PAD_X_PX
        height = sum(size.height() for size in sizes) + 2 * PAD_Y_PX
        return QRectF(-width / 2, -height / 2, width, height).translated(self._offset)

    def boundingRect(self) -> QRectF:
        """Return frame and leader."""
        return self.frame().united(QRectF(-2, -2, 4, 4)).adjusted(-3, -3, 3, 3)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw leader, frame and words."""
        box = self.frame()
        painter.setPen(QPen(colour(self._tone), 1.2))
        if not box.contains(QPointF(0, 0)):
            near = QPointF(
                min(max(0.0, box.left() + 12), box.right() - 12),
                box.top() if box.top() > 0 else box.bottom(),
            )
            painter.drawLine(QPointF(0, 0), near)
        painter.setBrush(colour("panel"))
        painter.drawRoundedRect(box, 4, 4)
        top = box.top() + PAD_Y_PX
        for index, (font, line) in enumerate(zip(self._fonts(), self._lines, strict=True)):
            painter.setFont(font)
            painter.setPen(colour("text" if index == 0 else "quiet"))
            height = QFontMetricsF(font).size(0, line).height()
            words = QRectF(box.left() + PAD_X_PX, top, box.width() - 2 * PAD_X_PX, height)
            painter.drawText(words, int(Qt.AlignmentFlag.AlignLeft), line)
            top += height

    def _fonts(self) -> list[QFont]:
        plain, strong = QFont(), QFont()
        strong.setWeight(QFont.Weight.DemiBold)
        small = QFont()
        small.setPointSizeF(plain.pointSizeF() * 0.92)
        if len(self._lines) == 1:
            return [small]
        return [strong, *[small] * (len(self._lines) - 1)]


def add_dimension(
    scene: QGraphicsScene, start: QPointF, end: QPointF, text: str, *, tick: float
) -> None:
    """Draw a dimension line with ticks of a length in scene units; words, if any, in a tag."""
    along = end - start
    length = math.hypot(along.x(), along.y())
    if length == 0:
        return
    across = QPointF(-along.y(), along.x()) * (tick / length)
    path = QPainterPath(start)
    path.lineTo(end)
    for spot in (start, end):
        path.moveTo(spot - across)
        path.lineTo(spot + across)
    line = scene.addPath(path, cosmetic("quiet", 1.2))
    line.setZValue(10)
    if not text:
        return
    tag = Tag((text,), "hairline")
    tag.setPos((start + end) / 2)
    scene.addItem(tag)

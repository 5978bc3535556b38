"""Small marks on the nodes of an outline's edge, to drag."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsSceneMouseEvent,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.gui.canvas.axes import scene_point, sheet_point
from app.gui.theme import colour
from geometry.curves import Point

HALF_PX, REACH_PX = 4.5, 10.0  # of the mark, and of where it is hit
FINE = 0.1  # share of the hand's way that counts while Shift is held

Told = Callable[[int, Point], None]


class NodeHandle(QGraphicsItem):
    """A mark on one node.

    Parameters
    ----------
    index : int
        Which node.
    place : tuple of float
        Where it is, mm.
    moved, ended : callable
        Told the node and its place while the hand moves, and when it lets go.
    """

    def __init__(self, index: int, place: Point, *, moved: Told, ended: Told) -> None:
        super().__init__()
        self.index = index
        self.chosen = False
        self.doubted = False
        self._moved, self._ended = moved, ended
        self._from, self._press = QPointF(), QPointF()
        self.setPos(scene_point(place))
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self.setAcceptedMouseButtons(Qt.MouseButton.LeftButton)
        self.setCursor(Qt.CursorShape.SizeAllCursor)
        self.setToolTip("Drag it; with Shift ten times finer")
        self.setZValue(21)  # over the tags of dimensions

    def boundingRect(self) -> QRectF:
        """Return the mark's box, wider than it looks so that it is easily hit."""
        return QRectF(-REACH_PX, -REACH_PX, 2 * REACH_PX, 2 * REACH_PX)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw a small square, filled when it is held or the one that the keys move."""
        tone = "doubt" if self.doubted else "accent"
        painter.setPen(QPen(colour(tone), 1.6))
        painter.setBrush(colour(tone if self.chosen else "panel"))
        painter.drawRect(QRectF(-HALF_PX, -HALF_PX, 2 * HALF_PX, 2 * HALF_PX))

    def mousePressEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Take hold; where marks overlap, the nearest one does."""
        if self._nearest_to(event.scenePos()) is not self:
            event.ignore()
            return
        self._from, self._press = self.pos(), event.scenePos()
        self._moved(self.index, sheet_point(self.pos()))
        event.accept()

    def mouseMoveEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Follow the hand; finer while Shift is held."""
        way = event.scenePos() - self._press
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            way *= FINE
        self.setPos(self._from + way)
        self._moved(self.index, sheet_point(self.pos()))

    def mouseReleaseEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Let go."""
        self._ended(self.index, sheet_point(self.pos()))

    def show_state(self, *, chosen: bool, doubted: bool = False) -> None:
        """Show whether it is the one at hand, and whether the edge cannot go where it is."""
        if (chosen, doubted) != (self.chosen, self.doubted):
            self.chosen, self.doubted = chosen, doubted
            self.update()

    def _nearest_to(self, spot: QPointF) -> NodeHandle:
        items = self.scene().items()
        marks = (item for item in items if isinstance(item, NodeHandle))
        return min(marks, key=lambda mark: (mark.pos() - spot).manhattanLength())

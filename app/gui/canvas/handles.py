"""The blank and its handles: what the hand moves on the layout."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen
from PySide6.QtWidgets import (
    QGraphicsItem,
    QGraphicsPathItem,
    QGraphicsSceneMouseEvent,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.gui.canvas.axes import sheet_point
from app.gui.canvas.tag import cosmetic
from app.gui.theme import colour
from geometry.pose import Pose

HANDLE_PX = 8.0  # radius
FINE = 0.1  # share of the hand's way that counts while Shift is held
LEAST_SCALE, MOST_SCALE = 0.2, 5.0

Grip = Callable[[], Pose | None]
Moved = Callable[[Pose, str], None]


class Dragged:
    """What blank and handles share: from press to release one gesture, told to the scene.

    Parameters
    ----------
    grip : callable
        Gives the pose at the press.
    moved : callable
        Takes each pose and what is being done, in words.
    ended : callable
        Called at the release.
    """

    def set_up(self, grip: Grip, moved: Moved, ended: Callable[[], None]) -> None:
        """Say whom to tell."""
        self._grip, self._moved, self._ended = grip, moved, ended
        self._from: Pose | None = None
        self._press = QPointF()

    def pose_for(self, start: Pose, press: QPointF, at: QPointF) -> tuple[Pose, str]:
        """Return the pose for the hand at a place, and what is being done."""
        raise NotImplementedError

    def mousePressEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Take hold."""
        self._from, self._press = self._grip(), event.scenePos()
        event.accept()

    def mouseMoveEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Follow the hand; finer while Shift is held."""
        if self._from is None:
            return
        at = event.scenePos()
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            at = self._press + (at - self._press) * FINE
        self._moved(*self.pose_for(self._from, self._press, at))

    def mouseReleaseEvent(self, event: QGraphicsSceneMouseEvent) -> None:
        """Let go."""
        if self._from is not None:
            self._from = None
            self._ended()


class BlankItem(Dragged, QGraphicsPathItem):
    """The blank: drag it to move it."""

    def __init__(self) -> None:
        super().__init__()
        self.setZValue(3)
        self.setAcceptedMouseButtons(Qt.MouseButton.LeftButton)
        self.setCursor(Qt.CursorShape.SizeAllCursor)
        self.refresh()

    def refresh(self) -> None:
        """Take the colours in use."""
        self.setPen(cosmetic("blank", 2.0))
        self.setBrush(colour("blank", 36))

    def shape(self) -> QPainterPath:
        """Return where it can be gripped: its whole area, holes too."""
        path = QPainterPath(self.path())
        path.setFillRule(Qt.FillRule.WindingFill)
        return path

    def pose_for(self, start: Pose, press: QPointF, at: QPointF) -> tuple[Pose, str]:
        """Return the pose shifted by the hand's way."""
        (x0, y0), (x1, y1) = sheet_point(press), sheet_point(at)
        moved = replace(start, x_mm=start.x_mm + x1 - x0, y_mm=start.y_mm + y1 - y0)
        return moved, "Move the blank"


class Handle(Dragged, QGraphicsItem):
    """A small mark beside the blank, as large at any zoom."""

    def __init__(self, tip: str) -> None:
        super().__init__()
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self.setZValue(12)
        self.setToolTip(tip)
        self.setAcceptedMouseButtons(Qt.MouseButton.LeftButton)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.centre_mm = (0.0, 0.0)  # what it turns or grows about

    def boundingRect(self) -> QRectF:
        """Return the mark's box, wider than it looks so that it is easily hit."""
        reach = HANDLE_PX + 5
        return QRectF(-reach, -reach, 2 * reach, 2 * reach)

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the mark."""
        painter.setPen(QPen(colour("accent"), 2))
        painter.setBrush(colour("panel"))
        self.draw(painter)

    def draw(self, painter: QPainter) -> None:
        """Draw the mark's shape."""
        raise NotImplementedError

    def from_centre(self, point: QPointF) -> tuple[float, float]:
        """Return distance and direction of a place from what it turns about, mm and radians."""
        x, y = sheet_point(point)
        dx, dy = x - self.centre_mm[0], y - self.centre_mm[1]
        return math.hypot(dx, dy), math.atan2(dy, dx)


class TurnHandle(Handle):
    """A round handle: turns the blank about its middle."""

    def draw(self, painter: QPainter) -> None:
        """Draw a ring."""
        painter.drawEllipse(QPointF(0, 0), HANDLE_PX, HANDLE_PX)

    def pose_for(self, start: Pose, press: QPointF, at: QPointF) -> tuple[Pose, str]:
        """Return the pose turned by the hand's way round."""
        turn = self.from_centre(at)[1] - self.from_centre(press)[1]
        return start.turned_about(self.centre_mm, turn), "Turn the blank"


class SizeHandle(Handle):
    """A square handle: makes the blank larger or smaller about its middle."""

    def draw(self, painter: QPainter) -> None:
        """Draw a square."""
        painter.drawRect(QRectF(-HANDLE_PX, -HANDLE_PX, 2 * HANDLE_PX, 2 * HANDLE_PX))

    def pose_for(self, start: Pose, press: QPointF, at: QPointF) -> tuple[Pose, str]:
        """Return the pose grown by the hand's way out."""
        factor = self.from_centre(at)[0] / max(self.from_centre(press)[0], 1e-6)
        return scaled_about(start, self.centre_mm, factor), "Change the size"


def scaled_about(pose: Pose, centre_mm: tuple[float, float], factor: float) -> Pose:
    """Return a pose grown by a factor about a fixed point of the billet.

    Examples
    --------
    >>> scaled_about(Pose(x_mm=2.0), (0.0, 0.0), 2.0).x_mm
    4.0
    """
    scale = min(max(pose.scale * factor, LEAST_SCALE), MOST_SCALE)
    kept = scale / pose.scale
    return replace(
        pose,
        x_mm=centre_mm[0] + kept * (pose.x_mm - centre_mm[0]),
        y_mm=centre_mm[1] + kept * (pose.y_mm - centre_mm[1]),
        scale=scale,
    )

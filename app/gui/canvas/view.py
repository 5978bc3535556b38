"""The canvas: zoom to the cursor, pan, fit."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QNativeGestureEvent,
    QPainter,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QFrame, QGraphicsScene, QGraphicsView

from app.gui.theme import colour

WHEEL_NOTCH = 120.0  # QWheelEvent: eighths of a degree, 15 degrees a notch
ZOOM_A_NOTCH = 1.2
MOST_PX_A_UNIT, LEAST_PX_A_UNIT = 400.0, 0.01
ARROWS = {  # across and up
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}
BRACKETS = {  # counter-clockwise; with Shift they become braces
    Qt.Key.Key_BracketLeft: 1.0,
    Qt.Key.Key_BracketRight: -1.0,
    Qt.Key.Key_BraceLeft: 1.0,
    Qt.Key.Key_BraceRight: -1.0,
}
KEY_REASONS = (
    Qt.FocusReason.TabFocusReason,
    Qt.FocusReason.BacktabFocusReason,
    Qt.FocusReason.ShortcutFocusReason,
    Qt.FocusReason.OtherFocusReason,
)
ROOM = 0.06  # left free at each side by `fit`, of the view


class CanvasView(QGraphicsView):
    """A view on a scene in mm or photo pixels.

    Attributes
    ----------
    viewed : Signal
        Another part, or another scale, is shown: rulers and bars redraw.
    nudged : Signal
        An arrow or bracket key on the canvas: steps in x and y, in angle, and whether large.
    doubled : Signal
        The place of the scene that was clicked at twice.
    deleted : Signal
        Delete, or Backspace, on the canvas.
    """

    viewed = Signal()
    doubled = Signal(QPointF)
    deleted = Signal()
    nudged = Signal(float, float, float, bool)

    def __init__(self) -> None:
        super().__init__()
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setRenderHints(
            QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform
        )
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setViewportUpdateMode(QGraphicsView.ViewportUpdateMode.FullViewportUpdate)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.NoAnchor)
        self.setMouseTracking(True)
        self.setAccessibleName("Canvas")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.horizontalScrollBar().valueChanged.connect(self.viewed)
        self.verticalScrollBar().valueChanged.connect(self.viewed)
        self.pick: Callable[[QPointF], None] | None = None  # a click is a place pointed at
        self.hover: Callable[[QPointF | None], None] | None = None
        self._fitted: QRectF | None = None
        self._room = ROOM
        self._pan_from: QPoint | None = None
        self._space = False
        self._focus_by_key = False
        self._key_place = QPointF()  # where the keyboard points

    @property
    def px_a_unit(self) -> float:
        """How many screen pixels one unit of the scene takes."""
        return self.transform().m11()

    def show_scene(self, scene: QGraphicsScene) -> None:
        """Show another scene; the caller fits it."""
        if scene is not self.scene():
            self.setScene(scene)

    def fit(self, rect: QRectF, *, room: float = ROOM) -> None:
        """Show a whole box; it stays fitted while the window is resized, until a zoom."""
        if rect.isEmpty():
            return
        self._fitted, self._room = QRectF(rect), room
        view = self.viewport().rect()
        scale = min(
            view.width() * (1 - 2 * room) / rect.width(),
            view.height() * (1 - 2 * room) / rect.height(),
        )
        if scale <= 0:
            return
        self._set_scale(scale)
        self.centerOn(rect.center())
        self.viewed.emit()

    def zoom(self, factor: float, at: QPointF | None = None) -> None:
        """Zoom about a place of the viewport, the middle if left out."""
        place = QPointF(self.viewport().rect().center()) if at is None else at
        before = self.scene_at(place)
        scale = min(max(self.px_a_unit * factor, LEAST_PX_A_UNIT), MOST_PX_A_UNIT)
        self._fitted = None
        self._set_scale(scale)
        moved = self.transform().map(before) - self.transform().map(self.scene_at(place))
        self._scroll(QPoint(round(moved.x()), round(moved.y())))
        self.viewed.emit()

    def scene_at(self, place: QPointF) -> QPointF:
        """Return the scene's point under a place of the viewport, finer than a pixel."""
        inverse, _ = self.viewportTransform().inverted()
        return inverse.map(place)

    def visible_rect(self) -> QRectF:
        """Return the part of the scene that is shown."""
        room = QRectF(self.viewport().rect())
        return QRectF(self.scene_at(room.topLeft()), self.scene_at(room.bottomRight()))

    def keep_in_view(self, before: QRectF, now: QRectF) -> None:
        """Fit a box that was in view and grew out of it; who looks at a part of it keeps that."""
        shown = self.visible_rect()
        if not before.isEmpty() and shown.contains(before) and not shown.contains(now):
            self.fit(now)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom to the cursor."""
        notches = event.angleDelta().y() / WHEEL_NOTCH
        if notches:
            self.zoom(math.pow(ZOOM_A_NOTCH, notches), event.position())
        event.accept()

    def viewportEvent(self, event: QEvent) -> bool:
        """Zoom by a pinch on a touchpad; tell when the cursor leaves."""
        if (
            isinstance(event, QNativeGestureEvent)
            and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture
        ):
            self.zoom(1.0 + event.value(), event.position())
            return True
        if event.type() == QEvent.Type.Leave and self.hover is not None:
            self.hover(None)
        return super().viewportEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Begin to pan, or point at a place, or let the scene have it."""
        left = event.button() == Qt.MouseButton.LeftButton
        if event.button() == Qt.MouseButton.MiddleButton or (left and self._space):
            self._pan_from = event.position().toPoint()
            self.viewport().setCursor(Qt.CursorShape.ClosedHandCursor)
        elif left and self.pick is not None:
            self.pick(self.scene_at(event.position()))
        else:
            super().mousePressEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Let the scene have it, and tell where it was; while pointing it is one more click."""
        if event.button() != Qt.MouseButton.LeftButton or self.pick is not None or self._space:
            self.mousePressEvent(event)
            return
        super().mouseDoubleClickEvent(event)
        self.doubled.emit(self.scene_at(event.position()))

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Pan, tell where the cursor is, or let the scene have it."""
        if self._pan_from is not None:
            at = event.position().toPoint()
            self._fitted = None
            self._scroll(self._pan_from - at)
            self._pan_from = at
            return
        if self.hover is not None:
            self._key_place = event.position()
            self.hover(event.position())
        super().mouseMoveEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """End a pan."""
        if self._pan_from is not None:
            self._pan_from = None
            self._show_cursor()
            return
        super().mouseReleaseEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Pan while space is held; nudge with arrows and brackets."""
        if event.key() == Qt.Key.Key_Space:
            if not event.isAutoRepeat():
                self._space = True
                self._show_cursor()
            return
        if self.pick is not None and self._point_by_key(event):
            return
        large = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        key = Qt.Key(event.key())
        if key in ARROWS:
            self.nudged.emit(*ARROWS[key], 0.0, large)
        elif key in BRACKETS:
            self.nudged.emit(0.0, 0.0, BRACKETS[key], large)
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.deleted.emit()
        else:
            super().keyPressEvent(event)

    def _point_by_key(self, event: QKeyEvent) -> bool:
        """Move what the keyboard points at, or take it; return whether the key did either."""
        way = ARROWS.get(Qt.Key(event.key()))
        if way is not None and self.hover is not None:
            far = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
            self._key_place += QPointF(way[0] * far, -way[1] * far)
            self.hover(self._key_place)
            return True
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.pick is not None:
            self.pick(self.scene_at(self._key_place))
            return True
        return False

    def drawForeground(self, painter: QPainter, rect: QRectF | QRect) -> None:
        """Show that the canvas has the keyboard."""
        if self.hasFocus() and self._focus_by_key:
            painter.save()
            painter.resetTransform()
            painter.setPen(QPen(colour("accent"), 2))
            painter.drawRect(self.viewport().rect().adjusted(1, 1, -1, -1))
            painter.restore()

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus when it came by the keyboard."""
        super().focusInEvent(event)
        self._focus_by_key = event.reason() in KEY_REASONS
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that the focus went."""
        super().focusOutEvent(event)
        self.viewport().update()

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Leave panning."""
        if event.key() == Qt.Key.Key_Space and not event.isAutoRepeat():
            self._space = False
            self._show_cursor()
            return
        super().keyReleaseEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep what was fitted fitted."""
        super().resizeEvent(event)
        if self._fitted is not None:
            self.fit(self._fitted, room=self._room)
        self.viewed.emit()

    def _set_scale(self, scale: float) -> None:
        transform = self.transform()
        transform.reset()
        transform.scale(scale, scale)
        self.setTransform(transform)

    def _scroll(self, by: QPoint) -> None:
        across, up = self.horizontalScrollBar(), self.verticalScrollBar()
        across.setValue(across.value() + by.x())
        up.setValue(up.value() + by.y())

    def _show_cursor(self) -> None:
        if self._space:
            self.viewport().setCursor(Qt.CursorShape.OpenHandCursor)
        elif self.pick is not None:
            loupe = self.hover is not None
            shape = Qt.CursorShape.BlankCursor if loupe else Qt.CursorShape.CrossCursor
            self.viewport().setCursor(shape)
        else:
            self.viewport().unsetCursor()

    def set_pick(
        self,
        pick: Callable[[QPointF], None] | None,
        hover: Callable[[QPointF | None], None] | None = None,
    ) -> None:
        """Let clicks point at places, with `hover` under a loupe; None ends it."""
        self.pick, self.hover = pick, hover
        self._key_place = QPointF(self.viewport().rect().center())
        self._show_cursor()

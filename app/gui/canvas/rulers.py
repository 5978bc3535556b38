"""Rulers along two sides of the canvas, and a bar of round length on it."""

from __future__ import annotations

import math
from fractions import Fraction

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen

from app.document.lengths import MM_PER, Unit
from app.gui.canvas.axes import scene_point, sheet_point
from app.gui.canvas.measured import Measured
from app.gui.canvas.view import CanvasView
from app.gui.round_steps import round_step
from app.gui.theme import colour

RULER_PX = 24
LABEL_PX = 70.0  # least room between two numbers
TICK_PX = 5.0  # least room between two ticks
INCH_STEPS = [Fraction(1, 64 >> power) for power in range(7)] + [
    Fraction(step) for step in (2, 5, 10, 20, 50, 100)
]


def major_step(px_per_unit: float, unit: Unit) -> tuple[float, int]:
    """Return the step between numbers, in the unit, and the ticks in it.

    Inches go by halves below one, so that ticks are those of a rule.

    Examples
    --------
    >>> major_step(4.0, "mm"), major_step(100.0, "in"), major_step(200.0, "in")
    ((20.0, 10), (1.0, 16), (0.5, 16))
    """
    least = LABEL_PX / px_per_unit
    if unit == "mm":
        step = round_step(least)
        leading = round(step / 10.0 ** math.floor(math.log10(step) + 1e-9))
        counts: tuple[int, ...] = (20, 10, 4, 2) if leading == 2 else (10, 5, 2)
    else:
        step = float(next((one for one in INCH_STEPS if one >= least), INCH_STEPS[-1]))
        counts = (32, 16, 8, 4, 2) if step <= 1 else (10, 5, 2)
    room = step * px_per_unit
    return step, next((count for count in counts if room / count >= TICK_PX), 1)


class Ruler(Measured):
    """A ruler in the unit in use, along the canvas's top or left."""

    def __init__(self, view: CanvasView, *, upright: bool) -> None:
        super().__init__()
        self._view, self._upright = view, upright
        if upright:
            self.setFixedWidth(RULER_PX)
        else:
            self.setFixedHeight(RULER_PX)
        view.viewed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw ticks and numbers."""
        painter = self.painter(0.8)
        painter.fillRect(self.rect(), colour("panel"))
        scale = self._view.px_a_unit * MM_PER[self._unit]
        step, count = major_step(scale, self._unit)
        start, end = self._range()
        first, last = math.floor(start / step * count), math.ceil(end / step * count)
        for index in range(first, last + 1):
            value = index * step / count
            self._draw_tick(painter, value, index, count)

    def _range(self) -> tuple[float, float]:
        room = self._view.viewport().rect()
        ends = [
            sheet_point(self._view.scene_at(QPointF(corner)))
            for corner in (room.topLeft(), room.bottomRight())
        ]
        values = [(y if self._upright else x) / MM_PER[self._unit] for x, y in ends]
        return min(values), max(values)

    def _draw_tick(self, painter: QPainter, value: float, index: int, count: int) -> None:
        value_mm = value * MM_PER[self._unit]
        spot = (0.0, value_mm) if self._upright else (value_mm, 0.0)
        at = self._view.viewportTransform().map(scene_point(spot))
        major = index % count == 0
        middle = index % max(count // 2, 1) == 0
        length = 10 if major else 7 if middle else 4
        painter.setPen(QPen(colour("frame"), 1))
        if self._upright:
            y = at.y()
            painter.drawLine(QPointF(RULER_PX - length, y), QPointF(RULER_PX, y))
        else:
            x = at.x()
            painter.drawLine(QPointF(x, RULER_PX - length), QPointF(x, RULER_PX))
        if major and (at.y() if self._upright else at.x()) > 14:
            painter.setPen(colour("quiet"))
            self._draw_number(painter, at, f"{value:g}".replace("-", "−"))

    def _draw_number(self, painter: QPainter, at: QPointF, text: str) -> None:
        if self._upright:
            painter.save()
            painter.translate(0, at.y())
            painter.rotate(-90)
            painter.drawText(QRectF(-40, 0, 80, 13), int(Qt.AlignmentFlag.AlignCenter), text)
            painter.restore()
        else:
            box = QRectF(at.x() - 40, 0, 80, 13)
            painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), text)


class ScaleBar(Measured):
    """A bar of round length at the foot of the canvas."""

    def __init__(self, view: CanvasView) -> None:
        super().__init__(view)
        self._view = view
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.resize(220, 34)
        view.viewed.connect(self.update)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the bar and its length."""
        scale = self._view.px_a_unit * MM_PER[self._unit]
        length = round_step(80.0 / scale)
        width = length * scale
        painter = self.painter(0.9)
        painter.setPen(QPen(colour("text"), 2))
        y = 26.0
        painter.drawLine(QPointF(2, y), QPointF(2 + width, y))
        for x in (2.0, 2.0 + width):
            painter.drawLine(QPointF(x, y - 5), QPointF(x, y + 5))
        box = QRectF(2, 2, max(width, 60), 16)
        painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter), f"{length:g} {self._unit}")

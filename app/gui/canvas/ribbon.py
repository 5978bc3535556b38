"""The gap between a blank and the steel's edge as bands of colour, with a legend in numbers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QGraphicsItem,
    QStyleOptionGraphicsItem,
    QWidget,
)

from app.document.lengths import MM_PER, Unit
from app.gui.canvas.axes import flipped
from app.gui.canvas.measured import Measured
from app.gui.canvas.tag import cosmetic
from app.gui.theme import colour, theme
from geometry.clearance import ClearanceProfile

BAND_EDGES: dict[Unit, tuple[float, ...]] = {  # in the unit: where one colour ends
    "mm": (1.0, 2.0, 4.0, 8.0),
    "in": (0.04, 0.08, 0.16, 0.32),
}
WIDTH_PX = 6.0


def band_of(distances_mm: NDArray[np.float64], unit: Unit) -> NDArray[np.int64]:
    """Return which colour of the ramp each gap gets, tight first.

    Examples
    --------
    >>> band_of(np.array([-1.0, 0.5, 1.5, 9.0]), "mm").tolist()
    [0, 0, 1, 4]
    """
    edges = np.asarray(BAND_EDGES[unit]) * MM_PER[unit]
    return np.searchsorted(edges, distances_mm, side="right")


class RibbonItem(QGraphicsItem):
    """The ribbon along a blank; a stretch that fails the margin is doubled and broken."""

    def __init__(self) -> None:
        super().__init__()
        self._bands: list[tuple[int, QPainterPath]] = []
        self._failing = QPainterPath()
        self._box = QRectF()
        self.setZValue(4)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)

    def show_profile(self, profile: ClearanceProfile, margin_mm: float, unit: Unit) -> None:
        """Draw the gap along the blank's edge."""
        self.prepareGeometryChange()
        points = flipped(profile.points_mm)
        bands = band_of(profile.distances_mm, unit)
        self._bands = [
            (int(band), _pieces(points, bands == band)) for band in np.unique(bands) if band < 4
        ]
        self._failing = _pieces(points, profile.distances_mm < margin_mm)
        low, high = points.min(axis=0), points.max(axis=0)
        self._box = QRectF(*low.tolist(), *(high - low).tolist()).adjusted(-20, -20, 20, 20)
        self.update()

    def boundingRect(self) -> QRectF:
        """Return the blank's box and a little more."""
        return self._box

    def paint(
        self, painter: QPainter, option: QStyleOptionGraphicsItem, widget: QWidget | None = None
    ) -> None:
        """Draw the bands, then the failing stretches over them."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for band, path in self._bands:
            pen = cosmetic(QColor(theme().tones.ramp[band]), WIDTH_PX)
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
            painter.drawPath(path)
        painter.setPen(cosmetic("paper", 2.0, (2.0, 2.0)))
        painter.drawPath(self._failing)


class RibbonLegend(Measured):
    """What the ribbon's colours mean, in numbers."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.resize(232, 62)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the ramp with its numbers, and the sign of a failing stretch."""
        painter = self.painter(0.85)
        painter.setPen(colour("quiet"))
        painter.drawText(QRectF(0, 0, 232, 16), 0, "gap to the usable edge")
        for index, tone in enumerate(theme().tones.ramp[:4]):
            painter.fillRect(QRectF(index * 44, 20, 44, 8), QColor(tone))
        for index, edge in enumerate((0.0, *BAND_EDGES[self._unit])):
            text = f"{edge:g}" + (f" {self._unit}" if index == 4 else "")
            flag = Qt.AlignmentFlag.AlignHCenter if index else Qt.AlignmentFlag.AlignLeft
            left = index * 44 - (24 if index else 0)
            painter.drawText(QRectF(left, 31, 52, 14), int(flag), text)
        painter.fillRect(QRectF(0, 50, 44, 6), QColor(theme().tones.ramp[0]))
        painter.setPen(QPen(colour("paper"), 2, Qt.PenStyle.DashLine))
        painter.drawLine(0, 53, 44, 53)
        painter.setPen(colour("quiet"))
        painter.drawText(QRectF(52, 46, 180, 14), 0, "broken: less than the margin")


def _pieces(points: NDArray[np.float64], chosen: NDArray[np.bool_]) -> QPainterPath:
    """Return the closed line's pieces that start at chosen points."""
    path = QPainterPath()
    after = np.roll(points, -1, axis=0)
    open_at = -2
    for index in np.flatnonzero(chosen).tolist():
        if index != open_at + 1:
            path.moveTo(*points[index].tolist())
        path.lineTo(*after[index].tolist())
        open_at = index
    return path

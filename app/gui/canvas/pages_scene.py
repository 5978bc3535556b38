"""The pattern's pages as they will print."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFont,
    QFontDatabase,
    QFontMetricsF,
    QPainterPath,
    QPen,
    QTransform,
)
from PySide6.QtWidgets import QGraphicsPathItem, QGraphicsRectItem

from app.document.drawing import LAYERS, Circle, Cross, Item, Polyline, Text
from app.gui.canvas.axes import scene_path, scene_point, scene_rect
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.canvas.tag import Tag, cosmetic

if TYPE_CHECKING:
    from app.exports.pages import Page, Pages

INK, PAGE = "#1A1A1A", "#FFFFFF"  # paper is white and ink black in every appearance
BETWEEN_MM = 15.0
LETTER_PX = 200  # size of the letters before they are shrunk to millimetres
IN_A_ROW = 3


class PagesScene(SheetScene):
    """The scene of the pattern step."""

    def show_pages(self, pages: Pages | None) -> None:
        """Draw the pages side by side, three in a row."""
        self.clear_drawing()
        if pages is None:
            return
        paper = pages.paper
        content = QRectF()
        for index, page in enumerate(pages.pages):
            row, column = divmod(index, IN_A_ROW)
            left_mm = column * (paper.width_mm + BETWEEN_MM)
            foot_mm = -row * (paper.height_mm + BETWEEN_MM)
            box = scene_rect(
                (left_mm, foot_mm, left_mm + paper.width_mm, foot_mm + paper.height_mm)
            )
            sheet = self.addRect(box, cosmetic("frame", 1.0), QBrush(QColor(PAGE)))
            corner = (left_mm + pages.corner_mm[0], foot_mm + pages.corner_mm[1])
            self._draw_page(page, scene_point(corner), sheet)
            content = content.united(box)
            if len(pages.pages) > 1:
                tag = Tag((page.name or f"page {index + 1}",), "hairline", (0.0, 16.0))
                tag.setPos(QPointF(box.center().x(), box.bottom()))
                self.addItem(tag)
        self.set_content(content.adjusted(-4, -4, 4, 10))

    def _draw_page(self, page: Page, corner: QPointF, sheet: QGraphicsRectItem) -> None:
        window = QGraphicsRectItem(scene_rect(page.window_mm), sheet)
        window.setPen(QPen(Qt.PenStyle.NoPen))
        window.setPos(corner)
        window.setFlag(window.GraphicsItemFlag.ItemClipsChildrenToShape)
        for item in page.content:
            _add_item(item, window)
        bench = QGraphicsRectItem(sheet)
        bench.setPos(corner)
        for item in page.furniture:
            _add_item(item, bench)


def _add_item(item: Item, parent: QGraphicsRectItem) -> None:
    layer = LAYERS[item.layer]
    drawn = QGraphicsPathItem(parent)
    if isinstance(item, Text):
        drawn.setPath(_letters(item))
        drawn.setBrush(QColor(INK))
        drawn.setPen(QPen(Qt.PenStyle.NoPen))
        return
    pen = QPen(QColor(INK), layer.width_mm)
    if layer.dash_mm:
        pen.setDashPattern([length / layer.width_mm for length in layer.dash_mm])
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    drawn.setPen(pen)
    drawn.setPath(_lines(item))


def _lines(item: Item) -> QPainterPath:
    path = QPainterPath()
    if isinstance(item, Polyline):
        return scene_path(item.points_mm, closed=item.closed)
    if isinstance(item, Circle):
        radius = item.diameter_mm / 2
        path.addEllipse(scene_point((item.x_mm, item.y_mm)), radius, radius)
    elif isinstance(item, Cross):
        arm = item.size_mm / 2
        for dx, dy in ((arm, 0.0), (0.0, arm)):
            path.moveTo(scene_point((item.x_mm - dx, item.y_mm - dy)))
            path.lineTo(scene_point((item.x_mm + dx, item.y_mm + dy)))
    return path


def _letters(item: Text) -> QPainterPath:
    font, capital_px = _lettering()
    shrink = item.height_mm / capital_px
    width_mm = QFontMetricsF(font).horizontalAdvance(item.text) * shrink
    left = {"start": 0.0, "middle": width_mm / 2, "end": width_mm}[item.align]
    path = QPainterPath()
    path.addText(QPointF(0, 0), font, item.text)
    place = scene_point((item.x_mm - left, item.y_mm))
    return QTransform(shrink, 0, 0, shrink, place.x(), place.y()).map(path)


@cache
def _lettering() -> tuple[QFont, float]:
    """Return the print's own letters and the height of their capitals, px."""
    from app import exports

    for face in (Path(exports.__path__[0]) / "fonts").glob("*.ttf"):
        number = QFontDatabase.addApplicationFont(str(face))
        for family in QFontDatabase.applicationFontFamilies(number):
            font = QFont(family)
            font.setPixelSize(LETTER_PX)
            return font, QFontMetricsF(font).capHeight()
    font = QFont()
    font.setPixelSize(LETTER_PX)
    return font, QFontMetricsF(font).capHeight()

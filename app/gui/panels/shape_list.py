"""The list of shapes, each drawn at one common scale with its main sizes."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFont, QIcon, QPainter, QPen, QPixmap
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
)

from app.document.drawing import Polyline
from app.document.gallery import MainSizes, lines_of, main_sizes, sizes_words
from app.document.lengths import Unit
from app.gui.canvas.axes import scene_path, scene_shape
from app.gui.theme import colour
from geometry.errors import ToolError
from geometry.family import Family
from geometry.outline import Outline

THUMB = QSize(264, 42)
ROW_PX, HEADING_PX = 82, 30
SIDE_PX = 10  # left free beside a picture
THUMB_MM = 330.0  # what the common scale shows; a longer outline is shrunk
KEY, SIZES, HEADING = (Qt.ItemDataRole.UserRole + n for n in range(3))
SMALLER = 0.9  # of the letters that tell the sizes


class ShapeList(QListWidget):
    """Shapes to choose from, under headings where there is more than one group of them.

    Attributes
    ----------
    told : Signal
        The key of the chosen family.
    again : Signal
        The key of the family that was chosen before: it was clicked, or Enter was hit.
    """

    told, again = Signal(str), Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("Shapes")
        self.setIconSize(THUMB)
        self.setItemDelegate(_Rows(self))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QListWidget.ScrollMode.ScrollPerPixel)
        self.currentItemChanged.connect(self._chosen)
        self.itemClicked.connect(self._asked_again)
        self.itemActivated.connect(self._asked_again)
        self.unit: Unit = "mm"
        self._to_draw: list[tuple[QListWidgetItem, Family]] = []

    def show_families(self, groups: Sequence[tuple[str, Sequence[Family]]]) -> None:
        """List groups of shapes, each under its heading; their drawings follow one by one.

        A heading is left out where there is one group alone.
        """
        self.blockSignals(True)
        chosen = self.current_key
        self.clear()
        self._to_draw = []
        groups = [(heading, families) for heading, families in groups if families]
        for heading, families in groups:
            if len(groups) > 1:
                self._add_heading(heading)
            for family in families:
                self._add_family(family)
        self.blockSignals(False)
        self.show_current(chosen)
        self._draw_next()

    def show_current(self, key: str) -> None:
        """Show which shape is chosen; none for a key that is not listed."""
        self.blockSignals(True)
        rows = range(self.count())
        keys = [self.item(row).data(KEY) for row in rows]
        found = keys.index(key) if key and key in keys else -1
        if found != self.currentRow():
            self.setCurrentRow(found)
            self._bring_chosen()
            QTimer.singleShot(0, self, self._bring_chosen)  # in the height that it is given
        self.blockSignals(False)

    def _bring_chosen(self) -> None:
        """Scroll to whole rows at the top, as few as show the chosen one and its heading."""
        if not self.count():
            return
        row = self.currentRow()
        first = max(row, 0)
        if first and self.item(first - 1).data(HEADING):
            first -= 1
        while first > 0 and self._height_of(first - 1, row) <= self.viewport().height():
            first -= 1
        self.scrollToItem(self.item(first), QListWidget.ScrollHint.PositionAtTop)

    def _height_of(self, first: int, last: int) -> int:
        """Return how high some rows are together."""
        upper, lower = (self.visualItemRect(self.item(row)) for row in (first, last))
        return lower.bottom() - upper.top()

    def show_unit(self, unit: Unit) -> None:
        """Write sizes in another unit."""
        if unit != self.unit:
            self.unit = unit
            self.viewport().update()

    @property
    def current_key(self) -> str:
        """The key of the chosen family; empty without one."""
        item = self.currentItem()
        return "" if item is None else str(item.data(KEY) or "")

    def item_of(self, key: str) -> QListWidgetItem | None:
        """Return the row of a family."""
        items = (self.item(row) for row in range(self.count()))
        return next((item for item in items if item.data(KEY) == key), None)

    def _add_heading(self, words: str) -> None:
        item = QListWidgetItem(words)
        item.setFlags(Qt.ItemFlag.NoItemFlags)
        item.setData(HEADING, True)
        item.setSizeHint(QSize(THUMB.width(), HEADING_PX))
        self.addItem(item)

    def _add_family(self, family: Family) -> None:
        item = QListWidgetItem(family.name)
        item.setSizeHint(QSize(THUMB.width(), ROW_PX))
        item.setData(KEY, family.key)
        item.setToolTip(" ".join(family.notes.split()))
        self.addItem(item)
        self._to_draw.append((item, family))

    def _draw_next(self) -> None:
        """Draw one shape, and the next when the window has had its turn."""
        if self._to_draw:
            item, family = self._to_draw.pop(0)
            try:
                outline = family.outline()
            except ToolError as error:
                item.setToolTip(error.message)
            else:
                item.setData(SIZES, main_sizes(outline))
                item.setIcon(_picture(outline))
            QTimer.singleShot(0, self, self._draw_next)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Take the keys without choosing the first shape where none is chosen."""
        row, bar = self.currentRow(), self.verticalScrollBar()
        shown = bar.value()
        self.blockSignals(True)
        super().focusInEvent(event)
        if self.currentRow() != row:
            self.setCurrentRow(row)
            bar.setValue(shown)
        self.blockSignals(False)

    def _chosen(self, item: QListWidgetItem | None) -> None:
        if item is not None and item.data(KEY):
            self.told.emit(item.data(KEY))

    def _asked_again(self, item: QListWidgetItem) -> None:
        if item.data(KEY):
            self.again.emit(item.data(KEY))


class _Rows(QStyledItemDelegate):
    """Draws a shape's row: its picture, below it its name and its main sizes."""

    def __init__(self, shapes: ShapeList) -> None:
        super().__init__(shapes)
        self._shapes = shapes

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Draw one row."""
        box = QRect(option.rect)
        state = option.state
        painter.save()
        if index.data(HEADING):
            self._heading(painter, box, str(index.data()))
        else:
            if state & QStyle.StateFlag.State_Selected:
                painter.fillRect(box, colour("chosen"))
                painter.fillRect(QRect(box.left(), box.top(), 4, box.height()), colour("accent"))
            self._shape(painter, box.adjusted(SIDE_PX, 5, -4, -5), index)
        painter.restore()

    def _heading(self, painter: QPainter, box: QRect, words: str) -> None:
        font = QFont(self._shapes.font())
        font.setWeight(QFont.Weight.DemiBold)
        painter.setFont(font)
        painter.setPen(colour("quiet"))
        box = box.adjusted(SIDE_PX, 0, -SIDE_PX, -4)
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, words)

    def _shape(
        self, painter: QPainter, box: QRect, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        icon = index.data(Qt.ItemDataRole.DecorationRole)
        if isinstance(icon, QIcon):
            icon.paint(painter, QRect(box.topLeft(), THUMB), Qt.AlignmentFlag.AlignLeft)
        words = box.adjusted(0, THUMB.height() + 1, 0, 0)
        painter.setPen(colour("text"))
        painter.setFont(self._shapes.font())
        left_top = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
        painter.drawText(words, left_top, str(index.data()))
        sizes = index.data(SIZES)
        told = (
            sizes_words(sizes, self._shapes.unit)
            if isinstance(sizes, MainSizes)
            else str(index.data(Qt.ItemDataRole.ToolTipRole) or "")
        )
        font = QFont(self._shapes.font())
        font.setPointSizeF(font.pointSizeF() * SMALLER)
        painter.setFont(font)
        painter.setPen(colour("quiet"))
        fitted = painter.fontMetrics().elidedText(told, Qt.TextElideMode.ElideRight, words.width())
        painter.drawText(words, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, fitted)


def _picture(outline: Outline) -> QIcon:
    """Return an outline as a small picture, its butt at the left."""
    ratio = 2.0
    picture = QPixmap(THUMB * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    shape = outline.polygon(0.2)
    x0, y0, x1, y1 = shape.bounds
    scale = min(
        THUMB.width() / THUMB_MM,
        THUMB.width() * 0.98 / (x1 - x0),
        THUMB.height() * 0.98 / (y1 - y0),
    )
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(0.0, THUMB.height() / 2)
    painter.scale(scale, scale)
    painter.translate(-x0, (y0 + y1) / 2)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour("steel_edge"))
    painter.drawPath(scene_shape(shape))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_thin(colour("paper")))
    for line in lines_of(outline):
        if isinstance(line, Polyline) and line.layer in ("MARKS", "AXIS"):
            painter.drawPath(scene_path(line.points_mm))
    painter.end()
    icon = QIcon(picture)
    icon.addPixmap(picture, QIcon.Mode.Selected)
    return icon


def _thin(tone: QColor) -> QPen:
    pen = QPen(tone, 1.0)
    pen.setCosmetic(True)
    return pen

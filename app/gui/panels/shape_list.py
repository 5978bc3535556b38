"""The list of shapes, each drawn at one common scale."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtWidgets import QListView, QListWidget, QListWidgetItem

from app.gui.canvas.axes import scene_shape
from app.gui.theme import colour
from geometry.errors import ToolError
from geometry.family import Family

THUMB = QSize(264, 42)
CELL = QSize(278, 70)
THUMB_MM = 330.0  # what the common scale shows; a longer outline is shrunk


class ShapeList(QListWidget):
    """Shapes to choose from.

    Attributes
    ----------
    told : Signal
        The key of the chosen family.
    """

    told = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName("Shapes")
        self.setViewMode(QListView.ViewMode.IconMode)
        self.setMovement(QListView.Movement.Static)
        self.setFlow(QListView.Flow.TopToBottom)
        self.setWrapping(False)
        self.setIconSize(THUMB)
        self.setGridSize(CELL)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.currentItemChanged.connect(self._chosen)
        self._to_draw: list[tuple[int, Family]] = []

    def show_families(self, families: tuple[Family, ...]) -> None:
        """List the shapes; their drawings follow one by one."""
        self.blockSignals(True)
        kept = self.currentRow()
        self.clear()
        for family in families:
            item = QListWidgetItem(family.name)
            item.setSizeHint(CELL - QSize(2, 2))
            item.setData(Qt.ItemDataRole.UserRole, family.key)
            item.setToolTip(" ".join(family.notes.split()))
            self.addItem(item)
        self.setCurrentRow(kept)
        self.blockSignals(False)
        self._to_draw = list(enumerate(families))
        self._draw_next()

    def show_current(self, key: str) -> None:
        """Show which shape is chosen; none for a key that is not listed."""
        self.blockSignals(True)
        rows = range(self.count())
        keys = [self.item(row).data(Qt.ItemDataRole.UserRole) for row in rows]
        found = keys.index(key) if key in keys else -1
        if found != self.currentRow():
            self.setCurrentRow(found)
        self.blockSignals(False)

    def _draw_next(self) -> None:
        """Draw one shape, and the next when the window has had its turn."""
        if self._to_draw:
            row, family = self._to_draw.pop(0)
            item = self.item(row)
            if item is not None:
                item.setIcon(_thumbnail(family))
            QTimer.singleShot(0, self, self._draw_next)

    def _chosen(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self.told.emit(item.data(Qt.ItemDataRole.UserRole))


def _thumbnail(family: Family) -> QIcon:
    ratio = 2.0
    picture = QPixmap(THUMB * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    try:
        outline = family.outline()
    except ToolError:
        return QIcon(picture)
    shape = outline.polygon(0.2)
    x0, y0, x1, y1 = shape.bounds
    scale = min(THUMB.width() / THUMB_MM, THUMB.width() * 0.98 / (x1 - x0))
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    middle = (THUMB.width() - (x1 - x0) * scale) / 2  # its name stands under its middle
    painter.translate(middle, THUMB.height() / 2)
    painter.scale(scale, scale)
    painter.translate(-x0, (y0 + y1) / 2)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour("steel_edge"))
    painter.drawPath(scene_shape(shape))
    painter.end()
    icon = QIcon(picture)
    icon.addPixmap(picture, QIcon.Mode.Selected)
    return icon

"""The canvas as a whole: view, rulers, scale bar, legend and loupe."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QGraphicsScene, QGridLayout, QWidget

from app.document.lengths import Unit
from app.gui.canvas.ribbon import RibbonLegend
from app.gui.canvas.rulers import RULER_PX, Ruler, ScaleBar
from app.gui.canvas.view import CanvasView
from app.gui.loupe import Loupe
from app.gui.theme import colour, theme


class Bench(QWidget):
    """View and what stands round it."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("bench")
        self.view = CanvasView()
        self.across, self.up = Ruler(self.view, upright=False), Ruler(self.view, upright=True)
        self.bar, self.legend = ScaleBar(self.view), RibbonLegend(self.view)
        self.loupe = Loupe(self.view.viewport())
        self._corner = QWidget()
        self._corner.setFixedSize(RULER_PX, RULER_PX)
        self._corner.setAutoFillBackground(True)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(0)
        grid.addWidget(self._corner, 0, 0)
        grid.addWidget(self.across, 0, 1)
        grid.addWidget(self.up, 1, 0)
        grid.addWidget(self.view, 1, 1)
        self.view.installEventFilter(self)
        theme().changed.connect(self._repaint)
        self._repaint()

    def show_scene(self, scene: QGraphicsScene, *, in_mm: bool, gaps: bool = False) -> None:
        """Show a scene; rulers and bar belong to scenes in mm, the legend to a layout."""
        self.view.set_pick(None)
        self.loupe.hide()
        for part in (self.across, self.up, self._corner, self.bar):
            part.setVisible(in_mm)
        self.legend.setVisible(gaps)
        self.view.show_scene(scene)
        self._repaint()

    def set_unit(self, unit: Unit) -> None:
        """Measure in another unit."""
        for part in (self.across, self.up, self.bar, self.legend):
            part.set_unit(unit)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep bar and legend at the foot of the view."""
        if event.type() == QEvent.Type.Resize:
            foot = self.view.height() - 16
            self.bar.move(16, foot - self.bar.height())
            self.legend.move(
                self.view.width() - self.legend.width() - 16, foot - self.legend.height()
            )
        return super().eventFilter(watched, event)

    def _repaint(self) -> None:
        self.view.setBackgroundBrush(colour("paper"))
        self.view.viewport().update()

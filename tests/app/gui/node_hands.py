"""What a hand does to the points of an edge: where they are, and pulling one."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.document.flow import outline_of
from app.gui.canvas.axes import scene_point
from app.gui.canvas.node_handles import NodeHandle
from app.gui.window import MainWindow
from geometry.node_edit import nodes_mm
from tests.app.gui.hands import on_canvas


def handles(window: MainWindow) -> dict[int, NodeHandle]:
    items = window.steps.outline.scene.items()
    return {item.index: item for item in items if isinstance(item, NodeHandle)}


def uppermost(window: MainWindow) -> tuple[int, tuple[float, float]]:
    """The point of the spine over the blade: far from any other."""
    nodes = nodes_mm(outline_of(window.document.job))
    index = max(range(len(nodes)), key=lambda i: (nodes[i][1] > 25.9, nodes[i][0]))
    return index, nodes[index]


def pull(qtbot: QtBot, window: MainWindow, by: QPoint) -> QPoint:
    """Take hold of the spine's point and pull it, without letting go; return where the hand is."""
    canvas = window.bench.view.viewport()
    start = on_canvas(window, scene_point(uppermost(window)[1]))
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    for share in (0.5, 1.0):
        qtbot.mouseMove(canvas, start + by * share)
    return start + by


def let_go(qtbot: QtBot, window: MainWindow, at: QPoint) -> None:
    qtbot.mouseRelease(window.bench.view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    qtbot.wait(20)

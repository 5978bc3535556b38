"""The edge changed by hand: points dragged on the canvas, one step of the history each."""

from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.document.flow import outline_of
from app.gui.canvas.axes import scene_point
from app.gui.canvas.node_handles import NodeHandle
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.node_edit import nodes_mm
from tests.app.gui.hands import drag, on_canvas

DROP = "full_tang_drop_point"


@pytest.fixture
def dragging(window: MainWindow) -> MainWindow:
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    panel.blade_tab.click()
    panel.drag_buttons[1].click()
    return window


def handles(window: MainWindow) -> dict[int, NodeHandle]:
    items = window.steps.outline.scene.items()
    return {item.index: item for item in items if isinstance(item, NodeHandle)}


def uppermost(window: MainWindow) -> tuple[int, tuple[float, float]]:
    """The point of the spine over the blade: far from any other."""
    nodes = nodes_mm(outline_of(window.document.job))
    index = max(range(len(nodes)), key=lambda i: (nodes[i][1] > 25.9, nodes[i][0]))
    return index, nodes[index]


def test_every_node_has_a_mark_where_it_is(dragging: MainWindow) -> None:
    nodes = nodes_mm(outline_of(dragging.document.job))
    found = handles(dragging)
    assert sorted(found) == list(range(len(nodes)))
    for index, place in enumerate(nodes):
        spot = scene_point(place)
        assert (found[index].pos().x(), found[index].pos().y()) == (spot.x(), spot.y())
    assert "Drag a point" in dragging.verdict.words.text()


def test_a_dragged_point_goes_where_the_hand_lets_go_of_it(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    index, (x, y) = uppermost(dragging)
    start = on_canvas(dragging, scene_point((x, y)))
    px_a_mm = dragging.bench.view.px_a_unit
    drag(qtbot, dragging, start, QPoint(0, -24))
    qtbot.waitUntil(lambda: dragging.document.job.outline.drawing is not None)
    changed = outline_of(dragging.document.job)
    moved = nodes_mm(changed)
    assert min(math.dist(p, (x, y + 24 / px_a_mm)) for p in moved) < 1.5 / px_a_mm
    assert "without measures" in dragging.steps.outline.panel.message
    assert dragging.document.stack.count() == 1
    dragging.document.stack.undo()
    assert dragging.document.job.outline.family == DROP
    assert index in handles(dragging)


def test_keys_move_the_point_that_was_taken_last(dragging: MainWindow, qtbot: QtBot) -> None:
    _, (x, y) = uppermost(dragging)
    canvas = dragging.bench.view.viewport()
    at = on_canvas(dragging, scene_point((x, y)))
    QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at)
    qtbot.wait(20)
    assert dragging.document.job.outline.family == DROP  # a click alone changes nothing
    for _ in range(3):
        QTest.keyClick(dragging.bench.view, Qt.Key.Key_Up)
    nodes = nodes_mm(outline_of(dragging.document.job))
    assert min(math.dist(p, (x, y + 0.3)) for p in nodes) < 1e-9


def test_an_edge_that_would_cross_itself_is_told_and_not_taken(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    _, (x, y) = uppermost(dragging)
    start = on_canvas(dragging, scene_point((x, y)))
    far = on_canvas(dragging, scene_point((x, y - 60.0))) - start
    drag(qtbot, dragging, start, far)
    qtbot.waitUntil(lambda: dragging.steps.outline.panel.message != "")
    assert "crosses" in dragging.steps.outline.panel.message
    assert dragging.document.job.outline.family == DROP
    spot = scene_point((x, y))
    places = [(h.pos().x(), h.pos().y()) for h in handles(dragging).values()]
    assert (spot.x(), spot.y()) in places  # the mark is back where the point is


def test_escape_and_other_steps_put_the_points_away(dragging: MainWindow) -> None:
    panel = dragging.steps.outline.panel
    QTest.keyClick(dragging, Qt.Key.Key_Escape)
    assert not handles(dragging)
    assert not any(button.isChecked() for button in panel.drag_buttons)
    panel.drag_buttons[1].click()
    dragging.go(Step.LAYOUT)
    dragging.go(Step.OUTLINE)
    assert not handles(dragging)

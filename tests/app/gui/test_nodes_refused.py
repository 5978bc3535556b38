"""A point dragged where the edge cannot go: told, and not taken."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.gui.canvas.axes import scene_point
from app.gui.window import MainWindow
from tests.app.gui.hands import drag, on_canvas
from tests.app.gui.node_hands import handles, let_go, pull, uppermost

DROP = "full_tang_drop_point"


def test_an_edge_that_would_cross_itself_is_told_and_not_taken(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    _, (x, y) = uppermost(dragging)
    start = on_canvas(dragging, scene_point((x, y)))
    far = on_canvas(dragging, scene_point((x, y - 60.0))) - start
    drag(qtbot, dragging, start, far)
    qtbot.waitUntil(lambda: dragging.steps.outline.panel.message != "")
    assert "crosses" in dragging.steps.outline.panel.message
    assert "move it less far" in dragging.steps.outline.panel.message
    assert "Give one" not in dragging.steps.outline.panel.message  # as for a file
    assert dragging.document.job.outline.family == DROP
    spot = scene_point((x, y))
    places = [(h.pos().x(), h.pos().y()) for h in handles(dragging).values()]
    assert (spot.x(), spot.y()) in places  # the mark is back where the point is


@pytest.mark.parametrize("then", ["hold", "bracket", "put away"])
def test_what_was_said_of_a_refused_drag_goes_with_the_next_move(
    dragging: MainWindow, qtbot: QtBot, then: str
) -> None:
    _, (x, y) = uppermost(dragging)
    start = on_canvas(dragging, scene_point((x, y)))
    far = on_canvas(dragging, scene_point((x, y - 60.0))) - start
    drag(qtbot, dragging, start, far)
    panel = dragging.steps.outline.panel
    qtbot.waitUntil(lambda: panel.message != "")
    if then == "hold":
        at = pull(qtbot, dragging, QPoint(0, -20))
        assert panel.message == ""
        QTest.keyClick(dragging.bench.view, Qt.Key.Key_Escape)  # it goes back: nothing was done
        let_go(qtbot, dragging, at)
    elif then == "bracket":
        QTest.keyClick(dragging.bench.view, Qt.Key.Key_BracketLeft)
    else:
        panel.drag_buttons[1].click()
    assert panel.message == ""


def test_what_was_said_of_points_that_cannot_be_fewer_goes_with_undo(
    dragging: MainWindow, idle: Callable[..., None]
) -> None:
    step = dragging.steps.outline
    for _ in range(20):
        step.panel.points.fewer_asked.emit(0.5)
        idle(dragging, "points")
        if "as few points as it can" in step.panel.message:
            break
    assert "as few points as it can" in step.panel.message
    dragging.undoing.undo.trigger()
    assert "as few points" not in step.panel.message


def test_where_the_edge_cannot_go_is_told_while_the_hand_is_there(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    index, (x, y) = uppermost(dragging)
    at = on_canvas(dragging, scene_point((x, y - 60.0)))
    pull(qtbot, dragging, at - on_canvas(dragging, scene_point((x, y))))
    assert "cannot go there" in dragging.verdict.words.text()
    assert [i for i, handle in handles(dragging).items() if handle.doubted] == [index]
    let_go(qtbot, dragging, at)
    assert not any(handle.doubted for handle in handles(dragging).values())

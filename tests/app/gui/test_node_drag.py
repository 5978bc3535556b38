"""The edge changed by hand: points dragged on the canvas, one step of the history each."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QInputDialog
from pytestqt.qtbot import QtBot

from app.document.flow import outline_of
from app.document.job import OutlineChoice
from app.files.job_file import read_job
from app.gui.canvas.axes import scene_point, sheet_point
from app.gui.canvas.tag import Tag
from app.gui.panels import own_menu
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import family_named
from geometry.node_edit import nodes_mm
from tests.app.gui.hands import drag, on_canvas
from tests.app.gui.node_hands import handles, let_go, pull, uppermost

DROP = "full_tang_drop_point"


def shown(window: MainWindow) -> set[str]:
    """The numbers on the canvas."""
    items = window.steps.outline.scene.items()
    return {item._lines[0] for item in items if isinstance(item, Tag)}


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
    assert "undo, or choose a shape" in dragging.steps.outline.panel.message
    assert changed.name == "Full-tang drop point, changed by hand"
    dragging.document.stack.undo()
    assert dragging.document.job.outline.family == DROP
    assert dragging.steps.outline.panel.message == ""  # it has its measures again
    assert index in handles(dragging)
    dragging.document.stack.redo()
    assert outline_of(dragging.document.job) == changed


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


def test_brackets_take_the_next_point_without_a_mouse(dragging: MainWindow) -> None:
    assert dragging.bench.view.hasFocus()
    nodes = nodes_mm(outline_of(dragging.document.job))
    taken = []
    for key in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
        QTest.keyClick(dragging.bench.view, key)
        taken += [i for i, handle in handles(dragging).items() if handle.chosen]
    assert taken == [0, 1, 0]
    assert dragging.document.stack.count() == 0
    QTest.keyClick(dragging.bench.view, Qt.Key.Key_BracketLeft)
    QTest.keyClick(dragging.bench.view, Qt.Key.Key_Down)
    x, y = nodes[1]
    moved = nodes_mm(outline_of(dragging.document.job))
    assert min(math.dist(p, (x, y - 0.1)) for p in moved) < 1e-9


def test_the_sizes_follow_the_hand_and_nothing_is_changed_before_it_lets_go(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    view = dragging.bench.view
    before, at_rest = shown(dragging), view.viewportTransform()
    job = dragging.document.job
    at = pull(qtbot, dragging, QPoint(0, -40))
    height = sheet_point(view.scene_at(at.toPointF()))[1] - outline_of(job).bounds_mm[1]
    [width] = (words for words in shown(dragging) - before if words.startswith("overall width"))
    assert float(width.removeprefix("overall width ").removesuffix(" mm")) == pytest.approx(
        height, abs=1.0 / view.px_a_unit
    )
    assert view.viewportTransform() == at_rest
    assert "mm along and" in dragging.verdict.words.text()
    assert dragging.document.job is job
    let_go(qtbot, dragging, at)
    assert width in shown(dragging)
    assert "Drag a point" in dragging.verdict.words.text()


def test_escape_lets_a_held_point_go_back_and_keeps_the_others_at_hand(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    before = shown(dragging)
    at = pull(qtbot, dragging, QPoint(0, -40))
    QTest.keyClick(dragging.bench.view, Qt.Key.Key_Escape)
    assert shown(dragging) == before
    let_go(qtbot, dragging, at)
    assert dragging.document.job.outline.family == DROP
    assert dragging.document.stack.count() == 0
    assert handles(dragging)
    assert "Drag a point" in dragging.verdict.words.text()


def test_undo_under_the_hand_lets_the_point_go(dragging: MainWindow, qtbot: QtBot) -> None:
    at = pull(qtbot, dragging, QPoint(0, -24))
    let_go(qtbot, dragging, at)
    at = pull(qtbot, dragging, QPoint(10, -10))
    dragging.document.stack.undo()
    let_go(qtbot, dragging, at)
    assert dragging.document.job.outline == OutlineChoice(family=DROP)
    assert dragging.document.stack.canRedo()


def test_where_marks_overlap_the_nearest_one_is_taken(dragging: MainWindow, qtbot: QtBot) -> None:
    """Both ends of the notch, a few pixels apart, each pressed on the side of the other."""
    nodes = nodes_mm(outline_of(dragging.document.job))
    heel, behind = nodes.index((0.0, 0.0)), nodes.index((-3.0, 0.0))
    spots = {i: on_canvas(dragging, scene_point(nodes[i])) for i in (heel, behind)}
    apart = spots[heel].x() - spots[behind].x()
    assert 6 < apart < 20  # else this test tells nothing
    canvas = dragging.bench.view.viewport()
    for index, side in ((heel, -1), (behind, 1)):
        at = spots[index] + QPoint(side * (apart // 2 - 1), 0)
        qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=at)
        assert [i for i, handle in handles(dragging).items() if handle.chosen] == [index]
        let_go(qtbot, dragging, at)


def test_keys_keep_their_point_where_an_arc_before_it_becomes_curves(
    dragging: MainWindow, qtbot: QtBot
) -> None:
    job = dragging.document.job
    choice = OutlineChoice(family="hidden_tang_hunter")
    dragging.document.change(replace(job, outline=choice), "Choose a shape")
    dragging.bench.view.fit(dragging.steps.outline.scene.content)
    x, y = nodes_mm(family_named("hidden_tang_hunter").outline())[6]  # where an arc ends
    at = on_canvas(dragging, scene_point((x, y)))
    qtbot.mouseClick(dragging.bench.view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    qtbot.wait(20)
    for _ in range(3):
        QTest.keyClick(dragging.bench.view, Qt.Key.Key_Left)
    nodes = nodes_mm(outline_of(dragging.document.job))
    assert len(nodes) > len(family_named("hidden_tang_hunter").outline().chain)
    assert min(math.dist(p, (x - 0.3, y)) for p in nodes) < 1e-9
    dragging.document.stack.undo()
    QTest.keyClick(dragging.bench.view, Qt.Key.Key_Up)
    nodes = nodes_mm(outline_of(dragging.document.job))
    assert min(math.dist(p, (x - 0.2, y + 0.1)) for p in nodes) < 1e-9


def test_inches_are_told_where_the_window_shows_inches(dragging: MainWindow, qtbot: QtBot) -> None:
    dragging.use_unit("in")
    assert "by 0.004 in" in dragging.verdict.words.text()  # 0.1 / 25.4
    at = pull(qtbot, dragging, QPoint(0, -40))
    words = dragging.verdict.words.text()
    assert " in along and " in words
    assert "mm" not in words
    assert all(text.endswith(" in") for text in shown(dragging))
    let_go(qtbot, dragging, at)


def test_the_changed_shape_is_saved_and_opened_exactly(
    dragging: MainWindow, qtbot: QtBot, tmp_path: Path
) -> None:
    let_go(qtbot, dragging, pull(qtbot, dragging, QPoint(7, -24)))
    choice = dragging.document.job.outline
    assert choice.drawing is not None
    path = tmp_path / "by hand.blankwright"
    assert dragging.files.save_to(path)
    assert read_job(path).outline == choice


def test_the_changed_shape_is_kept_as_a_shape_with_measures(
    dragging: MainWindow,
    qtbot: QtBot,
    idle: Callable[..., None],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path))
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, text="": ("Humped", True))
    let_go(qtbot, dragging, pull(qtbot, dragging, QPoint(0, -24)))
    changed = outline_of(dragging.document.job)
    dragging.steps.outline.panel.own.actions[own_menu.KEEP].trigger()
    idle(dragging, "own")
    assert dragging.document.job.outline.drawing is None
    assert dragging.document.job.outline.family_text
    kept = outline_of(dragging.document.job)
    assert kept.area_mm2 == pytest.approx(changed.area_mm2, rel=1e-9)
    assert "blade_length" in dragging.steps.outline.panel.rows


def test_escape_and_other_steps_put_the_points_away(dragging: MainWindow) -> None:
    panel = dragging.steps.outline.panel
    QTest.keyClick(dragging, Qt.Key.Key_Escape)
    assert not handles(dragging)
    assert not any(button.isChecked() for button in panel.drag_buttons)
    panel.drag_buttons[1].click()
    dragging.go(Step.LAYOUT)
    dragging.go(Step.OUTLINE)
    assert not handles(dragging)

"""Points added to the edge, removed and thinned out in the window, one step of the history each."""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.document.flow import outline_of
from app.document.job import OutlineChoice
from app.gui.canvas.axes import scene_point
from app.gui.canvas.node_handles import NodeHandle
from app.gui.rail import Step
from app.gui.steps import node_actions
from app.gui.window import MainWindow
from app.gui.worker import Progress, Stop
from geometry.errors import Cancelled
from geometry.family import family_named
from geometry.from_contour import outline_from_contour
from geometry.node_edit import nodes_mm
from geometry.outline import Hole, Outline, outline_from_rings
from tests.app.gui.hands import click, on_canvas

ON_SPINE = (-50.0, 24.7)  # of the drop point, between two of its points


@pytest.fixture
def pointed(window: MainWindow) -> MainWindow:
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    panel.blade_tab.click()
    panel.drag_buttons[1].click()
    return window


def edge(window: MainWindow) -> Outline:
    return outline_of(window.document.job)


def chosen(window: MainWindow) -> list[tuple[float, float]]:
    items = window.steps.outline.scene.items()
    marks = [item for item in items if isinstance(item, NodeHandle) and item.chosen]
    return [nodes_mm(edge(window))[mark.index] for mark in marks]


def on_edge(window: MainWindow) -> tuple[float, float]:
    """A place of the spine with no point near."""
    ring = edge(window).ring().tolist()
    return min(ring, key=lambda p: math.dist(p, ON_SPINE))


def double_click(window: MainWindow, place: tuple[float, float]) -> None:
    view = window.bench.view
    at = on_canvas(window, scene_point(place))
    QTest.mouseDClick(view.viewport(), Qt.MouseButton.LeftButton, pos=at)


def draw(window: MainWindow, outline: Outline) -> None:
    choice = OutlineChoice(drawing=outline)
    window.document.change(replace(window.document.job, outline=choice), "Open a drawing")
    window.bench.view.fit(window.steps.outline.scene.content)


def test_a_double_click_on_the_edge_adds_a_point_that_changes_nothing_else(
    pointed: MainWindow,
) -> None:
    before = edge(pointed)
    place = on_edge(pointed)
    double_click(pointed, place)
    after = edge(pointed)
    assert len(after.chain) == len(before.chain) + 1
    assert after.area_mm2 == pytest.approx(before.area_mm2, abs=1e-6)
    [at] = chosen(pointed)
    assert math.dist(at, place) < 1.0
    assert pointed.document.stack.count() == 1
    pointed.document.stack.undo()
    assert edge(pointed) == before


def test_a_double_click_off_the_edge_or_on_a_point_adds_none(pointed: MainWindow) -> None:
    panel = pointed.steps.outline.panel
    double_click(pointed, (40.0, 12.0))
    assert "not at the edge" in panel.message
    double_click(pointed, nodes_mm(edge(pointed))[2])
    assert pointed.document.stack.count() == 0


def test_add_a_point_waits_for_a_click_and_escape_ends_it(
    pointed: MainWindow, qtbot: QtBot
) -> None:
    page, view = pointed.steps.outline.panel.points, pointed.bench.view
    click(qtbot, page.add)
    assert "Click on the edge" in pointed.verdict.words.text()
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert not page.add.isChecked()
    assert view.pick is None
    assert pointed.steps.outline.by_hand.is_on
    click(qtbot, page.add)
    count = len(edge(pointed).chain)
    at = on_canvas(pointed, scene_point(on_edge(pointed)))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert len(edge(pointed).chain) == count + 1
    assert not page.add.isChecked()


def test_a_click_beside_the_edge_is_told_and_the_next_one_still_adds_the_point(
    pointed: MainWindow, qtbot: QtBot
) -> None:
    page, view, count = (
        pointed.steps.outline.panel.points,
        pointed.bench.view,
        len(edge(pointed).chain),
    )
    click(qtbot, page.add)
    for place, more in (((40.0, 12.0), 0), (on_edge(pointed), 1)):
        at = on_canvas(pointed, scene_point(place))
        qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=at)
        assert len(edge(pointed).chain) == count + more
        assert page.add.isChecked() == (view.pick is not None) == (not more)
        assert ("not at the edge" in pointed.steps.outline.panel.message) == (not more)


def test_delete_removes_the_point_at_hand_and_tells_how_far_the_edge_moved(
    pointed: MainWindow, qtbot: QtBot
) -> None:
    page, panel = pointed.steps.outline.panel.points, pointed.steps.outline.panel
    assert not page.remove.isEnabled()
    QTest.keyClick(pointed.bench.view, Qt.Key.Key_Delete)
    assert "No point is at hand" in panel.message
    before = edge(pointed)
    double_click(pointed, on_edge(pointed))
    assert page.remove.isEnabled()
    added = chosen(pointed)
    QTest.keyClick(pointed.bench.view, Qt.Key.Key_Delete)
    assert added[0] not in nodes_mm(edge(pointed))
    assert edge(pointed).area_mm2 == pytest.approx(before.area_mm2, abs=0.05)
    assert "The edge stayed as it was" in panel.message
    QTest.keyClick(pointed.bench.view, Qt.Key.Key_BracketRight)
    click(qtbot, page.remove)
    assert len(edge(pointed).chain) == len(before.chain) - 1
    assert "The edge moved by" in panel.message
    pointed.document.stack.undo()
    assert len(edge(pointed).chain) == len(before.chain)


def test_what_cannot_be_removed_is_told(pointed: MainWindow) -> None:
    draw(pointed, outline_from_rings("wedge", [(0, 0), (120, 0), (0, 30)]))
    QTest.keyClick(pointed.bench.view, Qt.Key.Key_BracketLeft)
    QTest.keyClick(pointed.bench.view, Qt.Key.Key_Delete)
    assert "needs 3 points" in pointed.steps.outline.panel.message
    assert len(edge(pointed).chain) == 3


def test_a_traced_edge_takes_fewer_points_and_the_worst_is_told(
    pointed: MainWindow, qtbot: QtBot, idle: Callable[..., None]
) -> None:
    shape = family_named("drop point").outline().polygon()
    traced = outline_from_contour(shape, name="traced", tolerance_mm=0.02)
    draw(pointed, traced)
    page, panel = pointed.steps.outline.panel.points, pointed.steps.outline.panel
    assert page.count.text() == f"{len(traced.chain)} points."
    page.tolerance.setCurrentIndex(1)
    page.fewer.setFocus()
    click(qtbot, page.fewer)
    idle(pointed, "points")
    assert page.fewer.hasFocus()
    now = edge(pointed)
    assert len(now.chain) < len(traced.chain)
    assert f"{len(now.chain)} points in the place of {len(traced.chain)}" in panel.message
    worst = float(panel.message.split("moved by ")[1].split(" mm")[0])
    assert worst <= 0.2
    assert page.fewer.isEnabled()
    page.tolerance.setCurrentIndex(0)
    draw(pointed, outline_from_rings("bar", [(0, 0), (120, 0), (120, 30), (0, 30)]))
    click(qtbot, page.fewer)
    idle(pointed, "points")
    assert "as few points as it can" in panel.message


def test_taking_fewer_points_shows_how_far_it_is_and_is_stopped(
    pointed: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = threading.Event()

    def slow(outline: Outline, tolerance_mm: float, *, progress: Progress, stop: Stop) -> None:
        progress(0.4)
        while not stop():
            time.sleep(0.005)
        ended.set()
        raise Cancelled

    monkeypatch.setattr(node_actions, "with_fewer_nodes", slow)
    page, before = pointed.steps.outline.panel.points, edge(pointed)
    page.fewer.setFocus()
    click(qtbot, page.fewer)
    qtbot.waitUntil(lambda: page.waiting.bar.value() == 400)
    assert not page.fewer.isVisible()
    assert page.waiting.stop_button.hasFocus()
    click(qtbot, page.waiting.stop_button)
    assert ended.wait(10)
    assert page.fewer.hasFocus()
    assert not page.waiting.isVisible()
    assert edge(pointed) == before


def test_undo_stops_the_taking_of_fewer_points_before_it_goes_back_in_the_history(
    pointed: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(outline: Outline, tolerance_mm: float, *, progress: Progress, stop: Stop) -> None:
        while not stop():
            time.sleep(0.005)
        raise Cancelled

    monkeypatch.setattr(node_actions, "with_fewer_nodes", slow)
    double_click(pointed, on_edge(pointed))
    before, undo = edge(pointed), pointed.undoing.undo
    click(qtbot, pointed.steps.outline.panel.points.fewer)
    assert undo.text() == "Undo take fewer points"
    undo.trigger()
    assert not pointed.worker.is_busy("points")
    assert not pointed.steps.outline.panel.points.waiting.isVisible()
    assert edge(pointed) == before
    assert undo.text() == "Undo add a point"
    undo.trigger()
    assert len(edge(pointed).chain) == len(before.chain) - 1


def test_fewer_points_taken_again_are_counted_from_the_shape_before_the_first_time(
    pointed: MainWindow, qtbot: QtBot, idle: Callable[..., None]
) -> None:
    shape = family_named("drop point").outline().polygon()
    traced = outline_from_contour(shape, name="traced", tolerance_mm=0.02)
    draw(pointed, traced)
    page, panel = pointed.steps.outline.panel.points, pointed.steps.outline.panel
    for index, mm in enumerate((0.1, 0.2, 0.5)):
        page.tolerance.setCurrentIndex(index)
        click(qtbot, page.fewer)
        idle(pointed, "points")
        told = float(panel.message.split("moved by ")[1].split(" mm")[0])
        one, other = (
            shapely.LinearRing(o.ring(1e-3)).segmentize(0.1) for o in (traced, edge(pointed))
        )
        true = max(one.hausdorff_distance(other), other.hausdorff_distance(one))
        assert told == pytest.approx(true, abs=0.015)
        assert told <= mm
        assert ("before any were taken" in panel.message) == bool(index)
        now = edge(pointed)
        click(qtbot, page.fewer)
        idle(pointed, "points")
        assert "as few points as it can" in panel.message
        assert edge(pointed) == now
    double_click(pointed, on_edge(pointed))  # a point more, and the shape as it was
    click(qtbot, page.fewer)
    idle(pointed, "points")
    assert edge(pointed).chain == now.chain
    assert float(panel.message.split("moved by ")[1].split(" mm")[0]) == told


def test_a_hole_left_with_little_steel_is_told(pointed: MainWindow) -> None:
    """The pin's edge is 3 mm over the lower edge at y 0; 2 mm are usual."""
    bar = outline_from_rings("bar", [(0, 0), (60, 0), (120, 0), (120, 30), (0, 30)])
    draw(pointed, replace(bar, holes=(Hole(x_mm=60.0, y_mm=6.0, diameter_mm=6.0, kind="pin"),)))
    view = pointed.bench.view
    at = on_canvas(pointed, scene_point((60.0, 0.0)))
    QTest.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    QTest.qWait(20)
    for _ in range(2):
        QTest.keyClick(view, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    said = pointed.steps.outline.panel.message
    assert said == (
        "The pin hole at 60.0 mm along and 6.0 mm up has 1.0 mm of steel beside it now; "
        "2.0 mm is usual."
    )


def test_done_puts_the_points_away_and_the_shape_is_back(pointed: MainWindow, qtbot: QtBot) -> None:
    panel = pointed.steps.outline.panel
    assert panel.points.isVisible()
    assert not panel.blade_tab.isVisible()
    click(qtbot, panel.points.done)
    assert not pointed.steps.outline.by_hand.is_on
    assert panel.blade_tab.isVisible()
    assert panel.rows["blade_length"].field.isVisible()

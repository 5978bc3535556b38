"""The canvas shows what a measure moves while the hand or the keyboard is at it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QEnterEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QGraphicsItem, QGraphicsPathItem, QWidget
from pytestqt.qtbot import QtBot

from app.gui.canvas.measure_scene import MINE
from app.gui.canvas.tag import Tag
from app.gui.rail import Step
from app.gui.window import MainWindow


@pytest.fixture
def measures(window: MainWindow, qtbot: QtBot) -> MainWindow:
    window.go(Step.OUTLINE)
    window.steps.outline.panel.blade_tab.click()
    qtbot.wait(120)
    return window


def drawn(window: MainWindow) -> list[QGraphicsItem]:
    return [item for item in window.steps.outline.scene.items() if item.data(MINE)]


def words(window: MainWindow) -> list[str]:
    return [line for item in drawn(window) if isinstance(item, Tag) for line in item._lines]


def point_at(widget: QWidget) -> None:
    middle = QPointF(widget.rect().center())
    QApplication.sendEvent(widget, QEnterEvent(middle, middle, middle))


def point_away(widget: QWidget) -> None:
    QApplication.sendEvent(widget, QEvent(QEvent.Type.Leave))


def test_the_hand_over_a_measure_shows_what_it_moves_with_its_help(
    measures: MainWindow, qtbot: QtBot
) -> None:
    row = measures.steps.outline.panel.rows["blade_length"]
    at_rest = len(measures.steps.outline.scene.items())
    assert at_rest > 10  # the outline with its sizes
    point_at(row.name)
    qtbot.waitUntil(lambda: bool(drawn(measures)))
    assert len(measures.steps.outline.scene.items()) == at_rest + len(drawn(measures))
    heading, *help_lines = words(measures)
    assert heading.startswith("Blade length 95.0 mm; dashed: ")
    assert " ".join(help_lines) == f"{row.parameter.help} Range: {row.parameter.range_text}."
    point_away(row.name)
    qtbot.waitUntil(lambda: not drawn(measures))
    assert len(measures.steps.outline.scene.items()) == at_rest
    assert measures.document.stack.count() == 0


def test_the_keyboard_in_a_field_shows_it_and_the_hand_comes_first(
    measures: MainWindow, qtbot: QtBot
) -> None:
    rows = measures.steps.outline.panel.rows
    label = rows["blade_width"].parameter.label
    rows["blade_width"].field.setFocus()
    qtbot.waitUntil(lambda: any(w.startswith(label) for w in words(measures)))
    point_at(rows["blade_length"].slider)
    qtbot.waitUntil(lambda: any(w.startswith("Blade length") for w in words(measures)))
    point_away(rows["blade_length"].slider)
    qtbot.waitUntil(lambda: any(w.startswith(label) for w in words(measures)))


def test_it_follows_a_changed_value_and_is_away_while_a_slider_is_pulled(
    measures: MainWindow, qtbot: QtBot
) -> None:
    row = measures.steps.outline.panel.rows["blade_length"]
    point_at(row.slider)
    qtbot.waitUntil(lambda: bool(drawn(measures)))
    measures.steps.outline._tell_value("blade_length", 100.0)
    assert words(measures)[0].startswith("Blade length 100.0 mm")
    QTest.mousePress(row.slider, Qt.MouseButton.LeftButton)
    assert not drawn(measures)
    QTest.mouseRelease(row.slider, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(drawn(measures)))


def test_it_lies_over_no_size_and_is_not_among_points(measures: MainWindow, qtbot: QtBot) -> None:
    view, panel = measures.bench.view, measures.steps.outline.panel
    for row in panel.rows.values():
        if not row.name.isVisible():
            continue
        point_at(row.name)
        label = row.parameter.label
        qtbot.waitUntil(lambda label=label: any(w.startswith(label) for w in words(measures)))
        items = [item for item in measures.steps.outline.scene.items() if isinstance(item, Tag)]
        frames = {
            item._lines[0]: item.frame().translated(view.viewportTransform().map(item.pos()))
            for item in items
        }
        assert len(frames) > 4
        mine = frames.pop(words(measures)[0])
        assert not any(mine.intersects(other) for other in frames.values())
        assert mine.bottom() < view.viewport().height()
        point_away(row.name)
    panel.drag_buttons[1].click()
    assert not drawn(measures)


def test_a_ring_round_the_place_that_moves_most_is_told_and_an_arrow_is_not(
    measures: MainWindow, qtbot: QtBot
) -> None:
    told = set()
    for row in measures.steps.outline.panel.rows.values():
        if not row.name.isVisible():
            continue
        point_at(row.name)
        label = row.parameter.label
        qtbot.waitUntil(lambda label=label: any(w.startswith(label) for w in words(measures)))
        paths = [item.path() for item in drawn(measures) if isinstance(item, QGraphicsPathItem)]
        curved = any(
            path.elementCount() == 13 and path.elementAt(1).isCurveTo() for path in paths
        )  # an ellipse is a start and four cubics
        assert ("ring: where most" in words(measures)[0]) == curved, label
        told.add(curved)
        point_away(row.name)
    assert told == {True, False}

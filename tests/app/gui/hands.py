"""What a hand does in the window: clicks, types, drags."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from app.document.job import PhotoFacts
from app.gui.window import MainWindow


def click(qtbot: QtBot, widget: QWidget) -> None:
    qtbot.mouseClick(widget, Qt.MouseButton.LeftButton)


def enter(qtbot: QtBot, field: QWidget, text: str) -> None:
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def enter_afresh(qtbot: QtBot, field: QWidget, text: str) -> None:
    field.setFocus()
    field.selectAll()
    qtbot.keyClick(field, Qt.Key.Key_Delete)
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


def photo(window: MainWindow) -> PhotoFacts:
    facts = window.document.job.photo
    assert facts is not None
    return facts


def drag(qtbot: QtBot, window: MainWindow, start: QPoint, by: QPoint) -> None:
    canvas = window.bench.view.viewport()
    qtbot.mouseMove(canvas, start)
    qtbot.mousePress(canvas, Qt.MouseButton.LeftButton, pos=start)
    for share in (0.25, 0.5, 0.75, 1.0):
        qtbot.mouseMove(canvas, start + by * share)
    qtbot.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=start + by)


def on_canvas(window: MainWindow, spot: QPointF) -> QPoint:
    return window.bench.view.viewportTransform().map(spot).toPoint()


def save_into(monkeypatch: pytest.MonkeyPatch, path: Path) -> None:
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(path), ""))

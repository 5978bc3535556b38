"""A window of a known size, and short ways to wait for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication, QInputDialog, QMessageBox
from pytestqt.qtbot import QtBot

from app.gui.rail import Step
from app.gui.theme import theme
from app.gui.window import MainWindow


@pytest.fixture
def window(
    qtbot: QtBot, qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> Iterator[MainWindow]:
    theme()
    made = MainWindow()
    made.net.release()  # a fault in a slot has to fail the test, not be told in a box
    made.resize(1366, 720)
    made.show()
    qtbot.waitExposed(made)
    yield made
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Discard)
    assert made.close()
    made.deleteLater()


@pytest.fixture
def idle(qtbot: QtBot) -> Callable[..., None]:
    """Wait until a lane of the worker has answered."""

    def wait(window: MainWindow, *lanes: str) -> None:
        for lane in lanes:
            qtbot.waitUntil(lambda lane=lane: not window.worker.is_busy(lane), timeout=20_000)

    return wait


@pytest.fixture(scope="session")
def billet_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bar of 240 x 50 mm, exact."""
    path = tmp_path_factory.mktemp("pieces") / "bar.json"
    path.write_text('{"units":"mm","outline":[[0,0],[240,0],[240,50],[0,50]],"holes":[]}')
    return path


@pytest.fixture
def pens_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Kept pens lie in a folder of the test's own."""
    monkeypatch.setattr("app.files.pens_file.data_folder", lambda: tmp_path)
    monkeypatch.setattr("app.files.pens_file.made_data_folder", lambda: tmp_path)


@pytest.fixture
def opened(window: MainWindow, idle: Callable[..., None], samples: Path) -> MainWindow:
    """The sample's photo with its line told, and the page for calipers open."""
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    window.steps.photo.panel.line_told.emit(152.4)
    window.steps.photo.panel.folds.heads["Calipers"].click()
    return window


@pytest.fixture
def dragging(window: MainWindow) -> MainWindow:
    """The drop point with the points of its edge to drag."""
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    panel.blade_tab.click()
    panel.drag_buttons[1].click()
    return window


@pytest.fixture
def answer(monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[str]]:
    """Answer the next questions with these texts; the list fills with what was asked."""

    def give(*texts: str) -> list[str]:
        left, asked = list(texts), []

        def get(_parent: object, _title: str, said: str, *, text: str = "") -> tuple[str, bool]:
            asked.append(said)
            return (left.pop(0), True) if left else (text, False)

        monkeypatch.setattr(QInputDialog, "getText", get)
        return asked

    return give

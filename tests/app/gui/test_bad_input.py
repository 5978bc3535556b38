"""Bad files and values: one calm sentence in the window, and nothing lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.gui.rail import Step
from app.gui.window import MainWindow


@pytest.fixture
def with_steel(window: MainWindow, billet_path: Path) -> MainWindow:
    window.go(Step.STEEL)
    window.steel.open_billet(billet_path)
    return window


@pytest.mark.parametrize(
    "data", [b"", b"not a picture at all", b"\xff\xd8\xff\xe0 broken"], ids=["empty", "text", "cut"]
)
def test_what_is_no_picture_is_told_on_the_first_page(
    window: MainWindow, idle, tmp_path: Path, data: bytes
) -> None:
    path = tmp_path / "photo.jpg"
    path.write_bytes(data)
    before = window.document.job
    window.files.open_path(path)
    idle(window, "open")
    assert window.start.message
    assert "defect" not in window.start.message
    assert window.document.job is before


def test_a_missing_photo_is_told(window: MainWindow, idle, tmp_path: Path) -> None:
    window.files.open_path(tmp_path / "nowhere.png")
    idle(window, "open")
    assert "no such file" in window.start.message.lower()


def test_a_truncated_photo_keeps_the_open_job(
    with_steel: MainWindow, idle, samples: Path, tmp_path: Path
) -> None:
    window = with_steel
    data = (samples / "forging.jpg").read_bytes()
    path = tmp_path / "half.jpg"
    path.write_bytes(data[: len(data) // 2])
    before = window.document.job
    window.files.open_path(path)
    idle(window, "open")
    assert window.steel.panel.message
    assert window.document.job is before


def test_a_damaged_job_keeps_the_open_one(
    with_steel: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = with_steel
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Discard)
    path = tmp_path / "bad.blankwright"
    path.write_bytes(b"PK\x03\x04 nothing")
    before = window.document.job
    window.files.open_path(path)
    assert window.steel.panel.message
    assert "defect" not in window.steel.panel.message
    assert window.document.job is before


def test_a_drawing_without_a_closed_outline_keeps_the_old_one(
    with_steel: MainWindow, tmp_path: Path
) -> None:
    window = with_steel
    path = tmp_path / "open.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" '
        'viewBox="0 0 100 50"><path d="M0 0 L90 0 L90 40" fill="none"/></svg>'
    )
    before = window.document.job
    window.files.open_path(path)
    assert window.outline.panel.message
    assert window.document.job is before


def test_a_blank_sheet_says_what_is_missing(
    qtbot: QtBot, window: MainWindow, idle, tmp_path: Path
) -> None:
    import numpy as np
    from PIL import Image

    path = tmp_path / "white.png"
    Image.fromarray(np.full((600, 800, 3), 235, np.uint8)).save(path)
    window.files.open_path(path)
    idle(window, "open", "picture")
    panel = window.photo.panel
    panel.line.setFocus()
    qtbot.keyClicks(panel.line, "100")
    qtbot.keyClick(panel.line, Qt.Key.Key_Return)
    before = window.document.job
    qtbot.mouseClick(panel.main, Qt.MouseButton.LeftButton)
    idle(window, "measure")
    assert panel.message
    assert "defect" not in panel.message
    assert panel.main.isEnabled()
    assert window.document.job is before


@pytest.mark.parametrize("text", ["0", "-5", "three", "5 furlongs"])
def test_a_length_that_cannot_be_is_refused_in_place(
    qtbot: QtBot, with_steel: MainWindow, text: str
) -> None:
    field = with_steel.steel.panel.thickness
    before = with_steel.document.job
    field.setFocus()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert with_steel.steel.panel.message
    assert field.text() == text
    assert with_steel.document.job is before


def test_measures_that_do_not_go_together_are_refused(with_steel: MainWindow) -> None:
    window = with_steel
    window.go(Step.OUTLINE)
    before = window.document.job
    field = window.outline.panel.rows["blade_length"].field
    field.setText("5000")
    field.setModified(True)
    field.take_text()
    assert "60 to 150 mm" in window.outline.panel.message  # the family's own range
    assert window.document.job is before


def test_an_unwritable_folder_keeps_the_job_unsaved(with_steel: MainWindow, tmp_path: Path) -> None:
    window = with_steel
    assert not window.files.save_to(tmp_path / "nowhere" / "a.blankwright")
    assert window.steel.panel.message
    assert not window.document.is_saved


def test_closing_asks_and_cancel_keeps_the_window(
    with_steel: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, asked = with_steel, []

    def cancel(*arguments: object) -> QMessageBox.StandardButton:
        asked.append(arguments)
        return QMessageBox.StandardButton.Cancel

    monkeypatch.setattr(QMessageBox, "question", cancel)
    assert not window.close()
    assert len(asked) == 1
    assert window.isVisible()

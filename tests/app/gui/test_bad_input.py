"""Bad files and values: one calm sentence in the window, and nothing lost."""

from __future__ import annotations

import ast
import re
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMessageBox
from pytestqt.qtbot import QtBot

from app.document.job import OutlineChoice
from app.gui.errors import in_the_window
from app.gui.rail import Step
from app.gui.window import MainWindow


@pytest.fixture
def with_steel(window: MainWindow, billet_path: Path) -> MainWindow:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
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
    assert window.steps.steel.panel.message
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
    assert window.steps.steel.panel.message
    assert "defect" not in window.steps.steel.panel.message
    assert window.document.job is before


def test_a_drawing_without_a_closed_outline_keeps_the_old_one(
    with_steel: MainWindow, idle, tmp_path: Path
) -> None:
    window = with_steel
    path = tmp_path / "open.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="50mm" '
        'viewBox="0 0 100 50"><path d="M0 0 L90 0 L90 40" fill="none"/></svg>'
    )
    before = window.document.job
    window.files.open_path(path)
    idle(window, "drawing")
    assert window.steps.outline.panel.message.startswith("open.svg: ")
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
    panel = window.steps.photo.panel
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
    field = with_steel.steps.steel.panel.thickness
    before = with_steel.document.job
    field.setFocus()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert with_steel.steps.steel.panel.message
    assert field.text() == text
    assert with_steel.document.job is before


def test_measures_that_do_not_go_together_are_refused(with_steel: MainWindow) -> None:
    window = with_steel
    window.go(Step.OUTLINE)
    before = window.document.job
    field = window.steps.outline.panel.rows["blade_length"].field
    field.setText("5000")
    field.setModified(True)
    field.take_text()
    said = window.steps.outline.panel.rows["blade_length"].said
    assert "60 to 150 mm" in said.text()  # the family's own range
    assert window.document.job is before


def test_an_unwritable_folder_keeps_the_job_unsaved(with_steel: MainWindow, tmp_path: Path) -> None:
    window = with_steel
    assert not window.files.save_to(tmp_path / "nowhere" / "a.blankwright")
    assert window.steps.steel.panel.message
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


def test_a_shape_chosen_without_a_photo_is_asked_about_and_an_untouched_job_is_not(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def cancel(*arguments: object) -> QMessageBox.StandardButton:
        asked.append(arguments)
        return QMessageBox.StandardButton.Cancel

    monkeypatch.setattr(QMessageBox, "question", cancel)
    window.use_unit("in")
    assert window.files.may_leave()
    job = window.document.job
    window.document.change(replace(job, outline=OutlineChoice(family="neck_knife")), "Choose")
    assert not window.files.may_leave()
    assert len(asked) == 1


def test_the_copy_after_a_fault_lies_in_the_data_folder(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path))
    copy = Path(window.files.keep_copy())
    assert copy.is_file()
    assert copy.parent == tmp_path / "recovered"


ROOT = Path(__file__).parents[3]


def test_no_message_speaks_of_the_command_line() -> None:
    told = [
        node.value
        for folder in ("calibration", "geometry")
        for path in (ROOT / folder).rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    options = [text for text in told if re.search(r"--(inside|line|sheet|rectangle)\b", text)]
    assert options  # else this test looks at nothing
    whole = [text for text in options if not text.startswith("--")]  # not a part put in
    left = [in_the_window(text) for text in whole if "--" in in_the_window(text)]
    assert left == []


def test_a_file_that_cannot_be_read_is_named(window: MainWindow, idle, tmp_path: Path) -> None:
    window.files.open_path(tmp_path / "sheet-7.jpg")
    idle(window, "open")
    assert window.start.message.startswith("sheet-7.jpg: ")


def test_saving_says_where_the_job_is(with_steel: MainWindow, tmp_path: Path) -> None:
    assert with_steel.files.save_to(tmp_path / "bar.blankwright")
    assert with_steel.steps.steel.panel.message == f"Saved bar.blankwright in {tmp_path}."


@pytest.mark.parametrize("text", ["0", "-3", "abc", "1e9", "1000000000", "3 furlongs"])
def test_nothing_is_measured_while_a_value_is_refused(
    qtbot: QtBot, window: MainWindow, idle, samples: Path, text: str
) -> None:
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    panel = window.steps.photo.panel
    for value in ("6 in", text):
        panel.line.setFocus()
        panel.line.selectAll()
        qtbot.keyClicks(panel.line, value)
        qtbot.keyClick(panel.line, Qt.Key.Key_Return)
    assert panel.line.is_wrong
    qtbot.mouseClick(panel.main, Qt.MouseButton.LeftButton)
    assert not window.worker.is_busy("measure")
    assert panel.message
    assert window.focusWidget() is panel.line


@pytest.mark.parametrize("text", ["0x0", "250", "250 x -3", "100000000x3", "a x b"])
def test_sides_that_nobody_draws_are_refused(
    qtbot: QtBot, window: MainWindow, idle, samples: Path, text: str
) -> None:
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    panel = window.steps.photo.panel
    panel.folds.heads["More drawn"].click()
    qtbot.keyClicks(panel.drawn.rectangle, text)
    qtbot.keyClick(panel.drawn.rectangle, Qt.Key.Key_Return)
    assert panel.drawn.rectangle.is_wrong
    assert "Rectangle" in panel.message
    assert window.document.job.photo.references == ()


def test_the_sides_of_a_rectangle_can_be_read_in_their_field(
    qtbot: QtBot, window: MainWindow, idle, samples: Path
) -> None:
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    field = window.steps.photo.panel.drawn.rectangle
    window.steps.photo.panel.folds.heads["More drawn"].click()
    qtbot.keyClicks(field, "1250 x 1100")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert field.text() == "1250 x 1100 mm"
    assert field.fontMetrics().horizontalAdvance(field.text()) < field.width() - 16


def test_a_range_is_told_in_the_unit_in_use(qtbot: QtBot, with_steel: MainWindow) -> None:
    window = with_steel
    window.use_unit("in")
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    field = panel.rows["blade_length"].field
    field.selectAll()
    qtbot.keyClicks(field, "9")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    # 60 / 25.4 = 2.3622 and 150 / 25.4 = 5.9055, both towards the inside
    told = panel.rows["blade_length"].said.text()
    assert told == "Blade length: that is out of its range. Give 2.363 to 5.905 in."


def test_an_emptied_field_takes_its_old_value_again(qtbot: QtBot, with_steel: MainWindow) -> None:
    window = with_steel
    window.go(Step.LAYOUT)
    field = window.steps.layout.panel.margin
    field.selectAll()
    qtbot.keyClick(field, Qt.Key.Key_Delete)
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert field.text() == "1 mm"
    assert window.steps.layout.panel.message == ""

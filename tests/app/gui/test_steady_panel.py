"""The panel under the hand: buttons that stay, a wheel that changes nothing, marks in words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QAction, QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QSlider, QWidget
from pytestqt.qtbot import QtBot

from app.gui.canvas.tag import Tag
from app.gui.rail import Step
from app.gui.remembered import remember_appearance, remembered_appearance, remembered_unit
from app.gui.theme import theme
from app.gui.window import MainWindow, window_as_left
from calibration.sizes import SteelSize


@pytest.fixture
def measured(window: MainWindow, idle: Callable[..., None], samples: Path) -> MainWindow:
    """The sample's photo with its line told, and measured."""
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    window.steps.photo.panel.line_told.emit(152.4)
    window.steps.photo.measure()
    idle(window, "measure")
    return window


def place_of(window: MainWindow, widget: QWidget) -> QPoint:
    QApplication.processEvents()
    return widget.mapTo(window, QPoint(0, 0))


def test_a_notice_moves_no_button(window: MainWindow, billet_path: Path) -> None:
    window.files.open_path(billet_path)
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    for step in (Step.STEEL, Step.OUTLINE, Step.LAYOUT, Step.PATTERN):
        window.go(step)
        panel = window.steps.at(step).base_panel
        buttons = {
            Step.STEEL: window.steps.steel.panel.open_button,
            Step.OUTLINE: window.steps.outline.panel.open_button,
            Step.LAYOUT: window.steps.layout.panel.roomiest,
            Step.PATTERN: window.steps.pattern.panel.pdf,
        }
        before = place_of(window, buttons[step])
        panel.say("Something that takes three lines in the panel. " * 3)
        assert place_of(window, buttons[step]) == before, step
        panel.say("")


def test_a_size_by_calipers_keeps_measure_and_rows_in_place(measured: MainWindow) -> None:
    panel = measured.steps.photo.panel
    panel.folds.heads["Calipers"].click()
    watched = (panel.line, panel.calipers.whole["length"][1], panel.main)
    before = [place_of(measured, one).y() for one in watched]
    found = measured.steps.photo.scene.found_rect()
    panel.calipers.size_told.emit("length", 230.2)
    assert [place_of(measured, one).y() for one in watched] == before
    assert measured.steps.photo.scene.found_rect() == found  # the edge is still drawn
    assert panel.result.isVisible()
    assert panel.main.text() == "Measure again"
    assert "measure again" in measured.verdict.words.text()


def test_a_changed_size_is_compared_with_the_measure_that_is_there(
    measured: MainWindow, idle: Callable[..., None]
) -> None:
    step, row = measured.steps.photo, measured.steps.photo.panel.calipers.whole["width"][0]
    step.panel.folds.heads["Calipers"].click()
    step.panel.calipers.size_told.emit("width", 41.6)
    step.measure()
    idle(measured, "measure")
    capture = measured.derived.last_capture(measured.document.job)
    assert capture is not None
    [check] = capture.checks
    step.panel.calipers.size_told.emit("width", 40.0)
    assert measured.document.job.photo is not None
    assert measured.document.job.photo.sizes == (SteelSize(kind="width", true_mm=40.0),)
    assert f"{check.photo_mm - 40.0:.2f} too large" in row.said


def test_the_edge_is_seen_while_pointing_and_the_foot_says_what_is_waited_for(
    measured: MainWindow,
) -> None:
    step = measured.steps.photo
    found = step.scene.found_rect()
    assert found != step.scene.picture_rect()
    step.panel.mark_asked.emit(True)
    assert step.scene.found_rect() == found
    assert "Esc leaves it" in measured.verdict.words.text()
    step.stop_pointing()
    assert "Esc leaves it" not in measured.verdict.words.text()


def test_the_wheel_changes_no_closed_list_and_no_slider(window: MainWindow) -> None:
    for step in Step:
        window.go(step)
    parts = [*window.findChildren(QComboBox), *window.findChildren(QSlider)]
    assert len(parts) > 5
    for part in parts:
        before = part.currentIndex() if isinstance(part, QComboBox) else part.value()
        turn = QWheelEvent(
            QPointF(5, 5),
            QPointF(part.mapToGlobal(QPoint(5, 5))),
            QPoint(0, -120),
            QPoint(0, -120),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(part, turn)
        after = part.currentIndex() if isinstance(part, QComboBox) else part.value()
        assert after == before


def test_a_place_in_a_note_is_numbered_on_the_photo(measured: MainWindow) -> None:
    scene = measured.steps.photo.scene
    scene.show_places([(100.0, 200.0), (300.0, 400.0)])
    tags = [item for item in scene.items() if isinstance(item, Tag)]
    assert {(tag.pos().x(), tag.pos().y()) for tag in tags} == {(100.0, 200.0), (300.0, 400.0)}


def test_a_pair_that_is_one_number_or_cannot_be_is_marked(
    qtbot: QtBot, measured: MainWindow
) -> None:
    panel = measured.steps.photo.panel
    panel.mat.click()
    for text, said in (("119.6", "119.6 x 119.8"), ("119.6 x 90", "75")):  # 90 of 120 mm: 75 %
        panel.bars.setFocus()
        panel.bars.selectAll()
        qtbot.keyClicks(panel.bars, text)
        qtbot.keyClick(panel.bars, Qt.Key.Key_Return)
        assert panel.bars.is_wrong
        assert said in panel.message


def test_undo_takes_back_what_was_said(window: MainWindow, billet_path: Path) -> None:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    window.say("Something good.", good=True)
    undo = next(one for one in window.findChildren(QAction) if one.text().startswith("Undo"))
    undo.trigger()
    assert window.steps.steel.panel.message == ""


def test_a_refused_text_goes_when_the_job_is_another(
    qtbot: QtBot, window: MainWindow, billet_path: Path
) -> None:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    window.go(Step.LAYOUT)
    panel = window.steps.layout.panel
    panel.margin.setFocus()
    panel.margin.selectAll()
    qtbot.keyClicks(panel.margin, "99999")
    qtbot.keyClick(panel.margin, Qt.Key.Key_Tab)
    assert panel.margin.is_wrong
    panel.turn_over.click()
    assert not panel.margin.is_wrong
    assert panel.margin.text() == "1 mm"


def test_the_appearance_is_remembered(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "new"))
    assert remembered_appearance() == "system"
    dark = next(one for one in window.findChildren(QAction) if one.text() == "Da&rk")
    dark.trigger()
    assert remembered_appearance() == "dark"
    theme().choose("system")
    remember_appearance("system")
    (tmp_path / "new" / "appearance.txt").write_text("pink")
    assert remembered_appearance() == "system"


def test_the_unit_is_remembered(
    window: MainWindow, qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "new"))
    assert remembered_unit() == "mm"
    inches = next(one for one in window.findChildren(QAction) if one.text() == "In&ches")
    inches.trigger()
    undo = next(one for one in window.findChildren(QAction) if one.text().startswith("Undo"))
    assert undo.text() == "Undo use inches"
    again = window_as_left()
    again.net.release()
    assert again.document.job.unit == "in"
    assert again.document.is_saved
    assert next(one for one in again.findChildren(QAction) if one.text() == "In&ches").isChecked()
    assert again.close()
    again.deleteLater()
    (tmp_path / "new" / "unit.txt").write_text("furlong")
    assert remembered_unit() == "mm"


def test_the_thickness_of_a_trace_changes_its_doubt_at_once(measured: MainWindow) -> None:
    panel = measured.steps.photo.panel
    panel.piece.thickness_told.emit(5.0)
    assert panel.main.text() == "Use this piece"  # nothing is to be measured again
    # 0.2 + 0.1 x 5 = 0.70; practice: 0.15 and 0.07 a mm, in squares 0.381, doubled
    assert "Likely 0.70 mm too large all round, give or take 0.76 mm." in panel.result.text()
    assert "tell the thickness" not in panel.notes.text()
    assert "5 mm" in panel.notes.text()
    assert panel.again.isEnabled()
    panel.main.click()
    assert measured.document.job.billet is not None
    assert measured.document.job.billet.too_large_mm == pytest.approx(0.70)
    measured.go(Step.PHOTO)
    panel.piece.thickness_told.emit(None)
    assert "0.70 mm" not in panel.result.text()
    assert "tell the thickness" in panel.notes.text()

"""The pen of a trace in the window: chosen, told, and kept by name."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QInputDialog, QMessageBox
from pytestqt.qtbot import QtBot

from app.files.pens_file import keep_pen, kept_pens
from app.gui.window import MainWindow
from calibration.pens import Pen
from tests.app.gui.hands import enter_afresh, photo

pytestmark = pytest.mark.usefixtures("pens_folder")
BIRO = Pen(name="biro", offset_mm=0.5, sigma_mm=0.1, thickness_mm=5.0)


def test_a_kept_pen_is_chosen_and_an_offset_is_told(qtbot: QtBot, opened: MainWindow) -> None:
    keep_pen(BIRO)
    heads, calipers = opened.steps.photo.panel.folds.heads, opened.steps.photo.panel.calipers
    heads["Calipers"].click()
    heads["Calipers"].click()  # listed when the page is opened
    calipers.pen.setCurrentIndex(calipers.pen.findText("biro"))
    calipers.pen.activated.emit(calipers.pen.currentIndex())
    assert photo(opened).pen == BIRO
    own = calipers.pen.count() - 1
    calipers.pen.setCurrentIndex(own)
    calipers.pen.activated.emit(own)
    assert calipers.offset.isVisible()
    enter_afresh(qtbot, calipers.offset, "0.6")
    pen = photo(opened).pen
    assert pen is not None
    assert (pen.name, pen.offset_mm) == ("", 0.6)
    opened.document.stack.undo()
    assert photo(opened).pen == BIRO
    assert calipers.pen.currentText() == "biro"
    opened.steps.photo.panel.piece.subject_told.emit("steel")  # which has no trace
    assert photo(opened).pen is None
    assert not calipers.pen.isEnabled()


def test_what_sizes_tell_of_a_pen_is_kept_by_name(
    qtbot: QtBot, opened: MainWindow, idle: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    panel, calipers = opened.steps.photo.panel, opened.steps.photo.panel.calipers
    assert not calipers.keep.isEnabled()
    enter_afresh(qtbot, calipers.whole["width"][1], "41.6")
    panel.main.click()
    idle(opened, "measure")
    assert calipers.keep.isEnabled()
    asked: list[str] = []
    answers = [("felt tip", False), (" ", True), ("felt tip", True)]

    def answer(_parent: object, _title: str, said: str, text: str = "") -> tuple[str, bool]:
        asked.append(said)
        return answers.pop(0)

    monkeypatch.setattr(QInputDialog, "getText", answer)
    calipers.keep.click()  # left
    assert kept_pens() == ()
    calipers.keep.click()
    assert "no name for a pen" in asked[-1]  # asked again, where it was typed
    [pen] = kept_pens()
    assert pen.name == "felt tip"
    assert pen.offset_mm == pytest.approx(0.5, abs=0.1)  # half of 42.6 - 41.6
    assert "felt tip" in panel.message
    assert calipers.pen.findText("felt tip") > 0
    assert photo(opened).pen == pen
    assert calipers.pen.currentText() == "felt tip"
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Cancel)
    calipers.forget.click()
    assert kept_pens() == (pen,)
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Yes)
    calipers.forget.click()
    assert kept_pens() == ()
    assert photo(opened).pen is None
    assert calipers.pen.findText("felt tip") < 0

"""The photo step: the line marked by mouse or keyboard, the mat, and what is seen meanwhile."""

from __future__ import annotations

import json
import threading
import time
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from app.gui.panels.photo import MAT
from app.gui.window import MainWindow
from calibration.references import LineReference, MatReference
from geometry.errors import Cancelled
from tests.app.gui.hands import click, enter, on_canvas


def test_marking_the_line_snaps_to_its_ends(
    qtbot: QtBot, window: MainWindow, idle, samples: Path
) -> None:
    window.files.open_path(samples / "trapezoid.jpg")
    idle(window, "open", "picture")
    enter(qtbot, window.steps.photo.panel.line, "100 mm")
    click(qtbot, window.steps.photo.panel.mark)
    truth = json.loads((samples / "trapezoid.truth.json").read_text())
    ends = truth["references"][0]["ends_px"]
    canvas = window.bench.view.viewport()
    for x, y in ends:
        qtbot.mouseMove(canvas, on_canvas(window, QPointF(x, y)))
        assert window.bench.loupe.isVisible()
        qtbot.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=on_canvas(window, QPointF(x, y)))
    [line] = window.document.job.photo.references
    assert isinstance(line, LineReference)
    for marked, true in zip(line.ends_px, ends, strict=True):
        assert marked == pytest.approx(true, abs=1.5)  # a click alone is good to 3 px here
    assert not window.bench.loupe.isVisible()
    assert not window.steps.photo.panel.mark.isChecked()
    assert window.steps.photo.panel.mark.text() == "Mark again"
    window.document.stack.undo()
    assert window.document.job.photo.references == (LineReference(length_mm=100.0),)


def test_the_keyboard_alone_marks_the_line(
    qtbot: QtBot, window: MainWindow, idle, samples: Path
) -> None:
    window.files.open_path(samples / "trapezoid.jpg")
    idle(window, "open", "picture")
    assert window.focusWidget() is window.steps.photo.panel.line  # what is asked for first
    qtbot.keyClicks(window.steps.photo.panel.line, "100")
    qtbot.keyClick(window.steps.photo.panel.line, Qt.Key.Key_Return)
    window.steps.photo.panel.mark.setFocus()
    qtbot.keyClick(window.steps.photo.panel.mark, Qt.Key.Key_Space)
    view = window.bench.view
    assert window.focusWidget() is view
    middle = view.viewport().rect().center()
    shift = Qt.KeyboardModifier.ShiftModifier
    for _ in range(2):
        for _ in range(4):
            qtbot.keyClick(view, Qt.Key.Key_Right, shift)
        qtbot.keyClick(view, Qt.Key.Key_Down)
        qtbot.keyClick(view, Qt.Key.Key_Return)
        middle = middle + QPoint(40, 1)
    [line] = window.document.job.photo.references
    last = view.scene_at(QPointF(middle))
    assert line.ends_px is not None
    # bare paper there, or ink within the snap's reach: 0.6 % of 4032 px
    assert line.ends_px[1] == pytest.approx((last.x(), last.y()), abs=25)
    qtbot.keyClick(window.steps.photo.panel.mark, Qt.Key.Key_Space)
    qtbot.keyClick(view, Qt.Key.Key_Escape)
    assert not window.steps.photo.panel.mark.isChecked()
    assert view.pick is None


def test_what_was_measured_is_seen_however_much_was_told(
    qtbot: QtBot, window: MainWindow, idle, samples: Path
) -> None:
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    panel = window.steps.photo.panel
    click(qtbot, panel.folds.heads["More drawn"])
    enter(qtbot, panel.line, "6 in")
    panel.sheet_told.emit("letter")
    click(qtbot, panel.main)
    idle(window, "measure")
    assert panel.result.isVisible()
    assert not panel.drawn.rectangle.isVisible()


def test_another_photo_opens_while_the_old_one_is_measured(
    qtbot: QtBot, window: MainWindow, idle, samples: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, ended = threading.Event(), threading.Event()

    def endless(job, *, progress, stop):
        begun.set()
        while not stop():
            time.sleep(0.01)
        ended.set()
        raise Cancelled

    monkeypatch.setattr("app.gui.steps.photo.capture_of", endless)
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    panel = window.steps.photo.panel
    enter(qtbot, panel.line, "6 in")
    click(qtbot, panel.main)
    qtbot.waitUntil(begun.is_set)
    window.files.open_path(samples / "trapezoid.jpg")
    idle(window, "open", "picture")
    assert window.document.job.photo.name == "trapezoid.jpg"
    assert ended.wait(5)
    assert not panel.waiting.isVisible()
    assert panel.message == ""


def test_the_mat_takes_the_sheets_place_and_is_saved_to_print(
    qtbot: QtBot, window: MainWindow, idle, samples: Path, tmp_path: Path, monkeypatch
) -> None:
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    panel = window.steps.photo.panel
    panel.sheet_told.emit("letter")
    panel.sheet_told.emit(MAT)
    photo = window.document.job.photo
    assert photo is not None
    assert photo.references == (MatReference(),)
    assert panel.mat.isChecked()
    click(qtbot, panel.folds.heads["More drawn"])
    enter(qtbot, panel.bars, "119.4 x 120.6")  # of 120 mm
    (mat,) = window.document.job.photo.references
    assert (mat.printed_x, mat.printed_y) == pytest.approx((0.995, 1.005))
    enter(qtbot, panel.bars, "112.9 x 112.9")  # fitted to the page
    assert panel.message
    assert window.document.job.photo.references[0].printed_x == pytest.approx(0.995)
    panel.sheet_told.emit("")
    assert window.document.job.photo.references == ()
    assert not panel.bars.isEnabled()
    name = str(tmp_path / "mat")
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (name, ""))
    window.files.ask_mat()
    page = PdfReader(f"{name}.pdf").pages[0].mediabox
    assert float(page.width) == pytest.approx(8.5 * 72, abs=0.01)

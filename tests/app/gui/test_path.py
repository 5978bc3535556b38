"""The whole way, by mouse and keyboard: from a photo to a pattern on disk."""

from __future__ import annotations

import json
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtWidgets import QFileDialog, QInputDialog
from pytestqt.qtbot import QtBot

from app.document.job import PhotoFacts
from app.files.job_file import read_job
from app.files.strokes import Imported, LeftOut
from app.gui.canvas.sheet_scene import sides_mm
from app.gui.panels.photo import MAT
from app.gui.panels.shape_list import KEY
from app.gui.rail import State, Step
from app.gui.steps.drawings import told_words
from app.gui.window import MainWindow
from calibration.pens import Pen
from calibration.references import LineReference, MatReference
from geometry.errors import Cancelled
from geometry.family import family_named
from geometry.pose import Pose
from tests.app.gui.hands import click, enter, on_canvas, save_into


def choose_shape(window: MainWindow, key: str) -> None:
    shapes = window.steps.outline.panel.list
    keys = [shapes.item(row).data(KEY) for row in range(shapes.count())]
    shapes.setCurrentRow(keys.index(key))


def test_from_a_photo_to_a_printed_pattern(
    qtbot: QtBot,
    window: MainWindow,
    idle,
    samples: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pypdf = pytest.importorskip("pypdf")
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    panel = window.steps.photo.panel
    assert not panel.main.isEnabled()  # nothing of known size was told
    enter(qtbot, panel.line, "6 in")
    assert panel.main.isEnabled()
    click(qtbot, panel.main)
    assert panel.waiting.isVisible()
    idle(window, "measure")
    assert panel.main.text() == "Use this piece"
    assert "42." in panel.result.text()
    click(qtbot, panel.main)
    assert window.current is Step.STEEL
    truth = json.loads((samples / "forging.truth.json").read_text())
    length_mm, width_mm = sides_mm(window.document.job.billet)
    assert length_mm == pytest.approx(231.1, abs=0.6)  # samples/README.md: the smallest box
    assert width_mm == pytest.approx(42.4, abs=0.6)
    assert truth["references"][0]["length_mm"] == pytest.approx(152.4)
    enter(qtbot, window.steps.steel.panel.thickness, "3/16 in")
    assert window.document.job.thickness_mm == pytest.approx(4.7625)  # 3/16 x 25.4

    click(qtbot, window.steps.steel.panel.next_button)
    choose_shape(window, "hidden_tang_spear")
    assert window.document.job.outline.family == "hidden_tang_spear"
    click(qtbot, window.steps.outline.panel.next_button)
    assert window.current is Step.LAYOUT
    click(qtbot, window.steps.layout.panel.roomiest)
    idle(window, "search")
    assert window.document.job.pose is not None
    click(qtbot, window.steps.layout.panel.next_button)
    idle(window, "pages")
    assert window.current is Step.PATTERN
    save_into(monkeypatch, tmp_path / "knife.pdf")
    click(qtbot, window.steps.pattern.panel.pdf)
    idle(window, "export")
    assert "knife.pdf" in window.steps.pattern.panel.message
    assert window.rail.buttons[Step.PATTERN].state is State.DONE
    page = pypdf.PdfReader(tmp_path / "knife.pdf").pages[0]
    sides = sorted((float(page.mediabox.width), float(page.mediabox.height)))
    assert sides == pytest.approx([612, 792], abs=0.01)  # 8.5 x 11 in at 72 points an inch

    save_into(monkeypatch, tmp_path / "knife")
    assert window.files.save()
    assert window.document.is_saved
    kept = window.document.job
    assert read_job(tmp_path / "knife.blankwright") == kept
    window.files.new_job()
    assert window.document.job.photo is None
    window.files.open_path(tmp_path / "knife.blankwright")
    assert window.document.job == kept
    assert window.current is Step.LAYOUT


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


def test_the_sample_waits_to_be_measured(qtbot: QtBot, window: MainWindow, idle) -> None:
    click(qtbot, window.start.sample)
    idle(window, "sample", "open", "picture")
    assert window.focusWidget() is window.steps.photo.panel.main


def test_a_drawing_without_a_unit_is_asked_about(
    window: MainWindow, idle, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new(units=0)
    drawing.modelspace().add_lwpolyline([(0, 0), (8, 0), (8, 1.25), (0, 1.25)], close=True)
    drawing.modelspace().add_text("a note", dxfattribs={"insert": (9, 9)})
    drawing.saveas(tmp_path / "plain.dxf")
    offered: list[str] = []

    def in_inches(_parent, _title, _said, lines, _at, _editable):
        offered.extend(lines)
        return next(line for line in lines if line.endswith("in inches")), True

    monkeypatch.setattr(QInputDialog, "getItem", in_inches)
    window.files.open_path(tmp_path / "plain.dxf")
    idle(window, "drawing")
    taken = window.document.job.outline.drawing
    assert taken is not None
    x0, y0, x1, y1 = taken.polygon().bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((203.2, 31.75))  # 8 x 25.4, 1.25 x 25.4
    assert "203 mm by 32 mm: it is drawn in inches" in offered[:2]  # before what makes no knife
    assert "8 mm by 1.2 mm: it is drawn in mm" in [line.replace(".0", "") for line in offered[2:]]
    assert not window.steps.outline.panel.blade_tab.isEnabled()
    # The outline's lower left is the origin: 9 x 25.4 = 228.6 mm.
    said = "Left out: words (x 228.6, y 228.6 mm)."
    assert said in window.steps.outline.panel.message


def test_things_of_one_kind_are_counted_and_their_first_places_told() -> None:
    left = [LeftOut(what="closed path inside", at_mm=(25.4 * n, 5.08)) for n in range(26)]
    left += [LeftOut(what=what) for what in ("words", "picture", "hidden line")]
    read = Imported(outline=family_named("drop point").outline(), left_out=tuple(left))
    assert told_words(read, "in") == (
        "Left out: 26 x closed path inside (x 0.00, y 0.20; x 1.00, y 0.20 in; …); "
        "words; picture; and more."
    )


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


def test_a_drag_does_not_read_the_photo_through(
    window: MainWindow, idle, samples: Path, billet_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.files.open_path(samples / "forging.jpg")
    idle(window, "open", "picture")
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    window.go(Step.LAYOUT)
    read = []
    whole = type(window.document.job).measure_fingerprint
    monkeypatch.setattr(
        type(window.document.job), "measure_fingerprint", lambda job: read.append(1) or whole(job)
    )
    for x_mm in range(20):
        window.steps.layout._dragged(Pose(x_mm=100.0 + x_mm, y_mm=20.0), "Move the blank")
    assert read == []


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


def test_a_placed_blank_does_not_hide_that_the_photo_is_to_be_measured_again(
    window: MainWindow, billet_path: Path
) -> None:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    facts = PhotoFacts(name="a.jpg", data=b"", pen=Pen(name="biro", offset_mm=0.5))
    job = replace(window.document.job, photo=facts, thickness_mm=4.0)
    job = replace(job, measured_from=job.measure_fingerprint())
    window.go(Step.LAYOUT)
    window.document.change(replace(job, pose=Pose(x_mm=100.0, y_mm=25.0)), "as measured")
    assert "measure again" not in window.verdict.words.text()
    enter_thickness = window.steps.steel.panel.thickness_told
    enter_thickness.emit(5.0)  # the pen's stand-off follows from it
    for step in (Step.LAYOUT, Step.PATTERN):
        window.go(step)
        assert "measure again" in window.verdict.words.text()
    window.document.stack.undo()
    assert "measure again" not in window.verdict.words.text()
    without_pen = replace(window.document.job, photo=replace(facts, pen=None))
    measured = replace(without_pen, measured_from=without_pen.measure_fingerprint())
    window.document.change(measured, "as measured")
    enter_thickness.emit(5.0)  # changes what is likely too large, worked out at once
    assert "measure again" not in window.verdict.words.text()

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
from PySide6.QtWidgets import QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from app.document.job import OutlineChoice, PhotoFacts
from app.files.job_file import read_job
from app.gui.canvas.sheet_scene import sides_mm
from app.gui.panels.photo import MAT
from app.gui.rail import State, Step
from app.gui.window import MainWindow
from calibration.pens import Pen
from calibration.references import LineReference, MatReference
from geometry.errors import Cancelled
from geometry.outline import outline_from_rings
from geometry.pose import Pose


def click(qtbot: QtBot, widget: QWidget) -> None:
    qtbot.mouseClick(widget, Qt.MouseButton.LeftButton)


def enter(qtbot: QtBot, field: QWidget, text: str) -> None:
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)
    qtbot.keyClick(field, Qt.Key.Key_Return)


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
    window.steps.outline.panel.list.setCurrentRow(2)
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


@pytest.fixture
def at_layout(window: MainWindow, billet_path: Path) -> MainWindow:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    window.go(Step.LAYOUT)
    return window


def test_a_blank_is_dragged_and_one_undo_takes_it_back(qtbot: QtBot, at_layout: MainWindow) -> None:
    window = at_layout
    before = window.derived.pose(window.document.job)
    steps = window.document.stack.count()
    start = on_canvas(window, window.steps.layout.scene.blank_rect_point())
    drag(qtbot, window, start, QPoint(30, -8))
    pose = window.document.job.pose
    px_a_mm = window.bench.view.px_a_unit
    assert pose.x_mm - before.x_mm == pytest.approx(30 / px_a_mm, abs=0.02)
    assert pose.y_mm - before.y_mm == pytest.approx(8 / px_a_mm, abs=0.02)  # up on the screen
    assert pose.theta_rad == before.theta_rad
    assert window.document.stack.count() == steps + 1
    window.document.stack.undo()
    assert window.document.job.pose is None


def test_the_round_handle_turns_the_blank_about_its_middle(
    qtbot: QtBot, at_layout: MainWindow
) -> None:
    window = at_layout
    middle = window.derived.layout(window.document.job).blank.centroid
    start = on_canvas(window, window.steps.layout.scene.turn_handle_point())
    drag(qtbot, window, start, QPoint(0, 40))
    layout = window.derived.layout(window.document.job)
    assert window.document.job.pose.theta_rad != 0.0
    assert layout.blank.centroid.distance(middle) < 1e-6
    assert window.document.stack.undoText() == "Turn the blank"


def test_keys_and_numbers_move_the_blank(qtbot: QtBot, at_layout: MainWindow) -> None:
    window, panel = at_layout, at_layout.steps.layout.panel
    enter(qtbot, panel.x_field, "120")
    assert window.document.job.pose.x_mm == 120.0
    view = window.bench.view
    qtbot.keyClick(view, Qt.Key.Key_Right)
    qtbot.keyClick(view, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert window.document.job.pose.x_mm == pytest.approx(120.1)
    enter(qtbot, panel.angle_field, "-12,5")
    assert window.document.job.pose.theta_rad == pytest.approx(-0.2181661565)  # -12.5 pi / 180
    enter(qtbot, panel.angle_field, "200 degrees")
    assert "200 degrees" in panel.message
    assert window.document.job.pose.theta_rad == pytest.approx(-0.2181661565)


def test_the_clearance_shown_is_the_one_of_the_place(qtbot: QtBot, at_layout: MainWindow) -> None:
    window = at_layout
    plate = outline_from_rings("plate", [(0, 0), (100, 0), (100, 20), (0, 20)])
    job = replace(
        window.document.job,
        outline=OutlineChoice(drawing=plate),
        pose=Pose(x_mm=10.0, y_mm=7.0),
        margin_mm=2.0,
    )
    window.document.change(job, "Lay a plate down")
    # by hand: below it 7, at the left 10, above 50 - 27 = 23, at the right 130
    assert "Fits" in window.verdict.words.text()
    assert "7.0 mm spare" in window.verdict.words.text()
    enter(qtbot, window.steps.layout.panel.margin, "8")
    assert "Does not fit" in window.verdict.words.text()
    assert window.rail.buttons[Step.LAYOUT].state is State.LOOK_AGAIN
    window.use_unit("in")
    assert "0.28 in spare" in window.verdict.words.text()  # 7 / 25.4
    assert window.document.job.pose == Pose(x_mm=10.0, y_mm=7.0)


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


def test_the_way_on_takes_the_blank_where_it_is_shown(qtbot: QtBot, at_layout: MainWindow) -> None:
    window = at_layout
    shown = window.derived.pose(window.document.job)
    assert window.document.job.pose is None
    click(qtbot, window.steps.layout.panel.next_button)
    assert window.current is Step.PATTERN
    assert window.document.job.pose == shown
    assert window.focusWidget() is window.steps.pattern.panel.pdf
    window.document.stack.undo()
    assert window.document.job.pose is None


def test_a_printer_is_corrected_by_what_its_bars_measure(
    qtbot: QtBot, at_layout: MainWindow, idle
) -> None:
    window, panel = at_layout, at_layout.steps.pattern.panel
    click(qtbot, window.steps.layout.panel.next_button)
    idle(window, "pages")
    assert panel.across.text() == "100 mm"
    enter(qtbot, panel.across, "99.5")
    assert window.document.job.pattern.correct_x == pytest.approx(0.995)  # 99.5 / 100
    enter(qtbot, panel.up, "94.1")  # a page fitted inside margins, not a printer
    assert panel.up.is_wrong
    assert "94.10 %" in panel.message
    assert window.document.job.pattern.correct_y == 1.0
    window.use_unit("in")
    assert panel.across.text() == "3.98 in"  # 4 x 0.995
    enter(qtbot, panel.up, "4.02")
    assert window.document.job.pattern.correct_y == pytest.approx(1.005)  # 4.02 / 4
    assert window.document.job.pattern.correct_x == pytest.approx(0.995)


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


def test_a_pattern_of_a_blank_that_does_not_fit_says_so(at_layout: MainWindow) -> None:
    window = at_layout
    window.document.change(
        replace(window.document.job, pose=Pose(x_mm=200.0, y_mm=10.0)), "Push it over the edge"
    )
    window.go(Step.PATTERN)
    assert "does not fit" in window.steps.pattern.panel.sentence.text()
    window.document.stack.undo()
    window.go(Step.LAYOUT)
    window.steps.layout.panel.next_button.click()
    assert "does not fit" not in window.steps.pattern.panel.sentence.text()


def test_a_drawing_without_a_unit_is_asked_about(
    window: MainWindow, idle, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ezdxf = pytest.importorskip("ezdxf")
    drawing = ezdxf.new(units=0)
    drawing.modelspace().add_lwpolyline([(0, 0), (8, 0), (8, 1.25), (0, 1.25)], close=True)
    drawing.saveas(tmp_path / "plain.dxf")
    monkeypatch.setattr(window.steps.outline, "_ask_unit", lambda error: "in")
    window.files.open_path(tmp_path / "plain.dxf")
    idle(window, "drawing")
    taken = window.document.job.outline.drawing
    assert taken is not None
    x0, y0, x1, y1 = taken.polygon().bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((203.2, 31.75))  # 8 x 25.4, 1.25 x 25.4
    assert not window.steps.outline.panel.blade_tab.isEnabled()


def test_a_search_ends_when_its_outline_is_no_longer_there(
    qtbot: QtBot, at_layout: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, begun, ended = at_layout, threading.Event(), threading.Event()

    def endless(job, *, progress, stop):
        begun.set()
        while not stop():
            time.sleep(0.01)
        ended.set()
        raise Cancelled

    window.steps.layout._search(endless, lambda job, placement: None)
    qtbot.waitUntil(begun.is_set)
    window.steps.layout.panel.margin.edited.emit(2.0)
    assert not window.worker.is_busy("search")
    assert "search was stopped" in window.steps.layout.panel.message
    assert not window.steps.layout.panel.waiting.isVisible()
    assert window.steps.layout.panel.roomiest.isEnabled()
    assert ended.wait(5)


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


@pytest.mark.parametrize("tab", ["blade_tab", "handle_tab"])
def test_tab_walks_down_the_panel_and_ends_at_the_way_on(
    qtbot: QtBot, at_layout: MainWindow, tab: str
) -> None:
    window = at_layout
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    click(qtbot, getattr(panel, tab))
    passed = [window.focusWidget()]
    while passed[-1] is not panel.next_button and len(passed) < 60:
        qtbot.keyClick(passed[-1], Qt.Key.Key_Tab)
        passed.append(window.focusWidget())
    assert passed[-1] is panel.next_button
    heights = [one.mapTo(panel, QPoint(0, one.height() // 2)).y() for one in passed]
    assert heights == sorted(heights)
    shown = [row for row in panel.rows.values() if row.field.isVisible()]
    assert len(shown) > 3
    assert {row.field for row in shown} | {row.slider for row in shown} <= set(passed)


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

"""The layout step by mouse and keyboard: a blank is moved, turned and judged."""

from __future__ import annotations

import re
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from pytestqt.qtbot import QtBot

from app.document.job import OutlineChoice
from app.gui.rail import State, Step
from app.gui.standing import verdict
from app.gui.window import MainWindow
from geometry.errors import Cancelled
from geometry.outline import outline_from_rings
from geometry.pose import Pose
from tests.app.gui.hands import click, drag, enter, on_canvas


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
    assert window.document.stack.undoText() == "turn the blank"


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

    window.steps.layout.search(endless, lambda job, placement: None)
    qtbot.waitUntil(begun.is_set)
    window.steps.layout.panel.margin.edited.emit(2.0)
    assert not window.worker.is_busy("search")
    assert "search was stopped" in window.steps.layout.panel.message
    assert not window.steps.layout.panel.waiting.isVisible()
    assert window.steps.layout.panel.roomiest.isEnabled()
    assert ended.wait(5)


def search_in_a_bar(qtbot: QtBot, window: MainWindow, folder: Path, *, width_mm: int) -> None:
    """Find the roomiest place in a bar 900 mm long."""
    path, w = folder / "bar.json", width_mm
    path.write_text(f'{{"units": "mm", "outline": [[0, 0], [900, 0], [900, {w}], [0, {w}]]}}')
    window.go(Step.STEEL)
    window.steps.steel.open_billet(path)
    window.go(Step.LAYOUT)
    window.steps.layout.find_roomiest()
    qtbot.waitUntil(lambda: not window.worker.is_busy("search"), timeout=20_000)


def test_in_a_long_bar_it_is_said_why_the_blank_lies_at_one_end(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    search_in_a_bar(qtbot, window, tmp_path, width_mm=90)
    assert "the end that leaves the largest rest" in window.steps.layout.panel.message
    layout = window.derived.layout(window.document.job)
    left, _, right, _ = layout.blank.bounds
    assert min(left, 900.0 - right) < max(left, 900.0 - right) / 4.0


def test_where_nothing_fits_it_is_said_by_how_much_everywhere(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    search_in_a_bar(qtbot, window, tmp_path, width_mm=12)
    told, _ = verdict(window.document.job, window.derived)
    assert re.search(r"sticks out by [\d.]+ mm or more wherever it lies \(proven\)", told)


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

"""What must give, asked for and made by mouse and keyboard in the layout step."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.document.job import OutlineChoice
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.errors import Cancelled
from geometry.outline import outline_from_rings
from geometry.pose import Pose
from geometry.verdict import Verdict
from tests.app.gui.hands import click, enter

FAMILY = "full_tang_spear_point"


@pytest.fixture
def too_short(window: MainWindow, tmp_path: Path) -> MainWindow:
    """The spear point, 212 long, on a bar of 208 x 60 mm."""
    path = tmp_path / "bar.json"
    path.write_text('{"units":"mm","outline":[[0,0],[208,0],[208,60],[0,60]],"holes":[]}')
    window.go(Step.STEEL)
    window.steps.steel.open_billet(path)
    job = replace(window.document.job, outline=OutlineChoice(family=FAMILY))
    window.document.change(job, "Choose a shape")
    window.go(Step.LAYOUT)
    return window


@pytest.fixture
def asked(qtbot: QtBot, too_short: MainWindow, idle: Callable[..., None]) -> MainWindow:
    click(qtbot, too_short.steps.layout.panel.give)
    idle(too_short, "search")
    return too_short


def test_a_change_is_made_with_its_place_and_one_undo_takes_both_back(
    qtbot: QtBot, asked: MainWindow
) -> None:
    window, panel = asked, asked.steps.layout.panel
    assert panel.shows_advice
    assert window.focusWidget() is panel.advice.buttons[0]
    before, steps = window.document.job, window.document.stack.count()
    qtbot.keyClick(panel.advice.buttons[0], Qt.Key.Key_Return)
    job = window.document.job
    assert job.outline != before.outline
    assert window.derived.layout(job).verdict is Verdict.FITS
    assert not panel.shows_advice
    assert "fits now" in panel.message
    assert not panel.give.isEnabled()
    assert window.focusWidget() is panel.next_button
    assert window.document.stack.count() == steps + 1
    window.document.stack.undo()
    assert window.document.job == before
    assert panel.give.isEnabled()


def test_a_measure_that_is_kept_is_asked_of_no_more(
    qtbot: QtBot, asked: MainWindow, idle: Callable[..., None]
) -> None:
    window, page = asked, asked.steps.layout.panel.advice
    assert any("Blade length" in one.accessibleName() for one in page.buttons)
    page.locks["blade_length"].click()
    assert window.document.job.locked == ("blade_length",)
    assert window.document.stack.undoText() == "keep blade length"
    idle(window, "search")
    assert page.buttons
    assert not any("Blade length" in one.accessibleName() for one in page.buttons)
    assert page.locks["blade_length"].isChecked()
    page.locks["blade_length"].click()
    idle(window, "search")
    assert window.document.job.locked == ()
    assert any("Blade length" in one.accessibleName() for one in page.buttons)


def test_the_page_goes_when_it_is_about_another_job(qtbot: QtBot, asked: MainWindow) -> None:
    window, panel = asked, asked.steps.layout.panel
    pose = Pose(x_mm=86.0, y_mm=30.0)
    window.document.change(replace(window.document.job, pose=pose), "Move the blank")
    assert panel.shows_advice  # wherever the blank lies
    window.use_unit("in")
    assert "in" in panel.advice.buttons[0].accessibleName()
    click(qtbot, panel.advice.back)
    assert not panel.shows_advice
    window.steps.layout._giving.ask()
    enter(qtbot, panel.margin, "2 mm")
    assert not panel.shows_advice
    assert not window.worker.is_busy("search")


def test_a_drawing_is_offered_its_largest_size(
    qtbot: QtBot, too_short: MainWindow, idle: Callable[..., None]
) -> None:
    window, panel = too_short, too_short.steps.layout.panel
    # 116 wide in 60: with 1 mm on either side half its size; it is a square-ended plate.
    plate = outline_from_rings("plate", [(0, 0), (150, 0), (150, 116), (0, 116)])
    job = replace(window.document.job, outline=OutlineChoice(drawing=plate), pose=None)
    window.document.change(job, "Lay a plate down")
    click(qtbot, panel.give)
    idle(window, "search")
    [row] = panel.advice.buttons
    assert row.accessibleName() in ("Apply: Size 100 → 50.0 %", "Apply: Size 100 → 49.9 %")
    assert panel.advice.locks == {}
    click(qtbot, row)
    job = window.document.job
    assert job.pose.scale == pytest.approx(0.5, rel=1e-3)
    assert not job.size_locked
    assert window.derived.layout(job).clearance.value_mm >= 1.0 - 1e-6


def test_where_it_fits_nothing_is_asked(too_short: MainWindow) -> None:
    window, panel = too_short, too_short.steps.layout.panel
    assert panel.give.isEnabled()
    plate = outline_from_rings("plate", [(0, 0), (100, 0), (100, 20), (0, 20)])
    job = replace(
        window.document.job, outline=OutlineChoice(drawing=plate), pose=Pose(x_mm=9.0, y_mm=9.0)
    )
    window.document.change(job, "Lay a plate down")
    assert not panel.give.isEnabled()


def test_it_is_stopped_like_a_search(
    qtbot: QtBot, too_short: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    window, begun, ended = too_short, threading.Event(), threading.Event()

    def endless(job, *, known, progress, stop):
        begun.set()
        while not stop():
            time.sleep(0.01)
        ended.set()
        raise Cancelled

    monkeypatch.setattr("app.gui.steps.giving.advice_for", endless)
    panel = window.steps.layout.panel
    click(qtbot, panel.give)
    qtbot.waitUntil(begun.is_set)
    assert panel.waiting.isVisible()
    click(qtbot, panel.waiting.stop_button)
    assert ended.wait(5)
    assert not panel.shows_advice
    assert panel.give.isEnabled()

"""Answers that come when another job is open: dropped, or told where the person is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QInputDialog
from pytestqt.qtbot import QtBot

from app.document.job import Job, OutlineChoice
from app.files.own_families import own_families
from app.gui.panels import own_menu
from app.gui.rail import Step
from app.gui.window import MainWindow
from app.gui.worker import Worker
from geometry.outline import outline_from_rings

# A knife by hand: 180 mm long, the edge along y 0 with a choil behind its heel.
KNIFE = outline_from_rings(
    "by hand",
    [(0, 0), (70, 0), (90, 18), (50, 25), (-90, 25), (-90, 2), (-8, 2), (-6, 8), (0, 8)],
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))


def open_other(window: MainWindow, name: str = "other") -> Job:
    """Open a job that differs from the one at hand by its name alone."""
    job = replace(window.document.job, name=name)
    window.document.begin(job)
    window.files.job_opened.emit()
    return job


def begin_search(window: MainWindow, billet_path: Path, tmp_path: Path, qtbot: QtBot) -> str:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    qtbot.waitUntil(lambda: window.document.job.billet is not None)
    window.go(Step.LAYOUT)
    window.steps.layout.find_roomiest()
    return "search"


def begin_drawing(window: MainWindow, billet_path: Path, tmp_path: Path, qtbot: QtBot) -> str:
    path = tmp_path / "bar.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="40mm" '
        'viewBox="0 0 200 40"><path d="M10 5 H190 V35 H10 Z"/></svg>'
    )
    window.go(Step.OUTLINE)
    window.steps.outline.open_drawing(path)
    return "drawing"


@pytest.mark.parametrize("begin", [begin_search, begin_drawing])
def test_what_was_asked_for_one_job_is_not_done_to_the_next(
    window: MainWindow,
    billet_path: Path,
    tmp_path: Path,
    qtbot: QtBot,
    begin: Callable[..., str],
) -> None:
    lane = begin(window, billet_path, tmp_path, qtbot)
    assert window.worker.is_busy(lane)
    other = open_other(window)
    qtbot.waitUntil(lambda: not window.worker.is_busy(lane), timeout=20_000)
    window.worker._pool.waitForDone()
    qtbot.wait(10)  # a late answer would be here
    assert window.document.job == other
    assert window.document.is_saved


def keep(window: MainWindow, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: (name, True))
    window.steps.outline.panel.own.actions[own_menu.KEEP].trigger()


@pytest.fixture
def drawn(window: MainWindow) -> MainWindow:
    job = replace(window.document.job, outline=OutlineChoice(drawing=KNIFE))
    window.document.change(job, "Draw")
    window.go(Step.OUTLINE)
    return window


def test_a_drawing_is_kept_though_another_job_is_opened_and_it_is_said_there(
    drawn: MainWindow, monkeypatch: pytest.MonkeyPatch, idle: Callable[..., None]
) -> None:
    keep(drawn, monkeypatch, "From a drawing")
    other = open_other(drawn)
    drawn.go(Step.STEEL)
    idle(drawn, "own")
    assert [each.name for each in own_families().families] == ["From a drawing"]
    assert drawn.document.job == other
    assert "Kept among your shapes: From a drawing" in drawn.steps.steel.panel.message
    drawn.go(Step.OUTLINE)
    assert drawn.steps.outline.panel.list.item_of("from_a_drawing") is not None


def test_two_drawings_kept_at_once_are_both_kept(
    drawn: MainWindow, monkeypatch: pytest.MonkeyPatch, idle: Callable[..., None]
) -> None:
    keep(drawn, monkeypatch, "First")
    keep(drawn, monkeypatch, "Second")
    idle(drawn, "own")
    assert [each.name for each in own_families().families] == ["First", "Second"]


def test_a_shape_chosen_meanwhile_stays_chosen(
    drawn: MainWindow, monkeypatch: pytest.MonkeyPatch, idle: Callable[..., None]
) -> None:
    keep(drawn, monkeypatch, "From a drawing")
    drawn.steps.outline._choose("neck_knife")
    idle(drawn, "own")
    assert drawn.document.job.outline.family == "neck_knife"
    assert drawn.steps.outline.panel.list.item_of("from_a_drawing") is not None


def test_a_lasting_task_that_has_not_begun_is_done_though_the_window_closes(qtbot: QtBot) -> None:
    worker, done = Worker(), []
    for number in range(5):  # more than run at once

        def task(progress: object, stop: Callable[[], bool], number: int = number) -> None:
            done.append(number)

        worker.start(task, done=lambda _: None, failed=lambda _: None, lane="own", lasting=True)
    worker.cancel("own")
    worker.close()
    assert sorted(done) == [0, 1, 2, 3, 4]

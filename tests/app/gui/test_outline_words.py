"""What is said of an outline: what it is, and what a change of it takes away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from app.document.job import OutlineChoice
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.outline import outline_from_rings
from tests.app.gui.hands import click, enter, save_into


@pytest.fixture
def at_outline(window: MainWindow, billet_path: Path) -> MainWindow:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    window.go(Step.OUTLINE)
    return window


def test_a_measured_piece_is_called_one_until_its_edge_is_changed(
    at_outline: MainWindow, idle: Callable[..., None], qtbot: QtBot
) -> None:
    panel = at_outline.steps.outline.panel
    click(qtbot, panel.piece_button)
    click(qtbot, panel.shaping.take)
    idle(at_outline, "shaping")
    assert panel._about.text().startswith("The measured piece: Traced shape. Its edge is as")
    click(qtbot, panel.drag_buttons[0])
    qtbot.keyClick(at_outline.bench.view, Qt.Key.Key_BracketRight)
    qtbot.keyClick(at_outline.bench.view, Qt.Key.Key_Up)
    click(qtbot, panel.points.done)
    assert panel._about.text().startswith("A drawing: Traced shape, changed by hand. Its lines")
    at_outline.undoing.undo.trigger()
    assert panel._about.text().startswith("The measured piece: Traced shape.")


def test_why_a_drawing_has_no_blade_and_handle_is_told(at_outline: MainWindow) -> None:
    panel = at_outline.steps.outline.panel
    assert panel.blade_tab.toolTip() == panel.handle_tab.toolTip() == ""
    bar = outline_from_rings("bar", [(0, 0), (200, 0), (200, 30), (0, 30)])
    at_outline.steps.outline._take(OutlineChoice(drawing=bar), "Open a drawing")
    why = "It has no measures for Blade and Handle; kept among your shapes it has."
    assert not panel.blade_tab.isEnabled()
    assert panel.blade_tab.toolTip() == panel.handle_tab.toolTip() == why
    assert panel._about.text() == f"A drawing: bar. Its lines are kept as drawn. {why}"


def test_what_the_first_change_of_a_point_takes_away_is_told_before(
    at_outline: MainWindow, qtbot: QtBot
) -> None:
    panel = at_outline.steps.outline.panel
    click(qtbot, panel.blade_tab)
    click(qtbot, panel.drag_buttons[1])
    assert panel.points.loses.isVisible()
    assert "without its measures" in panel.points.loses.text()
    qtbot.keyClick(at_outline.bench.view, Qt.Key.Key_BracketRight)
    qtbot.keyClick(at_outline.bench.view, Qt.Key.Key_Up)
    assert at_outline.document.job.outline.drawing is not None
    assert not panel.points.loses.isVisible()
    at_outline.undoing.undo.trigger()
    assert panel.points.loses.isVisible()


def test_a_refused_value_is_told_at_its_measure_and_in_its_tab_alone(
    at_outline: MainWindow, qtbot: QtBot
) -> None:
    panel = at_outline.steps.outline.panel
    click(qtbot, panel.blade_tab)
    row = panel.rows["blade_length"]
    enter(qtbot, row.field, "5000")
    assert row.said.isVisible()
    assert panel.message == ""
    click(qtbot, panel.handle_tab)
    assert not row.said.isVisible()
    click(qtbot, panel.blade_tab)
    assert row.field.is_wrong
    assert row.said.isVisible()
    enter(qtbot, row.field, "100")
    assert not row.said.isVisible()


def test_what_the_job_keeps_of_its_shape_waits_while_something_is_begun(
    at_outline: MainWindow, qtbot: QtBot
) -> None:
    panel = at_outline.steps.outline.panel
    panel.kept.say("This job keeps an earlier one.", take="Take the newer one")
    assert panel.kept.isVisible()
    for begin, end in (
        (panel.piece_button, panel.shaping.leave_it),
        (panel.drag_buttons[1], panel.points.done),
    ):
        begin.click()
        assert not panel.kept.isVisible()
        panel.kept.say("This job keeps an earlier one.", take="Take the newer one")
        assert not panel.kept.isVisible()
        end.click()
        panel.kept.say("This job keeps an earlier one.", take="Take the newer one")
        assert panel.kept.isVisible()


def test_the_foot_asks_for_a_piece_and_not_for_anything_while_a_shape_is_open(
    window: MainWindow,
) -> None:
    window.go(Step.OUTLINE)
    assert window.verdict.words.text().strip().startswith("No piece yet: start with a photo")


def test_a_job_is_called_as_its_file_and_where_it_lies_is_told(
    at_outline: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    save_into(monkeypatch, Path("..") / "job1.blankwright")
    assert at_outline.files.save_as()
    panel = at_outline.steps.outline.panel
    assert panel.message == f"Saved job1.blankwright in {tmp_path.resolve()}."
    assert at_outline.windowTitle() == "job1[*] – Blankwright"
    assert not at_outline.isWindowModified()
    at_outline.steps.outline._tell_value("blade_length", 100.0)
    assert at_outline.isWindowModified()
    at_outline.files.save()
    save_into(monkeypatch, tmp_path / "job2.blankwright")
    assert at_outline.files.save_as()  # nothing changed since
    assert at_outline.windowTitle() == "job2[*] – Blankwright"


def test_a_job_with_an_outline_of_its_own_opens_at_it(
    at_outline: MainWindow, tmp_path: Path
) -> None:
    path, job = tmp_path / "one.blankwright", at_outline.document.job
    proposed, chosen = job.outline, job.outline.with_value("blade_length", 100.0)
    for outline, step in ((chosen, Step.OUTLINE), (proposed, Step.STEEL)):
        at_outline.document.change(replace(job, outline=outline), "Choose")
        assert at_outline.files.save_to(path)
        at_outline.go(Step.PATTERN)
        at_outline.files.open_job(path)
        assert at_outline.current is step

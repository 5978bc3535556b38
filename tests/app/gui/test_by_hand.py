"""A piece that was changed by hand: what is shown, fitted and printed is the changed piece."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.document.flow import billet_of
from app.document.job import OutlineChoice
from app.files.job_file import write_job
from app.gui.rail import State, Step
from app.gui.window import MainWindow
from geometry.editing import AddFlaw, Cut, RemoveFlaw, vertex_moved
from geometry.outline import outline_from_rings
from geometry.pose import Pose

PLATE = outline_from_rings("plate", [(0, 0), (100, 0), (100, 20), (0, 20)])
FLAW = AddFlaw(points_mm=((60.0, 40.0), (62.0, 40.0), (62.0, 42.0), (60.0, 42.0)))


@pytest.fixture
def at_steel(window: MainWindow, billet_path) -> MainWindow:
    """A bar of 240 x 50 mm, and a plate of 100 x 20 at (10, 10) on it."""
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    job = replace(
        window.document.job, outline=OutlineChoice(drawing=PLATE), pose=Pose(x_mm=10.0, y_mm=10.0)
    )
    window.document.change(job, "Lay a plate down")
    return window


def change(window: MainWindow, *edits: object) -> None:
    window.document.change(replace(window.document.job, edits=edits), "Change by hand")


def test_the_steel_shown_and_told_is_the_changed_one(at_steel: MainWindow) -> None:
    window, panel = at_steel, at_steel.steps.steel.panel
    assert panel._values["area"].text() == "120 cm²"  # 240 x 50
    change(window, Cut(start_mm=(200.0, -5.0), end_mm=(200.0, 55.0)), FLAW)
    assert panel._values["length"].text() == "200.0 mm"
    assert panel._values["area"].text() == "100 cm²"  # 200 x 50
    assert panel._values["flaws"].text() == "1"
    tips = [item.toolTip() for item in window.steps.steel.scene.items()]
    assert "A flaw to keep out of" in tips
    assert "nowhere beyond" in panel.changed.text()
    window.document.stack.undo()
    assert panel._values["area"].text() == "120 cm²"
    assert not panel.changed.isVisible()


def test_the_blank_is_judged_against_the_changed_piece(at_steel: MainWindow) -> None:
    window = at_steel
    window.go(Step.LAYOUT)
    assert "10.0 mm spare" in window.verdict.words.text()  # below it and at its left
    change(window, FLAW)  # its lower edge is 10 above the plate's upper one: 40 - 30
    assert "10.0 mm spare" in window.verdict.words.text()
    low = AddFlaw(points_mm=((60.0, 34.0), (62.0, 34.0), (62.0, 36.0), (60.0, 36.0)))
    change(window, low)
    assert "4.0 mm spare" in window.verdict.words.text()  # 34 - 30
    change(window, low, RemoveFlaw(at_mm=(61.0, 35.0)))
    assert "10.0 mm spare" in window.verdict.words.text()
    tips = [item.toolTip() for item in window.steps.layout.scene.items()]
    assert "A flaw to keep out of" not in tips


def test_steel_that_was_drawn_in_is_said(at_steel: MainWindow) -> None:
    window, panel = at_steel, at_steel.steps.steel.panel
    measured = window.document.job.billet
    change(window, vertex_moved(measured, (240.0, 50.0), (243.0, 50.0)))
    # the corner goes 3 mm out along a side: that far from the measured edge
    assert "up to 3.00 mm outside the steel that was measured" in panel.changed.text()
    assert window.rail.buttons[Step.STEEL].state is State.LOOK_AGAIN
    panel.as_measured.click()
    assert window.document.job.edits == ()
    assert billet_of(window.document.job) == measured
    window.document.stack.undo()
    assert window.document.job.edits != ()


def test_changes_that_do_not_go_with_the_piece_are_said_and_taken_back(
    at_steel: MainWindow,
) -> None:
    window, panel = at_steel, at_steel.steps.steel.panel
    change(window, RemoveFlaw(at_mm=(10.0, 10.0)))  # there is none
    assert panel.changed.text().startswith("Change 1 (remove a flaw): there is no flaw.")
    assert not panel.next_button.isEnabled()
    assert window.derived.layout(window.document.job) is None
    window.go(Step.LAYOUT)
    window.go(Step.STEEL)
    panel.as_measured.click()
    assert panel.next_button.isEnabled()
    assert not panel.as_measured.isVisible()


def test_another_piece_has_none_of_the_changes(at_steel: MainWindow, billet_path) -> None:
    change(at_steel, FLAW)
    at_steel.steps.steel.open_billet(billet_path)
    assert at_steel.document.job.edits == ()


def test_the_pattern_shows_the_flaw(qtbot: QtBot, at_steel: MainWindow, idle) -> None:
    window = at_steel
    window.go(Step.PATTERN)
    idle(window, "pages")
    before = len(window.steps.pattern.scene.items())
    change(window, FLAW)
    idle(window, "pages")
    drawn = [item.layer for page in window_pages(window) for item in page.content]
    assert drawn.count("FLAWS") >= 2  # its edge, and lines over it
    assert len(window.steps.pattern.scene.items()) >= before + drawn.count("FLAWS")


def window_pages(window: MainWindow):
    """Return the pages of the job as they print."""
    import datetime

    from app.document.job_drawing import drawing_of
    from app.document.paper import paper_named
    from app.exports.pages import laid_out

    job = window.document.job
    drawing = drawing_of(job, datetime.date(2020, 1, 1))
    return laid_out(drawing, paper_named(job.pattern.paper)).pages


def test_a_job_with_changes_opens_as_the_changed_piece(
    at_steel: MainWindow, idle, tmp_path: Path
) -> None:
    window = at_steel
    change(window, Cut(start_mm=(200.0, -5.0), end_mm=(200.0, 55.0)), FLAW)
    job = replace(window.document.job, pose=None)
    write_job(tmp_path / "cut.blankwright", job)
    window.document.saved_as(tmp_path / "other.blankwright")
    window.files.open_path(tmp_path / "cut.blankwright")
    idle(window, "open")
    assert window.current is Step.OUTLINE  # its plate is a drawing of the job's own
    window.go(Step.STEEL)
    assert window.document.job.edits == job.edits
    assert window.steps.steel.panel._values["length"].text() == "200.0 mm"
    assert "A piece of 200.0 mm by 50.0 mm" in window.verdict.words.text()

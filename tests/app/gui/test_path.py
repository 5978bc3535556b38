"""The whole way, by mouse and keyboard: from a photo to a pattern on disk."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.document.job import PhotoFacts
from app.files.job_file import read_job
from app.gui.canvas.sheet_scene import sides_mm
from app.gui.panels.shape_list import KEY
from app.gui.rail import State, Step
from app.gui.window import MainWindow
from calibration.pens import Pen
from geometry.pose import Pose
from tests.app.gui.hands import click, enter, save_into


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


def test_the_sample_waits_to_be_measured(qtbot: QtBot, window: MainWindow, idle) -> None:
    click(qtbot, window.start.sample)
    idle(window, "sample", "open", "picture")
    assert window.focusWidget() is window.steps.photo.panel.main


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

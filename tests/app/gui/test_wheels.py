"""The wheels of the grinder in the window, compared with the shape."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.files.wheels_file import kept_wheels_mm
from app.gui.rail import Step
from app.gui.window import MainWindow


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def at_outline(window: MainWindow) -> MainWindow:
    window.go(Step.OUTLINE)
    return window


def test_the_wheels_are_told_once_and_compared_with_the_shape(
    at_outline: MainWindow, qtbot: QtBot, answer: Callable[..., list[str]]
) -> None:
    panel = at_outline.steps.outline.panel
    panel.handle_tab.click()
    qtbot.waitUntil(lambda: "tightest inside curve" in panel.wheels.text())
    answer("300, large", "10in, 300")
    panel.wheels_button.click()
    assert kept_wheels_mm() == (254.0, 300.0)
    assert "None of your wheels" in panel.wheels.text()
    assert panel.wheels.property("kind") == "message"
    answer("20, 10in")
    panel.wheels_button.click()
    assert "Your wheel of 20 mm" in panel.wheels.text()
    assert panel.wheels.property("kind") == "quiet"


def test_what_is_said_of_wheels_follows_the_shape(at_outline: MainWindow, qtbot: QtBot) -> None:
    panel, step = at_outline.steps.outline.panel, at_outline.steps.outline
    qtbot.waitUntil(lambda: panel.wheels.text() != "")
    before = panel.wheels.text()
    step._tell_value("handle_front", 24.0)
    qtbot.waitUntil(lambda: panel.wheels.text() != before)

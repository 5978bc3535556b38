"""Pieces of steel in files: opened from anywhere, and told of where something is off."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import box

from app.files.billet_file import write_billet
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.billet import Billet

BAR = Billet(shape=box(0, 0, 240, 50), thickness_mm=4.0)


@pytest.fixture
def piece(tmp_path: Path) -> Path:
    path = tmp_path / "bar.json"
    write_billet(path, BAR)
    return path


@pytest.mark.parametrize("step", [Step.PHOTO, Step.OUTLINE, Step.STEEL])
def test_a_saved_piece_is_opened_as_the_piece_from_any_step(
    window: MainWindow, piece: Path, step: Step
) -> None:
    window.go(step)
    window.files.open_path(piece)
    assert window.current is Step.STEEL
    assert window.document.job.billet == BAR
    assert window.document.job.name == "bar"
    assert window.steps.steel.panel.message == ""


def test_an_outline_is_opened_as_the_outline_from_the_steel_step(
    window: MainWindow, idle: Callable[..., None], tmp_path: Path
) -> None:
    from app.files.outline_file import write_outline
    from geometry.family import family_named

    path = tmp_path / "knife.json"
    write_outline(family_named("full_tang_drop_point").outline(), path)
    window.go(Step.STEEL)
    window.files.open_path(path)
    idle(window, "drawing")
    assert window.current is Step.OUTLINE
    assert window.document.job.outline.drawing is not None


def test_a_ring_with_too_few_corners_is_named_as_a_maker_would(
    window: MainWindow, piece: Path
) -> None:
    content = json.loads(piece.read_text())
    content["flaws"] = [[[1, 1], [2, 2], [2, 1]], [[5, 5], [6, 6]]]
    piece.write_text(json.dumps(content))
    window.files.open_path(piece)
    message = window.steps.steel.panel.message
    assert message.startswith("bar.json: ")
    assert "flaw 2 has 2 corners, and needs 3 at least" in message
    assert window.document.job.billet is None


def test_a_flaw_off_the_steel_is_told(window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "flawed.json"
    flaws = (box(20, 10, 30, 20), box(300, 0, 310, 9))
    write_billet(path, Billet(shape=BAR.shape, flaws=flaws))
    window.files.open_path(path)
    changed = window.steps.steel.panel.changed
    assert changed.isVisible()
    assert changed.text().startswith("1 of 2 flaws lies wholly off the steel")

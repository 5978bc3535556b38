"""A job whose shape cannot be drawn: it opens, every step can be entered, another is chosen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from app.document.flow import outline_of
from app.document.job import Job, OutlineChoice
from app.files.billet_file import read_billet
from app.files.job_file import read_job, write_job
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.errors import InputError
from geometry.family import family_named
from geometry.pose import Pose


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))


@pytest.fixture
def path(tmp_path: Path, billet_path: Path) -> Path:
    """A job with steel, placed, whose family has a name and nothing to draw."""
    path = tmp_path / "a.blankwright"
    choice = OutlineChoice(family="bare", family_text='format = 1\nname = "Bare"\n')
    pose = Pose(x_mm=100.0, y_mm=20.0, theta_rad=0.0)
    write_job(
        path, Job(name="Bare job", billet=read_billet(billet_path), outline=choice, pose=pose)
    )
    return path


def test_it_opens_and_says_so_when_it_is_drawn(path: Path) -> None:
    job = read_job(path)
    assert job.billet is not None
    with pytest.raises(InputError, match="Bare"):
        outline_of(job)


@pytest.mark.parametrize("step", list(Step))
def test_every_step_can_be_entered(window: MainWindow, path: Path, step: Step) -> None:
    window.files.open_job(path)
    window.go(step)
    window.refresh(afresh=True)
    assert window.document.job.name == "Bare job"


def test_another_shape_is_chosen_and_the_rest_of_the_job_is_there(
    window: MainWindow, path: Path
) -> None:
    window.files.open_job(path)
    window.go(Step.OUTLINE)
    outline = window.steps.outline
    assert outline.panel.message
    outline._choose("neck_knife")
    assert outline.panel.message == ""
    assert outline_of(window.document.job) == family_named("neck_knife").outline()
    assert window.document.job.billet is not None
    window.undoing.undo.trigger()
    assert outline.panel.message
    window.undoing.redo.trigger()
    assert outline.panel.message == ""
    assert window.files.save_to(path)
    assert replace(read_job(path), name="") == replace(window.document.job, name="")

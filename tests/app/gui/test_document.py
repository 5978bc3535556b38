"""Undo and redo, drags as one step, and what counts as saved."""

from __future__ import annotations

from dataclasses import replace

from app.document.job import Job
from app.gui.document import Document
from geometry.pose import Pose


def test_undo_and_redo_give_each_job_back(qapp) -> None:
    document = Document()
    jobs = [document.job]
    for margin_mm in (2.0, 3.0):
        document.change(replace(document.job, margin_mm=margin_mm), "Change the margin")
        jobs.append(document.job)
    assert document.stack.undoText() == "change the margin"
    document.stack.undo()
    assert document.job == jobs[1]
    document.stack.undo()
    assert document.job == jobs[0]
    document.stack.redo()
    document.stack.redo()
    assert document.job == jobs[2]


def test_a_drag_is_one_step(qapp) -> None:
    document = Document()
    first, second = document.new_gesture(), document.new_gesture()
    for gesture, x_mm in ((first, 1.0), (first, 2.0), (second, 3.0)):
        job = replace(document.job, pose=Pose(x_mm=x_mm))
        document.change(job, "Move the blank", gesture=gesture)
    assert document.stack.count() == 2
    document.stack.undo()
    assert document.job.pose == Pose(x_mm=2.0)
    document.stack.undo()
    assert document.job.pose is None


def test_a_drag_that_ends_where_it_began_leaves_no_step(qapp) -> None:
    document = Document()
    gesture = document.new_gesture()
    document.change(replace(document.job, margin_mm=9.0), "Change the margin", gesture=gesture)
    document.change(Job(), "Change the margin", gesture=gesture)
    assert document.stack.count() == 0


def test_the_same_job_makes_no_step(qapp) -> None:
    document = Document()
    document.change(Job(), "Nothing")
    assert document.stack.count() == 0
    assert document.is_saved


def test_a_change_after_saving_is_not_saved(qapp, tmp_path) -> None:
    document = Document()
    document.change(replace(document.job, margin_mm=2.0), "Change the margin")
    document.saved_as(tmp_path / "a.blankwright")
    assert document.is_saved
    document.change(replace(document.job, margin_mm=3.0), "Change the margin")
    assert not document.is_saved
    document.stack.undo()
    assert document.is_saved

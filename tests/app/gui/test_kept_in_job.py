"""What the job keeps of its shape: an earlier one, one that your shapes have otherwise or not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QInputDialog, QMessageBox

from app.document.flow import outline_of
from app.document.job import Job, OutlineChoice
from app.files.job_file import read_job, write_job
from app.files.own_families import (
    change_family,
    delete_family,
    families_folder,
    family_known,
    own_families,
    put_family,
    save_family,
    trashed_families,
)
from app.gui.panels import own_menu
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.errors import InputError
from geometry.family import Family, built_in_families, family_named
from geometry.family.changes import with_default, with_notes
from geometry.family.saving import family_text
from tests.app.later_program import blade_of, install_later

DROP = "full_tang_drop_point"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    yield tmp_path / "data" / "families"
    built_in_families.cache_clear()


def own(name: str = "Mine") -> Family:
    return replace(family_named("neck_knife"), name=name, sizes=())


def chosen(window: MainWindow, name: str = "Mine") -> Family:
    family = save_family(own(name))
    window.go(Step.OUTLINE)
    window.steps.outline._list_anew()
    window.steps.outline._choose(family.key)
    return family


def rows(window: MainWindow) -> list[str]:
    shapes = window.steps.outline.panel.list
    return [shapes.item(row).text() for row in range(shapes.count())]


def said(window: MainWindow) -> str:
    return window.steps.outline.panel.kept.said


def test_an_earlier_shape_of_the_programs_is_told_and_the_newer_one_taken(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    told = OutlineChoice(family=DROP, values=(("blade_length", 140.0), ("blade_width", 30.0)))
    before = outline_of(Job(outline=told))
    write_job(tmp_path / "a.blankwright", Job(outline=told))
    install_later(monkeypatch, tmp_path, DROP, blade_of(usual=80, low=60, high=135))
    window.files.open_job(tmp_path / "a.blankwright")
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    assert said(window) == "This job keeps an earlier “Full-tang drop point”."
    assert not panel.kept.put.isVisible()
    assert outline_of(window.document.job) == before
    assert panel.rows["blade_length"].parameter.high == 150.0

    panel.kept.take.click()
    assert window.document.job.outline == OutlineChoice(
        family=DROP, values=(("blade_width", 30.0),)
    )
    assert "blade length" in panel.message
    assert said(window) == ""
    window.document.stack.undo()
    assert outline_of(window.document.job) == before
    assert "earlier" in said(window)


def test_nothing_is_said_of_a_shape_that_is_as_it_was(window: MainWindow) -> None:
    window.go(Step.OUTLINE)
    assert said(window) == ""
    chosen(window)
    assert said(window) == ""
    assert "Kept in this job" not in rows(window)


def test_a_shape_that_is_nowhere_else_is_listed_and_put_among_yours(
    window: MainWindow, tmp_path: Path
) -> None:
    family = chosen(window)
    window.steps.outline._tell_value("blade_length", 70.0)
    assert window.files.save_to(tmp_path / "a.blankwright")
    delete_family("mine")
    window.files.open_job(tmp_path / "a.blankwright")
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    window.steps.outline._list_anew()
    assert rows(window)[:2] == ["Kept in this job", "Mine"]
    assert panel.list.current_key == family.key
    assert said(window) == "“Mine” is kept in this job alone."
    window.steps.outline._choose(DROP)
    assert said(window) == ""
    panel.list.setCurrentItem(panel.list.item_of("mine"))  # it can be chosen again
    assert window.document.job.outline.family == "mine"
    window.steps.outline._tell_value("blade_length", 70.0)
    panel.kept.put.click()
    assert own_families().families == (family,)
    assert said(window) == ""
    assert dict(window.document.job.outline.values) == {"blade_length": 70.0}
    assert rows(window)[:2] == ["Your shapes", "Mine"]
    window.document.begin(Job())
    assert rows(window)[:2] == ["Your shapes", "Mine"]


def test_what_one_job_kept_is_not_listed_in_the_next(window: MainWindow) -> None:
    chosen(window)
    delete_family("mine")
    window.steps.outline._list_anew()
    assert "Kept in this job" in rows(window)
    window.document.begin(Job())
    assert "Kept in this job" not in rows(window)


def test_a_shape_whose_name_is_taken_is_put_under_another(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen(window)
    window.document.change(
        replace(
            window.document.job,
            outline=OutlineChoice(family="elsewhere", family_text=family_text(own())),
        ),
        "Open",
    )
    assert "kept in this job alone" in said(window)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("Second", True))
    window.steps.outline.panel.kept.put.click()
    assert {each.name for each in own_families().families} == {"Mine", "Second"}
    assert window.document.job.outline.family == "second"


def test_undo_tells_what_stays_and_both_states_can_be_had(window: MainWindow) -> None:
    family = chosen(window)
    window.steps.outline._tell_value("blade_length", 70.0)
    window.steps.outline.panel.own.actions[own_menu.USUAL].trigger()
    [tuned] = own_families().families
    assert tuned.defaults["blade_length"] == 70.0
    window.document.stack.undo()
    panel = window.steps.outline.panel
    assert panel.message == "“Mine” stays among your shapes as it is."
    assert said(window) == "Your shapes have another “Mine” than this job."
    panel.kept.put.click()  # takes the change back in the folder, too
    assert own_families().families == (family,)
    assert trashed_families() == ("mine",)
    assert said(window) == ""
    window.document.stack.redo()
    assert said(window) == "Your shapes have another “Mine” than this job."
    panel.kept.take.click()
    assert window.document.job.outline.family_text == family_text(family)


def test_undo_of_a_new_name_leaves_the_file_and_says_so(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen(window)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("Renamed", True))
    window.steps.outline.panel.own.actions[own_menu.RENAME].trigger()
    window.undoing.undo.trigger()
    assert window.steps.outline.panel.message == "“Renamed” stays among your shapes as it is."
    assert said(window) == "“Mine” is kept in this job alone."
    assert [each.name for each in own_families().families] == ["Renamed"]


def test_a_shape_in_the_trash_is_the_jobs_alone(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen(window)
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Yes)
    window.steps.outline.panel.own.actions[own_menu.TRASH].trigger()
    assert said(window) == "“Mine” is kept in this job alone."


def test_a_job_names_no_file_outside_the_folder(tmp_path: Path, folder: Path) -> None:
    save_family(own("Other"))
    outside = tmp_path / "outside.toml"
    outside.write_text(family_text(own("Outside")), encoding="utf-8")
    for key in ("../../outside", str(tmp_path / "outside")):
        kept = put_family(replace(own("Put"), key=key, notes=key))
        assert kept.key.startswith("put")
        delete_family(kept.key)
    assert outside.read_text(encoding="utf-8") == family_text(own("Outside"))


def test_put_in_place_of_one_of_its_key_and_never_under_anothers_name() -> None:
    first = save_family(own())
    change_family(first, with_notes(first, "changed"))
    assert put_family(first) == family_known("mine") == first
    assert trashed_families() == ("mine",)
    save_family(own("Second"))
    with pytest.raises(InputError, match="“Second” already"):
        put_family(replace(first, name="Second"))


def test_all_files_that_are_no_shapes_are_told(window: MainWindow) -> None:
    families_folder().mkdir(parents=True)
    for name in ("first", "second", "third", "fourth", "fifth"):
        (families_folder() / f"{name}.toml").write_text("this is not one")
    window.go(Step.OUTLINE)
    told = window.steps.outline.panel.message
    names = [f"{name}.toml" for name in ("first", "second", "third", "fourth", "fifth")]
    assert all(name in told for name in names)


def test_a_job_saved_again_keeps_the_earlier_shape(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    write_job(tmp_path / "a.blankwright", Job())
    install_later(monkeypatch, tmp_path, DROP, blade_of(usual=80, low=60, high=135))
    before = read_job(tmp_path / "a.blankwright")
    window.files.open_job(tmp_path / "a.blankwright")
    assert window.files.save_to(tmp_path / "b.blankwright")
    assert read_job(tmp_path / "b.blankwright") == before
    assert before.outline.family_text


def test_what_another_window_kept_is_listed_when_the_step_is_entered(window: MainWindow) -> None:
    window.go(Step.OUTLINE)
    save_family(own("From elsewhere"))  # as a command or another window does
    window.go(Step.STEEL)
    window.go(Step.OUTLINE)
    assert rows(window)[:2] == ["Your shapes", "From elsewhere"]


def test_what_another_window_changed_is_told_before_it_is_changed_here(window: MainWindow) -> None:
    family = chosen(window)
    tuned = with_default(with_notes(family, "by another window"), "blade_length", 65.0)
    usual = window.steps.outline.panel.own.actions[own_menu.USUAL]
    window.steps.outline._tell_value("blade_length", 70.0)
    newer = change_family(family, tuned)
    usual.trigger()
    assert "changed in the folder" in window.steps.outline.panel.message
    window.document.stack.undo()
    window.document.stack.redo()
    assert said(window) == "Your shapes have another “Mine” than this job."
    assert not usual.isEnabled()
    assert own_families().families == (newer,)
    window.steps.outline.panel.kept.take.click()
    assert dict(window.document.job.outline.values) == {"blade_length": 70.0}
    window.steps.outline.panel.own.actions[own_menu.USUAL].trigger()
    [kept] = own_families().families
    assert (kept.notes, kept.defaults["blade_length"]) == ("by another window", 70.0)

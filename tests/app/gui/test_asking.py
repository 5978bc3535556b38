"""Asking where to write, and by which name: nothing is written over unasked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox

from app.document.job import Job
from app.files.job_file import read_job
from app.files.own_families import (
    delete_family,
    own_families,
    save_family,
    trashed_families,
)
from app.gui.asking import ask_one, ask_place, file_name
from app.gui.panels import own_menu
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import family_named
from geometry.family.changes import with_size

YES, CANCEL = QMessageBox.StandardButton.Yes, QMessageBox.StandardButton.Cancel
Say = Callable[..., list[str]]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> Say:
    """Answer the next questions for a place; the list fills with what was proposed."""

    def give(*names: object) -> list[str]:
        left, proposed = [str(name) for name in names], []

        def get(_parent: object, _title: str, start: str, _kinds: str) -> tuple[str, str]:
            proposed.append(start)
            return (left.pop(0), "") if left else ("", "")

        monkeypatch.setattr(QFileDialog, "getSaveFileName", get)
        return proposed

    return give


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Say:
    """Answer the next questions with a button; the list fills with what was asked."""

    def give(*answers: QMessageBox.StandardButton) -> list[str]:
        left, said = list(answers), []

        def question(_parent: object, _title: str, text: str, *_: object) -> object:
            said.append(text)
            return left.pop(0)

        monkeypatch.setattr(QMessageBox, "question", question)
        return said

    return give


@pytest.fixture
def named(monkeypatch: pytest.MonkeyPatch) -> Say:
    """Answer the next questions for a text, then leave; the list fills with what was said."""

    def give(*texts: str) -> list[str]:
        left, said = list(texts), []

        def get(_parent: object, _title: str, words: str, **_: object) -> tuple[str, bool]:
            said.append(words)
            return (left.pop(0), True) if left else ("", False)

        monkeypatch.setattr(QInputDialog, "getText", get)
        return said

    return give


def do(window: MainWindow, word: str) -> None:
    window.steps.outline.panel.own.actions[word].trigger()


def kept(window: MainWindow, name: str = "Mine") -> None:
    family = save_family(replace(family_named("neck_knife"), name=name, sizes=()))
    window.go(Step.OUTLINE)
    window.steps.outline._list_anew()
    window.steps.outline._choose(family.key)


def test_a_file_with_the_ending_added_is_asked_about(
    window: MainWindow, tmp_path: Path, typed: Say, asked: Say
) -> None:
    (tmp_path / "a.v2.toml").write_text("kept")
    start = tmp_path / "proposed.toml"
    typed(tmp_path / "a.v2")
    said = asked(YES)
    assert ask_place(window, "Write", start, "Shapes") == tmp_path / "a.v2.toml"
    assert f"a.v2.toml in {tmp_path}" in said[0]

    proposed = typed(tmp_path / "a.v2", tmp_path / "b")
    asked(CANCEL)
    assert ask_place(window, "Write", start, "Shapes") == tmp_path / "b.toml"
    assert proposed[1] == str(tmp_path / "a.v2.toml")  # it begins where the person was

    typed(tmp_path / "A.TOML")  # that the dialog itself asks about
    assert ask_place(window, "Write", start, "Shapes") == tmp_path / "A.TOML"
    typed()
    assert ask_place(window, "Write", start, "Shapes") is None


@pytest.mark.parametrize("word", ["job", "mat", "pattern", "shape"])
def test_no_place_to_write_to_is_written_over_unasked(
    window: MainWindow, tmp_path: Path, typed: Say, asked: Say, word: str
) -> None:
    kept(window)
    ending, write = {
        "job": (".blankwright", window.files.save_as),
        "mat": (".pdf", window.files.ask_mat),
        "pattern": (".svg", lambda: window.steps.pattern._ask_where("svg")),
        "shape": (".toml", lambda: do(window, own_menu.WRITE)),
    }[word]
    other = tmp_path / f"other{ending}"
    other.write_text("of another day")
    typed(tmp_path / "other")
    said = asked(CANCEL)
    write()
    assert len(said) == 1
    assert other.read_text() == "of another day"


def test_a_job_is_proposed_under_a_name_that_can_be_a_files(
    window: MainWindow, tmp_path: Path, typed: Say
) -> None:
    window.document.change(Job(name='Elk/moose: 1/8" stock?'), "Name the job")
    proposed = typed(tmp_path / "x")
    assert window.files.save_as()
    assert Path(proposed[0]).parent == Path.home()
    assert Path(proposed[0]).name == "Elkmoose 18 stock.blankwright"
    assert read_job(tmp_path / "x.blankwright").name == 'Elk/moose: 1/8" stock?'


@pytest.mark.parametrize(
    ("text", "name"),
    [("LPT1", "LPT1_"), ("..", "job"), ("Нож: 2", "Нож 2"), ("a" * 300, "a" * 60), ("a ", "a")],
)
def test_a_text_becomes_a_files_name(text: str, name: str) -> None:
    assert file_name(text, "job") == name


def test_things_called_alike_are_told_apart(
    window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    offered: list[list[str]] = []

    def last(_parent: object, _title: str, _said: str, lines: list[str], *_: object) -> object:
        offered.append(lines)
        return lines[-1], True

    monkeypatch.setattr(QInputDialog, "getItem", last)
    two = [("front", "Width"), ("back", "Width")]
    assert ask_one(window, "Title", "Which:", two) == "back"
    assert ask_one(window, "Title", "Which:", [("c", "Width (back)"), *two]) == "back"
    assert offered[0] == ["Width (front)", "Width (back)"]
    assert len(set(offered[1])) == 3


def test_two_measures_of_one_name_have_ranges_of_their_own(
    window: MainWindow, named: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    family = family_named("neck_knife")
    first, second = (each for each in family.parameters if each.key.startswith("blade"))
    alike = replace(second, label=first.label)
    parameters = tuple(alike if each == second else each for each in family.parameters)
    made = save_family(replace(family, name="Mine", parameters=parameters, sizes=()))
    window.go(Step.OUTLINE)
    window.steps.outline._choose(made.key)
    line = f"{first.label} ({second.key})"
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: (line, True))
    named(f"{second.default - 1} to {second.default + 1} mm")
    do(window, own_menu.RANGE)
    [now] = own_families().families
    ranges = {each.key: (each.low, each.high) for each in now.parameters}
    assert ranges[second.key] == pytest.approx((second.default - 1, second.default + 1))
    assert ranges[first.key] == (first.low, first.high)


def test_a_size_is_replaced_only_when_the_person_says_so(
    window: MainWindow, named: Say, asked: Say
) -> None:
    family = save_family(
        with_size(replace(family_named("neck_knife"), name="Mine", sizes=()), "Small", {})
    )
    window.go(Step.OUTLINE)
    window.steps.outline._choose(family.key)
    key, usual = family.parameters[0].key, family.parameters[0].default
    window.steps.outline._tell_value(key, usual + 1.0)
    said, questions = named(" small ", "Other"), asked(CANCEL)
    do(window, own_menu.SIZE)
    [now] = own_families().families
    assert "“small”" in questions[0]
    assert "already" in said[1]
    assert "--" not in said[1]
    assert dict(now.size_named("small").values) == {}
    assert dict(now.size_named("other").values) == {key: usual + 1.0}
    named("SMALL")
    asked(YES)
    do(window, own_menu.SIZE)
    [now] = own_families().families
    assert dict(now.size_named("small").values) == {key: usual + 1.0}


def test_a_shape_whose_name_is_in_use_comes_back_under_another(
    window: MainWindow, named: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept(window)
    delete_family("mine")
    kept(window)
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("Mine", True))
    said = named("Mine", "Mine of old")
    do(window, own_menu.BACK)
    assert "already" in said[1]
    assert {each.name for each in own_families().families} == {"Mine", "Mine of old"}
    assert trashed_families() == ()
    assert window.document.job.outline.family == "mine_of_old"


def test_a_shape_of_other_letters_is_changed_in_its_own_file(
    window: MainWindow, named: Say
) -> None:
    kept(window, "Нож")
    kept(window, "Скіннер")
    key = window.document.job.outline.family
    blade = family_named("neck_knife").parameters[0]
    window.steps.outline._tell_value(blade.key, blade.default + 1.0)
    do(window, own_menu.USUAL)
    assert window.document.job.outline.family == key
    found = {each.name: each.defaults[blade.key] for each in own_families().families}
    assert found == {"Нож": blade.default, "Скіннер": blade.default + 1.0}

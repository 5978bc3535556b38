"""A job's shape whose file in the folder is another shape's: each is what it is called."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtWidgets import QMessageBox

from app.document.families import choice_of
from app.document.flow import outline_of
from app.files.family_file import family_bytes
from app.files.own_families import families_folder, own_families, save_family, trashed_families
from app.gui.panels import own_menu
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import Family, family_named

# Names in other letters than a to z had files called alike: family.toml, family_2.toml.
HUNTER = replace(family_named("full_tang_drop_point"), name="Охотник", key="family")
COOK = replace(family_named("kitchen_chef"), name="Повар", key="family")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))


@pytest.fixture
def two(window: MainWindow) -> MainWindow:
    """A job that draws the hunter, where the cook has its file."""
    put_file(COOK)
    job = replace(window.document.job, outline=choice_of(HUNTER))
    window.document.begin(job)
    window.go(Step.OUTLINE)
    return window


def put_file(family: Family) -> None:
    families_folder().mkdir(parents=True, exist_ok=True)
    (families_folder() / f"{family.key}.toml").write_bytes(family_bytes(family))


def rows(window: MainWindow) -> list[str]:
    shapes = window.steps.outline.panel.list
    return [shapes.item(row).text() for row in range(shapes.count())]


def current(window: MainWindow) -> str:
    item = window.steps.outline.panel.list.currentItem()
    return "" if item is None else item.text()


def do(window: MainWindow, word: str) -> None:
    window.steps.outline.panel.own.actions[word].trigger()


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    told: list[str] = []

    def yes(_parent: object, _title: str, said: str, *_: object) -> QMessageBox.StandardButton:
        told.append(said)
        return QMessageBox.StandardButton.Yes

    monkeypatch.setattr(QMessageBox, "question", yes)
    return told


def test_nothing_is_done_to_another_shape_than_the_one_that_is_drawn(
    two: MainWindow, asked: list[str], answer: Callable[..., list[str]]
) -> None:
    before = outline_of(two.document.job)
    actions = two.steps.outline.panel.own.actions
    assert not [word for word in own_menu.OF_OWN if actions[word].isEnabled()]
    answer(*["Other"] * 9)
    for word in own_menu.OF_OWN:  # and not where the menu was open before, either
        actions[word].setEnabled(True)
        do(two, word)
        assert "“Охотник” is no longer among your own" in two.steps.outline.panel.message
    assert own_families().families == (COOK,)
    assert (asked, trashed_families()) == ([], ())
    assert outline_of(two.document.job) == before


def test_each_is_listed_and_chosen_by_its_name(two: MainWindow) -> None:
    shapes = two.steps.outline.panel.list
    assert rows(two)[:4] == ["Kept in this job", "Охотник", "Your shapes", "Повар"]
    assert current(two) == "Охотник"
    assert two.steps.outline.panel.kept.said == "“Охотник” is kept in this job alone."
    shapes.setCurrentRow(3)
    assert outline_of(two.document.job) == COOK.outline()
    assert current(two) == "Повар"
    assert two.steps.outline.panel.kept.said == ""
    two.document.stack.undo()
    assert current(two) == "Охотник"
    shapes.setCurrentRow(3)
    shapes.setCurrentRow(1)
    assert outline_of(two.document.job) == HUNTER.outline()


def test_the_jobs_is_put_beside_the_other(two: MainWindow, asked: list[str]) -> None:
    two.steps.outline.panel.kept.put.click()
    assert {each.name: each.key for each in own_families().families} == {
        "Повар": "family",
        "Охотник": "охотник",
    }
    assert trashed_families() == ()
    assert "trash" not in two.steps.outline.panel.message
    assert rows(two)[:3] == ["Your shapes", "Охотник", "Повар"]
    assert current(two) == "Охотник"
    do(two, own_menu.TRASH)
    assert "Move “Охотник” to the trash?" in asked[0]
    assert [each.name for each in own_families().families] == ["Повар"]


def test_two_names_in_other_letters_are_renamed_and_thrown_away_each_by_itself(
    window: MainWindow, asked: list[str], answer: Callable[..., list[str]]
) -> None:
    window.go(Step.OUTLINE)
    hunter, cook = save_family(HUNTER), save_family(COOK)
    assert (hunter.key, cook.key) == ("охотник", "повар")
    window.document.change(replace(window.document.job, outline=choice_of(hunter)), "Choose")
    answer("Лесник")
    do(window, own_menu.RENAME)
    assert {each.name for each in own_families().families} == {"Лесник", "Повар"}
    assert outline_of(window.document.job) == replace(HUNTER.outline(), name="Лесник")
    do(window, own_menu.TRASH)
    assert "Move “Лесник” to the trash?" in asked[0]
    assert own_families().families == (cook,)


def test_a_shape_drawn_otherwise_in_the_folder_is_not_thrown_away(
    window: MainWindow, asked: list[str]
) -> None:
    """Of one name and key, yet another maker's: the row offers it, the menu nothing."""
    put_file(replace(COOK, name="Mine", key="mine"))
    job = replace(window.document.job, outline=choice_of(replace(HUNTER, name="Mine", key="mine")))
    window.document.begin(job)
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    assert panel.kept.said == "Your shapes have another “Mine” than this job."
    assert not panel.own.actions[own_menu.TRASH].isEnabled()
    panel.kept.take.click()
    assert panel.own.actions[own_menu.TRASH].isEnabled()
    do(window, own_menu.TRASH)
    assert own_families().families == ()

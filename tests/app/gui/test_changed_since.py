"""A shape of the maker's own that the folder has otherwise than the job: changed, or taken anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QInputDialog
from pytestqt.qtbot import QtBot

from app.files.own_families import change_family, families_folder, own_families
from app.gui.panels import own_menu
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import Family, family_named
from geometry.family.changes import with_default, with_notes, with_range
from geometry.family.saving import family_text

Answer = Callable[[MainWindow], None]
DROP = "full_tang_drop_point"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))


@pytest.fixture
def mine(window: MainWindow, monkeypatch: pytest.MonkeyPatch) -> MainWindow:
    """The drop point, kept as “Mine”; each name asked for after that is “long”."""
    window.go(Step.OUTLINE)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("Mine", True))
    do(window, own_menu.KEEP)
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: ("long", True))
    monkeypatch.setattr(QInputDialog, "getMultiLineText", lambda *_: ("For the big bar.", True))
    return window


def do(window: MainWindow, word: str) -> None:
    window.steps.outline.panel.own.actions[word].trigger()


def kept() -> Family:
    [family] = own_families().families
    return family


def at_hand(window: MainWindow) -> dict[str, float]:
    return dict(window.document.job.outline.values)


def hit(qtbot: QtBot, window: MainWindow, key: str, *, by_key: bool = False) -> None:
    """Click a row of the list, or hit Enter on it."""
    shapes = window.steps.outline.panel.list
    item = shapes.item_of(key)
    assert item is not None
    shapes.scrollToItem(item)
    if by_key:
        shapes.setFocus()
        qtbot.keyClick(shapes, Qt.Key.Key_Return)
    else:
        place = shapes.visualItemRect(item).center()
        qtbot.mouseClick(shapes.viewport(), Qt.MouseButton.LeftButton, pos=place)


@pytest.mark.parametrize("word", [own_menu.SIZE, own_menu.NOTES, own_menu.USUAL, own_menu.RANGE])
def test_after_the_undo_of_a_size_all_can_still_be_changed_and_the_size_stays(
    mine: MainWindow, monkeypatch: pytest.MonkeyPatch, word: str
) -> None:
    step = mine.steps.outline
    step._tell_value("blade_length", 92.0)
    do(mine, own_menu.SIZE)
    mine.document.stack.undo()
    step._tell_value("blade_width", 28.0)
    name = "70 to 130" if word == own_menu.RANGE else "short"
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("Blade length", True))
    monkeypatch.setattr(QInputDialog, "getText", lambda *_, **__: (name, True))
    do(mine, word)
    assert "changed in the folder" not in step.panel.message
    now = kept()
    sizes = [size.name for size in now.sizes if size.name in ("long", "short")]
    assert sizes == (["long", "short"] if word == own_menu.SIZE else ["long"])
    assert (now.notes == "For the big bar.") == (word == own_menu.NOTES)
    assert (now.defaults["blade_width"] == 28.0) == (word == own_menu.USUAL)
    length = next(each for each in now.parameters if each.key == "blade_length")
    assert (length.low == 70.0) == (word == own_menu.RANGE)
    assert mine.document.job.outline.family_text == family_text(now)
    wanted = {} if word == own_menu.USUAL else {"blade_length": 92.0, "blade_width": 28.0}
    assert at_hand(mine) == wanted


@pytest.mark.parametrize("by_key", [False, True])
def test_the_row_that_is_chosen_takes_the_shape_as_it_is_now_and_keeps_the_measures(
    mine: MainWindow, qtbot: QtBot, by_key: bool
) -> None:
    step, family = mine.steps.outline, kept()
    step._tell_value("blade_length", 93.0)
    newer = change_family(family, with_default(family, "blade_width", 27.0))
    do(mine, own_menu.NOTES)
    assert "changed in the folder" in step.panel.message
    assert kept() == newer
    hit(qtbot, mine, "mine", by_key=by_key)
    assert mine.document.job.outline.family_text == family_text(newer)
    assert at_hand(mine) == {"blade_length": 93.0}
    do(mine, own_menu.NOTES)
    assert kept().notes == "For the big bar."
    count = mine.document.stack.count()
    hit(qtbot, mine, "mine", by_key=by_key)  # as it is: no step of the history
    assert mine.document.stack.count() == count
    assert at_hand(mine) == {"blade_length": 93.0}


def test_a_measure_that_the_shape_no_longer_takes_is_told(mine: MainWindow) -> None:
    step, family = mine.steps.outline, kept()
    step._tell_value("blade_length", 140.0)
    change_family(family, with_range(family, "blade_length", 60.0, 135.0))
    do(mine, own_menu.NOTES)
    assert kept().notes == "For the big bar."
    assert at_hand(mine) == {}
    assert step.panel.message.startswith("Written with Mine.")
    assert "blade length" in step.panel.message


def test_another_window_s_notes_stay_when_a_size_is_kept_here(mine: MainWindow) -> None:
    family = kept()
    change_family(family, with_notes(family, "by another window"))
    mine.steps.outline._tell_value("blade_length", 93.0)
    do(mine, own_menu.SIZE)
    assert kept().notes == "by another window"
    assert dict(kept().size_named("long").values) == {"blade_length": 93.0}


def test_a_family_of_the_programs_is_left_alone_by_a_click_on_its_row(
    window: MainWindow, qtbot: QtBot
) -> None:
    window.go(Step.OUTLINE)
    window.steps.outline._tell_value("blade_length", 93.0)
    hit(qtbot, window, DROP)
    assert at_hand(window) == {"blade_length": 93.0}
    assert family_named(DROP).defaults["blade_length"] != 93.0


@pytest.mark.parametrize("word", [own_menu.NOTES, own_menu.USUAL])
def test_a_shape_whose_file_is_gone_is_said_to_be(mine: MainWindow, word: str) -> None:
    (families_folder() / "mine.toml").unlink()
    do(mine, word)
    assert "no longer among your own" in mine.steps.outline.panel.message
    assert own_families().families == ()

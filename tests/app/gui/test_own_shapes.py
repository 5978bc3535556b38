"""The maker's own shapes in the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QFileDialog, QInputDialog, QLineEdit, QMessageBox

from app.document.flow import outline_of
from app.document.job import OutlineChoice
from app.files.own_families import families_folder, own_families, trashed_families
from app.gui.panels import own_menu
from app.gui.panels.shape_list import HEADING
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import built_in_families, family_named
from geometry.outline import outline_from_rings
from tests.app.gui.hands import save_into

DROP = "full_tang_drop_point"
# A knife by hand: 180 mm long, the edge along y 0 with a choil behind its heel.
KNIFE = outline_from_rings(
    "by hand",
    [(0, 0), (70, 0), (90, 18), (50, 25), (-90, 25), (-90, 2), (-8, 2), (-6, 8), (0, 8)],
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture
def at_outline(window: MainWindow) -> MainWindow:
    window.go(Step.OUTLINE)
    return window


def do(window: MainWindow, word: str) -> None:
    window.steps.outline.panel.own.actions[word].trigger()


def headings(window: MainWindow) -> list[str]:
    shapes = window.steps.outline.panel.list
    rows = (shapes.item(row) for row in range(shapes.count()))
    return [row.text() for row in rows if row.data(HEADING)]


def keep(window: MainWindow, answer: Callable[..., list[str]], name: str = "Mine") -> None:
    answer(name)
    do(window, own_menu.KEEP)


def test_a_shape_with_its_measures_is_kept_and_stands_under_its_own_heading(
    at_outline: MainWindow, answer: Callable[..., list[str]]
) -> None:
    assert headings(at_outline) == []
    at_outline.steps.outline._tell_value("blade_length", 88.0)
    before = outline_of(at_outline.document.job)
    keep(at_outline, answer)
    assert headings(at_outline) == ["Your shapes", "Shapes to begin with"]
    [kept] = own_families().families
    assert (kept.name, kept.defaults["blade_length"]) == ("Mine", 88.0)
    assert at_outline.document.job.outline.family == kept.key
    after = outline_of(at_outline.document.job)
    assert after.area_mm2 == pytest.approx(before.area_mm2)
    assert "Kept among your shapes: Mine" in at_outline.steps.outline.panel.message
    at_outline.document.stack.undo()
    assert at_outline.document.job.outline.family == DROP


def test_a_drawing_is_kept_as_a_shape_whose_lengths_change(
    at_outline: MainWindow, answer: Callable[..., list[str]], idle: Callable[..., None]
) -> None:
    job = replace(at_outline.document.job, outline=OutlineChoice(drawing=KNIFE))
    at_outline.document.change(job, "Draw")
    keep(at_outline, answer, "From a drawing")
    idle(at_outline, "own")
    panel = at_outline.steps.outline.panel
    assert outline_of(at_outline.document.job).area_mm2 == pytest.approx(KNIFE.area_mm2, rel=1e-6)
    assert panel.blade_tab.isEnabled()
    row = panel.rows["blade_length"]
    longer = row.parameter.default + 5.0
    at_outline.steps.outline._tell_value("blade_length", longer)
    x0, _, x1, _ = outline_of(at_outline.document.job).bounds_mm
    before = KNIFE.bounds_mm
    assert x1 - x0 == pytest.approx(before[2] - before[0] + 5.0, abs=0.3)


def test_a_drawing_whose_name_is_taken_is_asked_for_another(
    at_outline: MainWindow, answer: Callable[..., list[str]], idle: Callable[..., None]
) -> None:
    keep(at_outline, answer)
    job = replace(at_outline.document.job, outline=OutlineChoice(drawing=KNIFE))
    at_outline.document.change(job, "Draw")
    asked = answer("Mine", "Mine too")
    do(at_outline, own_menu.KEEP)
    idle(at_outline, "own")
    assert "“Mine” already. Choose another name." in asked[1]
    assert {each.name for each in own_families().families} == {"Mine", "Mine too"}


def test_a_name_that_is_taken_is_asked_again(
    at_outline: MainWindow, answer: Callable[..., list[str]]
) -> None:
    asked = answer("Full-tang drop point", "  ", "Another")
    do(at_outline, own_menu.KEEP)
    assert "already" in asked[1]
    assert "no name" in asked[2]
    assert "--" not in " ".join(asked)
    assert [each.name for each in own_families().families] == ["Another"]


def test_only_own_shapes_are_renamed_sized_or_thrown_away(
    at_outline: MainWindow, answer: Callable[..., list[str]]
) -> None:
    actions: dict[str, QAction] = at_outline.steps.outline.panel.own.actions
    for word in own_menu.OF_OWN:
        assert not actions[word].isEnabled()
    assert actions[own_menu.COPY].isEnabled()
    keep(at_outline, answer)
    for word in own_menu.OF_OWN:
        assert actions[word].isEnabled()
    job = replace(at_outline.document.job, outline=OutlineChoice(drawing=KNIFE))
    at_outline.document.change(job, "Draw")
    assert not actions[own_menu.COPY].isEnabled()
    assert actions[own_menu.KEEP].isEnabled()


def test_measures_are_kept_as_a_size_and_chosen_again(
    at_outline: MainWindow, answer: Callable[..., list[str]]
) -> None:
    keep(at_outline, answer)
    step, panel = at_outline.steps.outline, at_outline.steps.outline.panel
    step._tell_value("blade_length", 120.0)
    answer("long")
    do(at_outline, own_menu.SIZE)
    assert panel.sizes.currentText() == "long"
    [kept] = own_families().families
    assert dict(kept.size_named("long").values)["blade_length"] == 120.0
    panel.usual.click()
    assert panel.sizes.currentIndex() == 0
    panel.sizes.setCurrentIndex(panel.sizes.findData("long"))
    panel.sizes.activated.emit(panel.sizes.currentIndex())
    assert dict(at_outline.document.job.outline.values)["blade_length"] == 120.0


def test_usual_measures_notes_and_name_are_changed(
    at_outline: MainWindow,
    answer: Callable[..., list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    keep(at_outline, answer)
    at_outline.steps.outline._tell_value("blade_length", 100.0)
    do(at_outline, own_menu.USUAL)
    monkeypatch.setattr(QInputDialog, "getMultiLineText", lambda *_: ("For the big bar.", True))
    do(at_outline, own_menu.NOTES)
    answer("Renamed")
    do(at_outline, own_menu.RENAME)
    [kept] = own_families().families
    assert (kept.name, kept.notes) == ("Renamed", "For the big bar.")
    assert kept.defaults["blade_length"] == 100.0
    assert at_outline.document.job.outline.values == ()
    assert at_outline.steps.outline.panel.list.current_key == kept.key


def test_the_range_of_a_measure_is_changed_and_its_slider_follows(
    at_outline: MainWindow,
    answer: Callable[..., list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    keep(at_outline, answer)
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("Blade length", True))
    asked = answer("long", "200 to 300", "2 to 6 in")  # the usual 95 mm is not in the second
    do(at_outline, own_menu.RANGE)
    assert "no range" in asked[1]
    assert "no range" in asked[2]
    [kept] = own_families().families
    length = next(each for each in kept.parameters if each.key == "blade_length")
    assert (length.low, length.high) == pytest.approx((50.8, 152.4))  # 2 and 6 x 25.4
    at_outline.steps.outline._tell_value("blade_length", 151.0)  # beyond what it came with
    assert dict(at_outline.document.job.outline.values)["blade_length"] == 151.0


def test_a_shape_goes_out_to_a_file_and_comes_in_elsewhere(
    at_outline: MainWindow,
    answer: Callable[..., list[str]],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    keep(at_outline, answer)
    path = tmp_path / "for a friend"
    save_into(monkeypatch, path)
    do(at_outline, own_menu.WRITE)
    written = path.with_name("for a friend.toml")
    assert written.is_file()
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "another maker"))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(written), ""))
    do(at_outline, own_menu.BRING)
    assert [each.name for each in own_families().families] == ["Mine"]
    answer("Mine too")  # its name is taken the second time
    do(at_outline, own_menu.BRING)
    assert {each.name for each in own_families().families} == {"Mine", "Mine too"}


def test_a_shape_in_the_trash_leaves_the_job_as_it_is_and_comes_back(
    at_outline: MainWindow,
    answer: Callable[..., list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    keep(at_outline, answer)
    before = outline_of(at_outline.document.job)
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Yes)
    do(at_outline, own_menu.TRASH)
    assert own_families().families == ()
    assert headings(at_outline) == ["Kept in this job", "Shapes to begin with"]
    assert outline_of(at_outline.document.job) == before
    assert trashed_families() == ("mine",)
    monkeypatch.setattr(QInputDialog, "getItem", lambda *_: ("Mine", True))  # not its file's name
    do(at_outline, own_menu.BACK)
    assert [each.name for each in own_families().families] == ["Mine"]


def test_shapes_of_one_name_in_the_trash_are_told_apart(
    at_outline: MainWindow,
    answer: Callable[..., list[str]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(QMessageBox, "question", lambda *_: QMessageBox.StandardButton.Yes)
    for blade_mm in (90.0, 100.0):
        at_outline.steps.outline._choose(DROP)
        at_outline.steps.outline._tell_value("blade_length", blade_mm)
        keep(at_outline, answer, "Mine")
        do(at_outline, own_menu.TRASH)
    (families_folder() / "trash" / "broken.toml").write_text("no family")
    offered: list[str] = []

    def second(_parent: object, _title: str, _said: str, lines: list[str], *_: object) -> object:
        offered.extend(lines)
        return lines[2], True

    monkeypatch.setattr(QInputDialog, "getItem", second)
    do(at_outline, own_menu.BACK)
    assert offered == ["broken", "Mine (mine)", "Mine (mine_2)"]
    [kept] = own_families().families
    assert kept.defaults["blade_length"] == 100.0


def test_a_question_has_room_for_its_title_and_a_long_name(at_outline: MainWindow) -> None:
    asked = QInputDialog(at_outline)
    asked.setWindowTitle("Bring in a shape under another name")
    asked.setLabelText("What you call it:")
    asked.setTextValue("Full-tang drop point, changed by hand")
    field = asked.findChild(QLineEdit)
    assert field is not None
    asked.ensurePolished()
    metrics = field.fontMetrics()
    asked.adjustSize()
    asked.show()
    assert field.width() > metrics.horizontalAdvance(asked.textValue()) + 20
    assert asked.width() > 1.3 * metrics.horizontalAdvance(asked.windowTitle()) + 60
    asked.close()


def test_a_file_that_is_no_shape_is_told_and_the_others_are_listed(window: MainWindow) -> None:
    families_folder().mkdir(parents=True)
    (families_folder() / "broken.toml").write_text("this is not one")
    window.go(Step.OUTLINE)
    assert window.steps.outline.panel.message.startswith("broken.toml: ")
    assert window.steps.outline.panel.list.count() == len(built_in_families())


def test_every_family_that_comes_along_can_be_kept(
    at_outline: MainWindow, answer: Callable[..., list[str]]
) -> None:
    for family in built_in_families():
        at_outline.steps.outline._choose(family.key)
        keep(at_outline, answer, f"My {family.name}")
    assert len(own_families().families) == len(built_in_families())
    assert family_named(DROP).name not in [each.name for each in own_families().families]

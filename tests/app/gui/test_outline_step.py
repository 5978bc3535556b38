"""The outline step: shapes with their sizes, and what is said where the hand is."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QRect, Qt
from pytestqt.qtbot import QtBot

from app.document.gallery import MainSizes, main_sizes
from app.document.job import OutlineChoice
from app.files.own_families import own_families, save_family
from app.gui.panels.shape_list import HEADING, SIZES
from app.gui.rail import State, Step
from app.gui.window import MainWindow
from geometry.family import built_in_families, family_named
from tests.app.gui.hands import click

DROP = "full_tang_drop_point"


@pytest.fixture
def at_outline(window: MainWindow) -> MainWindow:
    window.go(Step.OUTLINE)
    return window


def test_the_list_tells_the_sizes_that_the_gallery_prints(
    at_outline: MainWindow, qtbot: QtBot
) -> None:
    shapes = at_outline.steps.outline.panel.list
    row = shapes.item_of(DROP)
    assert row is not None
    qtbot.waitUntil(lambda: isinstance(row.data(SIZES), MainSizes))
    assert row.data(SIZES) == main_sizes(family_named(DROP).outline())


def test_measures_that_do_not_go_together_are_told_at_the_measure(
    at_outline: MainWindow,
) -> None:
    step, panel = at_outline.steps.outline, at_outline.steps.outline.panel
    panel.handle_tab.click()
    step._tell_value("handle_front", 18.0)
    panel.blade_tab.click()
    before = at_outline.document.job.outline
    panel.rows["blade_width"].slider.setFocus()
    step._tell_value("blade_width", 36.0)  # the family asks for a handle of 36 - 15 = 21 mm
    row = panel.rows["blade_width"]
    assert at_outline.document.job.outline == before
    assert row.said.isVisible()
    assert "needs 21" in row.said.text()
    assert row.field.text() == "26 mm"
    assert panel.message == ""
    step._tell_value("blade_width", 30.0)
    assert not row.said.isVisible()


def test_a_size_of_the_family_is_chosen_and_known_again(at_outline: MainWindow) -> None:
    step, panel = at_outline.steps.outline, at_outline.steps.outline.panel
    family = family_named(DROP)
    assert family.sizes  # else this test tells nothing
    size = family.sizes[0]
    panel.blade_tab.click()
    assert panel.sizes.isVisible()
    panel.sizes.setCurrentIndex(panel.sizes.findData(size.name))
    panel.sizes.activated.emit(panel.sizes.currentIndex())
    assert dict(at_outline.document.job.outline.values) == dict(size.values)
    assert panel.sizes.currentText() == size.name
    step._tell_value("blade_length", 91.0)
    assert panel.sizes.currentText() not in [each.name for each in family.sizes]
    at_outline.document.stack.undo()
    assert panel.sizes.currentText() == size.name
    panel.usual.click()
    assert panel.sizes.currentIndex() == 0


def test_without_a_piece_there_is_no_shape_of_it(at_outline: MainWindow) -> None:
    button = at_outline.steps.outline.panel.piece_button
    assert not button.isEnabled()
    assert "Measure a photo" in button.toolTip()


def test_the_list_opens_with_whole_rows_at_its_top(
    window: MainWindow, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path))
    family = family_named(DROP)
    for name in ("Mine", "Mine too"):
        save_family(replace(family, name=name))
    chosen = built_in_families()[8].key
    window.document.change(replace(window.document.job, outline=OutlineChoice(family=chosen)), "")
    window.go(Step.OUTLINE)
    qtbot.wait(50)
    shapes = window.steps.outline.panel.list

    def box(row: int) -> QRect:
        return shapes.visualItemRect(shapes.item(row))

    assert shapes.verticalScrollBar().value() > 0  # else this test tells nothing
    assert any(abs(box(row).top()) <= 1 for row in range(shapes.count()))
    assert box(shapes.currentRow()).bottom() <= shapes.viewport().height()
    window.steps.outline._choose(family.key)  # the first under a heading
    qtbot.wait(20)
    row = shapes.currentRow()
    assert box(row - 1).top() >= -1 or not shapes.item(row - 1).data(HEADING)
    window.steps.outline._choose(own_families().families[0].key)
    qtbot.wait(20)
    assert shapes.item(0).data(HEADING)
    assert box(0).top() >= -1


def test_an_outline_that_nobody_chose_is_not_ticked(at_outline: MainWindow, qtbot: QtBot) -> None:
    buttons = at_outline.rail.buttons
    assert buttons[Step.OUTLINE].state is State.NOT_YET
    choice = OutlineChoice(family="hidden_tang_spear")  # as the sample begins
    at_outline.document.begin(replace(at_outline.document.job, outline=choice))
    assert buttons[Step.OUTLINE].state is State.NOT_YET
    click(qtbot, at_outline.steps.outline.panel.next_button)
    assert buttons[Step.OUTLINE].state is State.DONE
    at_outline.files.new_job()
    at_outline.go(Step.OUTLINE)
    assert buttons[Step.OUTLINE].state is State.NOT_YET
    at_outline.steps.outline._choose("hidden_tang_spear")
    assert buttons[Step.OUTLINE].state is State.DONE


def test_a_shape_that_grows_out_of_the_picture_is_brought_back_into_it(
    at_outline: MainWindow,
) -> None:
    step, view = at_outline.steps.outline, at_outline.bench.view
    scale = view.px_a_unit
    step._tell_value("blade_length", 96.0)
    assert view.px_a_unit == scale  # there was room for that
    length = step.panel.rows["blade_length"].parameter
    for share in range(1, 11):
        step._tell_value("blade_length", 96.0 + (length.high - 96.0) * share / 10)
        assert view.visible_rect().contains(step.scene.content)
    assert view.px_a_unit < scale
    step._tell_value("blade_length", 95.0)
    at_rest = view.viewportTransform()
    view.zoom(3.0)  # who looks at a part of it keeps that
    near = view.px_a_unit
    step._tell_value("blade_length", length.high)
    assert view.px_a_unit == near
    assert view.viewportTransform() != at_rest


def test_an_outline_longer_than_the_piece_is_told_in_the_foot(
    window: MainWindow, billet_path: Path
) -> None:
    window.go(Step.STEEL)
    window.files.open_path(billet_path)
    window.go(Step.OUTLINE)
    foot = window.verdict.words
    assert "not placed on it yet" in foot.text()  # 208 mm on a bar of 240
    window.steps.outline._choose("kitchen_chef")
    x0, _, x1, _ = family_named("kitchen_chef").outline().bounds_mm
    assert x1 - x0 > 240  # else this test tells nothing
    assert f"The outline is {x1 - x0:.1f} mm long; your piece is 240.0 mm." in foot.text()
    window.use_unit("in")
    assert f"is {(x1 - x0) / 25.4:.2f} in long; your piece is 9.45 in." in foot.text()


def test_tab_into_the_list_leaves_it_where_it_is_scrolled_and_chooses_nothing(
    at_outline: MainWindow,
) -> None:
    shapes = at_outline.steps.outline.panel.list
    job = replace(
        at_outline.document.job, outline=OutlineChoice(drawing=family_named(DROP).outline())
    )
    at_outline.document.change(job, "Draw")
    bar = shapes.verticalScrollBar()
    bar.setValue(bar.maximum())
    assert bar.value() > 0
    shapes.setFocus(Qt.FocusReason.TabFocusReason)
    assert bar.value() == bar.maximum()
    assert shapes.currentRow() == -1
    assert at_outline.document.job == job

"""The outline step: shapes with their sizes, what is said where the hand is, the piece's shape."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.document.gallery import MainSizes, main_sizes
from app.document.job import OutlineChoice
from app.files.outline_file import write_outline
from app.files.own_families import own_families, save_family
from app.gui.canvas.axes import scene_point
from app.gui.canvas.tag import Tag
from app.gui.panels.shape_list import HEADING, SIZES
from app.gui.rail import State, Step
from app.gui.window import MainWindow
from geometry.family import built_in_families, family_named
from geometry.pose import Pose
from tests.app.gui.hands import click, on_canvas

DROP = "full_tang_drop_point"
LIES = Pose(x_mm=120.0, y_mm=80.0, theta_rad=math.radians(23))


@pytest.fixture(scope="session")
def traced_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A piece that is a drop point, lying askew."""
    shape = LIES.shape(family_named(DROP).outline().polygon())
    path = tmp_path_factory.mktemp("pieces") / "traced.json"
    rings = [[list(point) for point in ring.coords[:-1]] for ring in shape.interiors]
    outer = [list(point) for point in shape.exterior.coords[:-1]]
    path.write_text(json.dumps({"units": "mm", "outline": outer, "holes": rings}))
    return path


@pytest.fixture
def at_outline(window: MainWindow) -> MainWindow:
    window.go(Step.OUTLINE)
    return window


@pytest.fixture
def shaping(window: MainWindow, traced_path: Path) -> MainWindow:
    window.go(Step.STEEL)
    window.steps.steel.open_billet(traced_path)
    window.go(Step.OUTLINE)
    window.steps.outline.panel.piece_button.click()
    return window


def tags(window: MainWindow) -> dict[str, tuple[float, float]]:
    """Places of the parts that are named on the canvas, in scene units."""
    items = window.steps.outline.scene.items()
    found = {item._lines[0]: item.pos() for item in items if isinstance(item, Tag)}
    return {name: (pos.x(), pos.y()) for name, pos in found.items()}


def lying(place: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the drop point's own frame lies in the scene."""
    spot = scene_point(tuple(LIES.points([place])[0].tolist()))
    return spot.x(), spot.y()


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


def test_the_parts_of_the_piece_are_proposed_and_named(shaping: MainWindow) -> None:
    found = tags(shaping)
    assert found["tip"] == pytest.approx(lying((86.0, 15.0)), abs=0.1)
    assert found["heel"] == pytest.approx(lying((0.0, 0.0)), abs=0.1)
    assert math.dist(found["butt"], lying((-122.0, 8.2))) < 3.0
    assert {"tip", "butt", "heel", "spine"} <= set(found)


def test_the_piece_becomes_the_outline(shaping: MainWindow, idle: Callable[..., None]) -> None:
    panel = shaping.steps.outline.panel
    panel.shaping.take.click()
    idle(shaping, "shaping")
    drawing = shaping.document.job.outline.drawing
    assert drawing is not None
    true = family_named(DROP).outline()
    assert drawing.area_mm2 == pytest.approx(true.area_mm2, rel=1e-3)
    assert len(drawing.holes) == len(true.holes)
    assert not panel.shaping.isVisible()
    assert panel.open_button.isVisible()
    shaping.document.stack.undo()
    assert shaping.document.job.outline.family == DROP


def test_a_place_that_is_pointed_at_is_taken(qtbot: QtBot, shaping: MainWindow) -> None:
    panel = shaping.steps.outline.panel
    panel.shaping.point_at["heel"].click()
    assert "heel" in shaping.verdict.words.text()
    at = scene_point(tuple(LIES.points([(30.0, 0.0)])[0].tolist()))
    click_at = on_canvas(shaping, at)
    qtbot.mouseClick(shaping.bench.view.viewport(), Qt.MouseButton.LeftButton, pos=click_at)
    assert tags(shaping)["heel"] == pytest.approx(lying((30.0, 0.0)), abs=0.5)
    assert not panel.shaping.point_at["heel"].isChecked()
    assert "heel" not in shaping.verdict.words.text()


def test_the_other_end_becomes_the_tip_when_it_is_pointed_at(
    qtbot: QtBot, shaping: MainWindow
) -> None:
    butt = tags(shaping)["butt"]
    shaping.steps.outline.panel.shaping.point_at["tip"].click()
    at = shaping.bench.view.viewportTransform().map(QPoint(round(butt[0]), round(butt[1])))
    qtbot.mouseClick(shaping.bench.view.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert math.dist(tags(shaping)["tip"], butt) < 3.0
    assert tags(shaping)["butt"] == pytest.approx(lying((86.0, 15.0)), abs=0.1)


def test_a_place_far_off_is_told_and_nothing_changes(qtbot: QtBot, shaping: MainWindow) -> None:
    step = shaping.steps.outline
    before = tags(shaping)
    step.panel.shaping.point_at["butt"].click()
    step.shaping._picked(scene_point((900.0, 900.0)))
    assert "is not at the shape's edge" in step.panel.message
    assert tags(shaping) == before


def test_the_spine_goes_to_the_other_side(shaping: MainWindow) -> None:
    before = tags(shaping)
    click_button = shaping.steps.outline.panel.shaping.over
    click_button.click()
    after = tags(shaping)
    axis = (before["tip"][0] - before["butt"][0], before["tip"][1] - before["butt"][1])

    def side(place: tuple[float, float]) -> float:
        return math.copysign(
            1.0,
            axis[0] * (place[1] - before["butt"][1]) - axis[1] * (place[0] - before["butt"][0]),
        )

    assert side(before["spine"]) != side(after["spine"])
    assert side(after["heel"]) != side(after["spine"])
    click_button.click()
    assert tags(shaping)["spine"] == pytest.approx(before["spine"])


def test_a_heel_that_was_pointed_at_is_there_again_when_the_spine_comes_back(
    shaping: MainWindow,
) -> None:
    step = shaping.steps.outline
    step.panel.shaping.point_at["heel"].click()
    step.shaping._picked(scene_point(tuple(LIES.points([(30.0, 0.0)])[0].tolist())))
    before = tags(shaping)
    assert before["heel"] == pytest.approx(lying((30.0, 0.0)), abs=0.5)
    step.panel.shaping.over.click()
    assert math.dist(tags(shaping)["heel"], before["heel"]) > 5.0
    step.panel.shaping.over.click()
    assert tags(shaping) == before


def test_leaving_the_step_or_pressing_escape_puts_the_pointing_away(
    qtbot: QtBot, shaping: MainWindow
) -> None:
    panel = shaping.steps.outline.panel
    panel.shaping.point_at["tip"].click()
    QTest.keyClick(shaping, Qt.Key.Key_Escape)
    assert shaping.bench.view.pick is None
    assert panel.shaping.isVisible()
    shaping.go(Step.LAYOUT)
    shaping.go(Step.OUTLINE)
    assert not panel.shaping.isVisible()
    assert shaping.document.job.outline.family == DROP
    assert not tags(shaping).keys() & {"tip", "butt", "heel", "spine"}


def test_leave_it_keeps_the_outline(qtbot: QtBot, shaping: MainWindow) -> None:
    click(qtbot, shaping.steps.outline.panel.shaping.leave_it)
    assert shaping.document.job.outline.family == DROP
    assert shaping.steps.outline.panel.list.isVisible()


def test_a_drawing_is_turned_by_its_tip_and_butt(
    qtbot: QtBot, at_outline: MainWindow, idle: Callable[..., None], tmp_path: Path
) -> None:
    """A drawing from elsewhere lies as it was drawn; its curves stay what they are."""
    true = family_named(DROP).outline()
    path = tmp_path / "askew.json"
    write_outline(replace(true, stations=(), marks=()).moved(LIES), path)
    at_outline.files.open_path(path)
    idle(at_outline, "drawing")
    panel = at_outline.steps.outline.panel
    assert panel.turn_button.isVisible()
    panel.turn_button.click()
    assert panel.shaping.isVisible()
    assert not panel.list.isVisible()
    qtbot.keyClick(at_outline, Qt.Key.Key_Escape)
    assert panel.list.isVisible()
    panel.turn_button.click()
    at_outline.document.stack.undo()  # the drawing goes, and its turning with it
    assert not panel.shaping.isVisible()
    at_outline.document.stack.redo()
    panel.turn_button.click()
    assert tags(at_outline)["tip"] == pytest.approx(lying((86.0, 15.0)), abs=0.1)
    panel.shaping.take.click()
    idle(at_outline, "shaping")
    drawing = at_outline.document.job.outline.drawing
    assert drawing is not None
    assert [type(piece) for piece in drawing.chain] == [type(piece) for piece in true.chain]
    assert drawing.area_mm2 == pytest.approx(true.area_mm2)
    heel = next(station for station in drawing.stations if station.name == "heel")
    assert (heel.x_mm, heel.y_mm) == pytest.approx((0.0, 0.0), abs=1e-9)
    at_outline.document.stack.undo()
    at_outline.document.stack.undo()
    assert not panel.turn_button.isVisible()


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

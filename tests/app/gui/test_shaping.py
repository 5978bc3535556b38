"""A piece, or a drawing, becomes the outline by its parts: proposed, pointed at, dragged."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.files.outline_file import write_outline
from app.gui.canvas.axes import scene_point
from app.gui.canvas.tag import Tag
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import family_named
from geometry.part_doubts import HEEL, SPINE, TIP
from geometry.pose import Pose
from tests.app.gui.hands import click, drag, on_canvas

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
    """Places of the parts that are named on the canvas, doubted or not, in scene units."""
    items = window.steps.outline.scene.items()
    found = {item._lines[0]: item.pos() for item in items if isinstance(item, Tag)}
    return {name.removesuffix("?"): (pos.x(), pos.y()) for name, pos in found.items()}


def words(window: MainWindow) -> set[str]:
    """The names on the canvas as they are written."""
    items = window.steps.outline.scene.items()
    return {item._lines[0] for item in items if isinstance(item, Tag)}


def lying(place: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the drop point's own frame lies in the scene."""
    spot = scene_point(tuple(LIES.points([place])[0].tolist()))
    return spot.x(), spot.y()


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


def test_a_mark_that_is_dragged_moves_its_part(qtbot: QtBot, shaping: MainWindow) -> None:
    start = on_canvas(shaping, QPointF(*tags(shaping)["heel"]))
    to = on_canvas(shaping, QPointF(*lying((30.0, 0.0))))
    drag(qtbot, shaping, start, to - start)
    qtbot.wait(20)
    assert tags(shaping)["heel"] == pytest.approx(lying((30.0, 0.0)), abs=0.5)
    assert shaping.document.stack.count() == 1  # the piece: nothing is made yet


def test_a_mark_that_is_dragged_far_off_goes_back(qtbot: QtBot, shaping: MainWindow) -> None:
    before = tags(shaping)
    start = on_canvas(shaping, QPointF(*before["tip"]))
    drag(qtbot, shaping, start, QPoint(0, 400))  # 90 mm and more
    qtbot.wait(20)
    assert "is not at the shape's edge" in shaping.steps.outline.panel.message
    assert tags(shaping) == before


def test_what_is_doubted_is_said_and_marked_until_it_is_pointed_at(
    window: MainWindow, billet_path: Path
) -> None:
    """A plain bar shows neither tip nor edge."""
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    panel.piece_button.click()
    assert {"tip?", "butt", "heel?", "spine?"} <= words(window)
    assert panel.shaping.doubts.text().splitlines() == [TIP, SPINE, HEEL]
    panel.shaping.point_at["tip"].click()
    window.steps.outline.shaping._picked(scene_point((240.0, 25.0)))
    panel.shaping.point_at["heel"].click()
    window.steps.outline.shaping._picked(scene_point((130.0, 0.0)))
    assert {"tip", "butt", "heel", "spine"} <= words(window)
    assert not panel.shaping.doubts.isVisible()


def test_the_shaping_of_a_piece_ends_when_the_piece_is_taken_back(shaping: MainWindow) -> None:
    step, before = shaping.steps.outline, shaping.document.job.outline
    shaping.document.stack.undo()
    assert shaping.document.job.billet is None
    assert not step.shaping.is_on
    assert not step.panel.shaping.isVisible()
    assert "no longer there" in step.panel.message
    shaping.document.stack.redo()
    assert not step.shaping.is_on
    assert shaping.document.job.outline == before


def test_the_shaping_of_a_piece_ends_when_the_piece_is_changed_and_only_then(
    shaping: MainWindow, idle: Callable[..., None]
) -> None:
    step, job = shaping.steps.outline, shaping.document.job
    shaping.document.change(replace(job, margin_mm=3.0), "Change the margin")
    assert step.shaping.is_on
    step.panel.shaping.take.click()
    assert job.billet is not None
    thinner = replace(job.billet, thickness_mm=3.0)
    shaping.document.change(replace(shaping.document.job, billet=thinner), "Measure it anew")
    idle(shaping, "shaping")
    assert not step.shaping.is_on
    assert shaping.document.job.outline == job.outline  # the answer for the old piece is dropped
    assert "piece is another one now" in step.panel.message


def test_a_drawing_is_turned_on_whatever_becomes_of_the_piece(
    shaping: MainWindow, idle: Callable[..., None]
) -> None:
    step = shaping.steps.outline
    step.panel.shaping.take.click()
    idle(shaping, "shaping")
    step.marking.begin_drawing()
    job = shaping.document.job
    shaping.document.change(replace(job, billet=None), "Take the piece away")
    assert step.shaping.is_on


def point(window: MainWindow, name: str, place: tuple[float, float]) -> None:
    """Point at a part, by its place in the drop point's own frame."""
    window.steps.outline.panel.shaping.point_at[name].click()
    window.steps.outline.shaping._picked(scene_point(tuple(LIES.points([place])[0].tolist())))


def test_undo_takes_back_the_marks_one_by_one_and_then_goes_back_in_the_history(
    shaping: MainWindow,
) -> None:
    proposed, undo, redo = tags(shaping), shaping.undoing.undo, shaping.undoing.redo
    point(shaping, "heel", (30.0, 0.0))
    one = tags(shaping)
    shaping.steps.outline.panel.shaping.over.click()
    two = tags(shaping)
    assert undo.text() == "Undo turn the spine"
    QTest.keyClick(shaping, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert tags(shaping) == one
    assert (undo.text(), redo.text()) == ("Undo mark the heel", "Redo turn the spine")
    undo.trigger()
    assert tags(shaping) == proposed
    assert shaping.steps.outline.shaping.is_on
    redo.trigger()
    redo.trigger()
    assert tags(shaping) == two
    undo.trigger()
    undo.trigger()
    assert shaping.document.job.billet is not None
    undo.trigger()
    assert shaping.document.job.billet is None
    assert "no longer there" in shaping.steps.outline.panel.message
    assert "marks" not in shaping.steps.outline.panel.message


def test_marks_are_there_again_after_the_marking_was_left_however_it_was(
    qtbot: QtBot, shaping: MainWindow
) -> None:
    step = shaping.steps.outline
    point(shaping, "heel", (30.0, 0.0))
    marked = tags(shaping)

    def by_undo() -> None:
        shaping.document.stack.undo()
        shaping.document.stack.redo()

    ways = (step.panel.shaping.leave_it.click, lambda: shaping.go(Step.LAYOUT), by_undo)
    for number, leave in enumerate(ways):
        leave()
        assert not step.shaping.is_on
        qtbot.wait(20)
        assert shaping.current is not None
        said = shaping.steps.at(shaping.current).base_panel.message
        assert ("“Shape of the piece…” in the step Outline goes on" in said) == (number < 2)
        shaping.go(Step.OUTLINE)
        step.panel.piece_button.click()
        assert tags(shaping) == marked
        assert "as you left them" in step.panel.message
    shaping.undoing.undo.trigger()
    assert tags(shaping) != marked


def test_marks_of_another_piece_are_not_taken_up(shaping: MainWindow) -> None:
    proposed = tags(shaping)
    point(shaping, "heel", (30.0, 0.0))
    shaping.steps.outline.panel.shaping.leave_it.click()
    job = shaping.document.job
    assert job.billet is not None
    other = replace(job, billet=replace(job.billet, thickness_mm=3.0))
    shaping.document.change(other, "Measure it anew")
    shaping.steps.outline.panel.piece_button.click()
    assert tags(shaping) == proposed


def test_leaving_the_step_before_anything_is_made_of_the_piece_is_told(
    qtbot: QtBot, shaping: MainWindow
) -> None:
    shaping.steps.outline.panel.next_button.click()
    qtbot.wait(20)
    assert shaping.steps.layout.panel.message.startswith("The outline is still what it was:")


def test_marks_of_the_piece_outlast_those_of_a_drawing(
    shaping: MainWindow, idle: Callable[..., None]
) -> None:
    point(shaping, "heel", (30.0, 0.0))
    marked, panel = tags(shaping), shaping.steps.outline.panel
    panel.shaping.take.click()
    idle(shaping, "shaping")
    panel.turn_button.click()
    shaping.steps.outline.panel.shaping.over.click()
    panel.shaping.leave_it.click()
    panel.piece_button.click()
    assert tags(shaping) == marked

"""What calipers say of the steel and what the pen stood off, told in the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, Qt
from pytestqt.qtbot import QtBot

from app.document.wording import offset_words, pen_words
from app.gui.canvas.photo_scene import reference_name
from app.gui.canvas.sheet_scene import sides_mm
from app.gui.rail import Step
from app.gui.window import MainWindow
from calibration.calibrate import FoundReference
from calibration.pens import Pen
from calibration.references import (
    CrossReference,
    LineReference,
    RectangleReference,
    Reference,
    SheetReference,
)
from calibration.sizes import SteelSize
from geometry.stand_off import Offset
from tests.app.gui.hands import enter_afresh, photo

pytestmark = pytest.mark.usefixtures("pens_folder")
BIRO = Pen(name="biro", offset_mm=0.5, sigma_mm=0.1, thickness_mm=5.0)


def click_on_photo(qtbot: QtBot, window: MainWindow, x: float, y: float) -> None:
    view = window.bench.view
    spot = view.viewportTransform().map(QPointF(x, y)).toPoint()
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=spot)


def test_sizes_of_the_whole_piece_are_told_changed_and_taken_back(
    qtbot: QtBot, opened: MainWindow
) -> None:
    calipers = opened.steps.photo.panel.calipers
    assert not calipers.correct.isEnabled()  # by nothing
    enter_afresh(qtbot, calipers.whole["length"][1], "230.5")
    enter_afresh(qtbot, calipers.whole["width"][1], "1.64 in")
    assert {one.kind: one.true_mm for one in photo(opened).sizes} == pytest.approx(
        {"length": 230.5, "width": 41.656}  # 1.64 x 25.4
    )
    calipers.correct.click()
    assert photo(opened).correct_offset
    enter_afresh(qtbot, calipers.whole["width"][1], "")
    enter_afresh(qtbot, calipers.whole["length"][1], "")
    assert photo(opened).sizes == ()
    assert not photo(opened).correct_offset
    assert not calipers.correct.isChecked()
    opened.document.stack.undo()
    assert photo(opened).correct_offset
    assert calipers.whole["length"][1].text() == "230.5 mm"
    assert calipers.correct.isChecked()


def test_a_width_is_typed_and_its_two_places_are_pointed_at(
    qtbot: QtBot, opened: MainWindow
) -> None:
    panel = opened.steps.photo.panel
    row, field, point = panel.calipers.between[0]
    assert row.isVisible()
    assert not panel.calipers.between[1][0].isVisible()
    point.click()
    assert "Type what the calipers read first" in panel.message
    enter_afresh(qtbot, field, "41")  # asks for the places at once
    assert point.isChecked()
    assert "one jaw" in panel.sentence.text()
    for x, y in ((2200.0, 1195.0), (2225.0, 1480.0)):
        click_on_photo(qtbot, opened, x, y)
    [size] = photo(opened).sizes
    assert (size.kind, size.true_mm) == ("between", 41.0)
    assert size.ends_px is not None
    assert size.ends_px[0] == pytest.approx((2200.0, 1195.0), abs=30)  # on the ink near by
    assert not point.isChecked()
    assert panel.calipers.between[1][0].isVisible()
    enter_afresh(qtbot, field, "41.2")
    [changed] = photo(opened).sizes
    assert changed == replace(size, true_mm=41.2)  # its places stay
    enter_afresh(qtbot, field, "")
    assert photo(opened).sizes == ()
    opened.document.stack.undo()
    assert photo(opened).sizes == (changed,)


def test_pointing_that_is_left_tells_nothing(qtbot: QtBot, opened: MainWindow) -> None:
    panel = opened.steps.photo.panel
    _, field, point = panel.calipers.between[0]
    enter_afresh(qtbot, field, "41")
    click_on_photo(qtbot, opened, 2200.0, 1195.0)
    qtbot.keyClick(opened.bench.view, Qt.Key.Key_Escape)
    assert not point.isChecked()
    assert photo(opened).sizes == ()
    assert field.text() == ""  # nothing is shown as told that was not


def test_each_size_is_answered_and_corrects_the_trace(
    qtbot: QtBot, opened: MainWindow, idle: Callable[..., None]
) -> None:
    """The sample's trace is 42.6 wide; calipers say 41.6: half a millimetre all round."""
    panel, calipers = opened.steps.photo.panel, opened.steps.photo.panel.calipers
    enter_afresh(qtbot, calipers.whole["width"][1], "41.6")
    panel.main.click()
    idle(opened, "measure")
    said = calipers.whole["width"][0].said
    assert said.startswith("Photo: 42.")
    assert "too large (doubt" in said
    assert calipers.together.text().startswith("They tell a trace 0.")
    assert "taken off" not in calipers.together.text()
    assert calipers.isVisible()  # the answer stands where it was asked
    panel.folds.open(None)
    assert "What calipers say does not agree" in panel.result.text()
    assert "calipers 41.60" not in panel.notes.text()  # said once, where it was told
    calipers.correct.click()
    assert calipers.whole["width"][0].said == said  # kept, and marked as of another measure
    assert "measure again" in panel.sentence.text()
    assert panel.main.text() == "Measure again"
    panel.main.click()
    idle(opened, "measure")
    assert "they agree within" in calipers.whole["width"][0].said
    assert "That is taken off" in calipers.together.text()
    assert "What calipers say agrees." in panel.result.text()
    panel.main.click()
    assert opened.current is Step.STEEL
    job = opened.document.job
    assert sides_mm(job.billet)[1] == pytest.approx(41.6, abs=0.1)
    budget = opened.steps.steel.panel.budget
    assert budget.isVisible()
    assert budget.rows["pen's stand-off, taken off"].startswith("± 0.")
    assert job.billet.too_large_mm == 0.0


def test_what_is_left_too_large_is_told_with_its_sign_in_the_steel_step(
    qtbot: QtBot, opened: MainWindow, idle: Callable[..., None]
) -> None:
    panel = opened.steps.photo.panel
    panel.main.click()
    idle(opened, "measure")
    panel.main.click()
    steel = opened.steps.steel.panel
    assert "Likely 0.70 mm" not in steel.trust.text()
    enter_afresh(qtbot, steel.thickness, "5")
    assert steel.trust.text().startswith("Likely 0.70 mm too large all round")  # 0.2 + 0.1 x 5
    # practice: 0.15 and 0.07 a mm of thickness, in squares: 0.381; give or take is twice that
    assert "all round, give or take 0.76 mm" in steel.trust.text()
    pen = steel.budget.rows["pen's stand-off, not measured"]
    assert pen == "0.70 mm too large\n± 0.76 mm"
    assert steel.budget.rows["together"].startswith("0.70 mm too large\n± 0.")
    assert opened.derived.measure_is_current(opened.document.job)
    opened.use_unit("in")
    assert "Likely 0.028 in too large" in steel.trust.text()  # 0.7 / 25.4
    opened.document.stack.undo()  # the unit
    opened.document.stack.undo()
    assert "Likely 0.70 mm" not in steel.trust.text()


def test_other_things_that_are_drawn_are_told(qtbot: QtBot, opened: MainWindow) -> None:
    panel, drawn = opened.steps.photo.panel, opened.steps.photo.panel.drawn
    panel.folds.heads["More drawn"].click()
    assert not panel.calipers.isVisible()
    enter_afresh(qtbot, drawn.rectangle, "250 x 100")
    enter_afresh(qtbot, drawn.cross, "6 x 4 in")
    enter_afresh(qtbot, drawn.sheet, "300 x 210")
    (row1, line1, mark1), (row2, line2, _) = drawn.lines[:2]
    assert row1.isVisible()
    assert not row2.isVisible()
    enter_afresh(qtbot, line1, "100")
    assert row2.isVisible()
    enter_afresh(qtbot, line2, "50")
    told = photo(opened).references
    first, second, third = (one for one in told if isinstance(one, LineReference))
    assert (first.length_mm, second.length_mm, third.length_mm) == (152.4, 100.0, 50.0)
    assert RectangleReference(width_mm=250.0, height_mm=100.0) in told
    [cross] = (one for one in told if isinstance(one, CrossReference))
    assert (cross.first_mm, cross.second_mm) == pytest.approx((152.4, 101.6))  # 6 and 4 x 25.4
    assert SheetReference(width_mm=300.0, height_mm=210.0) in told
    mark1.click()
    for x, y in ((2000.0, 2300.0), (2400.0, 2310.0)):
        click_on_photo(qtbot, opened, x, y)
    lines = [one for one in photo(opened).references if isinstance(one, LineReference)]
    assert [line.ends_px is not None for line in lines] == [False, True, False]
    enter_afresh(qtbot, line1, "")
    lines = [one for one in photo(opened).references if isinstance(one, LineReference)]
    assert [line.length_mm for line in lines] == [152.4, 50.0]
    enter_afresh(qtbot, drawn.sheet, "")
    assert SheetReference(width_mm=300.0, height_mm=210.0) not in photo(opened).references


def test_a_size_is_part_of_the_job(opened: MainWindow, qtbot: QtBot, tmp_path: Path) -> None:
    enter_afresh(qtbot, opened.steps.photo.panel.calipers.whole["length"][1], "230.5")
    assert photo(opened).sizes == (SteelSize(kind="length", true_mm=230.5),)
    assert opened.document.stack.undoText() == "tell a size of the steel"


@pytest.mark.parametrize(
    ("reference", "in_mm", "in_inches"),
    [
        (LineReference(length_mm=152.4), "line 152.4 mm", "line 6 in"),
        (
            RectangleReference(width_mm=254.0, height_mm=101.6),
            "rectangle 254 x 101.6 mm",
            "rectangle 10 x 4 in",
        ),
        (
            CrossReference(first_mm=152.4, second_mm=101.6),
            "crossed lines 152.4 x 101.6 mm",
            "crossed lines 6 x 4 in",
        ),
        (SheetReference(width_mm=279.4, height_mm=215.9), "sheet Letter", "sheet Letter"),
        (
            SheetReference(width_mm=304.8, height_mm=203.2),
            "sheet 304.8 x 203.2 mm",
            "sheet 12 x 8 in",
        ),
    ],
)
def test_references_are_named_on_the_photo_in_the_unit_in_use(
    reference: Reference, in_mm: str, in_inches: str
) -> None:
    found = FoundReference(
        reference=reference, name="", points_px=((0.0, 0.0),), measured_mm=(1.0,), residual_mm=0.0
    )
    assert reference_name(found, "mm") == in_mm
    assert reference_name(found, "in") == in_inches


@pytest.mark.parametrize("title", ["More drawn", "The piece", "Calipers"])
def test_tab_walks_down_the_open_page(qtbot: QtBot, opened: MainWindow, title: str) -> None:
    panel = opened.steps.photo.panel
    if not panel.folds.heads[title].isChecked():
        panel.folds.heads[title].click()
    panel.line.setFocus()
    passed = [panel.line]
    while passed[-1] is not panel.main and len(passed) < 40:
        qtbot.keyClick(passed[-1], Qt.Key.Key_Tab)
        focused = opened.focusWidget()
        if not panel.isAncestorOf(focused):
            break
        passed.append(focused)
    below = [one for one in passed if one is not panel.main]
    heights = [one.mapTo(panel, one.rect().center()).y() for one in below]
    assert heights == sorted(heights)
    assert set(panel.folds.heads.values()) <= set(below)
    page = panel.folds.page
    assert page is not None
    assert sum(page.isAncestorOf(one) for one in below) >= 3


def test_sizes_that_agree_say_so_and_a_pen_that_stands_off_nothing_too() -> None:
    told = offset_words(
        Offset(value_mm=-0.003, sigma_mm=0.095), Offset(value_mm=-0.003, sigma_mm=0.1), "mm"
    )
    assert told == "The sizes agree: nothing to take off, give or take 0.19 mm."  # 2 x 0.095
    words = pen_words(Pen(name="biro", offset_mm=0.0, sigma_mm=0.1), "mm")
    assert words.startswith("biro: traces come out in the steel's own size, give or take 0.20 mm")

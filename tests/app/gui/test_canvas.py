"""The canvas: true scale, zoom to the cursor, pan, and what is drawn where."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QWheelEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.document.job import OutlineChoice
from app.gui.canvas.axes import pose_transform, scene_point, sheet_point
from app.gui.canvas.rulers import major_step
from app.gui.canvas.sheet_scene import outline_path
from app.gui.rail import Step
from app.gui.theme import DARK, LIGHT, contrast, theme
from app.gui.window import MainWindow
from geometry.outline import Hole, outline_from_rings
from geometry.pose import Pose

EDGE_PX = 5.0  # the edge's own line covers about two pixels of steel at each side
PLATE = outline_from_rings("plate", [(0, 0), (100, 0), (100, 20), (0, 20)])


@pytest.fixture
def plate(window: MainWindow, billet_path: Path, qapp: QApplication) -> MainWindow:
    """A plate of 100 x 20 mm lying at x 10 to 110, y 15 to 35 on a bar of 240 x 50 mm."""
    window.go(Step.STEEL)
    window.steps.steel.open_billet(billet_path)
    job = replace(
        window.document.job,
        outline=OutlineChoice(drawing=PLATE),
        pose=Pose(x_mm=10.0, y_mm=15.0),
    )
    window.document.change(job, "Lay a plate down")
    window.go(Step.LAYOUT)
    qapp.processEvents()
    return window


def picture(window: MainWindow) -> np.ndarray:
    image = window.bench.view.viewport().grab().toImage()
    image = image.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), -1)
    return rows[:, : 3 * image.width()].reshape(image.height(), image.width(), 3).astype(int)


def near(window: MainWindow, spot_mm: tuple[float, float], tone: str, within: int = 12) -> bool:
    """Return whether a place of the sheet is shown in about a colour."""
    at = window.bench.view.viewportTransform().map(scene_point(spot_mm)).toPoint()
    shown = picture(window)[at.y(), at.x()]
    wanted = [int(tone[i : i + 2], 16) for i in (1, 3, 5)]
    return bool(np.abs(shown - wanted).max() <= within)


@pytest.mark.parametrize("appearance", ["light", "dark"])
def test_steel_and_paper_are_where_they_belong(plate: MainWindow, appearance: str) -> None:
    theme().choose(appearance)
    try:
        tones = theme().tones
        assert tones is {"light": LIGHT, "dark": DARK}[appearance]
        assert near(plate, (200.0, 25.0), tones.steel)
        assert near(plate, (-4.0, 25.0), tones.paper)
        assert near(plate, (120.0, 60.0), tones.paper)
        assert not near(plate, (40.0, 25.0), tones.steel)  # the blank tints the steel
    finally:
        theme().choose("system")


def test_the_scale_on_the_screen_is_the_same_across_and_up(plate: MainWindow) -> None:
    shown = picture(plate)
    steel = [int(theme().tones.steel[i : i + 2], 16) for i in (1, 3, 5)]
    mask = np.abs(shown - steel).max(axis=2) <= 6
    columns = np.flatnonzero(mask.sum(axis=0) > 10)  # letters have pixels of that grey too
    rows = np.flatnonzero(mask.sum(axis=1) > 40)
    px_a_mm = plate.bench.view.px_a_unit
    assert np.ptp(columns) / px_a_mm == pytest.approx(240.0, abs=EDGE_PX / px_a_mm)
    assert np.ptp(rows) / px_a_mm == pytest.approx(50.0, abs=EDGE_PX / px_a_mm)


def test_the_wheel_zooms_about_the_cursor(plate: MainWindow, qapp: QApplication) -> None:
    view = plate.bench.view
    at = QPointF(200.0, 240.0)
    before, scale = view.scene_at(at), view.px_a_unit
    wheel = QWheelEvent(
        at,
        view.viewport().mapToGlobal(at),
        QPoint(),
        QPoint(0, 240),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    qapp.sendEvent(view.viewport(), wheel)
    after = view.scene_at(at)
    assert view.px_a_unit == pytest.approx(scale * 1.44)  # two notches of 1.2
    assert math.dist(before.toTuple(), after.toTuple()) * view.px_a_unit <= 1.5  # pixels


def test_the_middle_button_pans(qtbot: QtBot, plate: MainWindow) -> None:
    view = plate.bench.view
    spot = view.scene_at(QPointF(300, 200))
    canvas = view.viewport()
    qtbot.mousePress(canvas, Qt.MouseButton.MiddleButton, pos=QPoint(300, 200))
    qtbot.mouseMove(canvas, QPoint(360, 170))
    qtbot.mouseRelease(canvas, Qt.MouseButton.MiddleButton, pos=QPoint(360, 170))
    moved = view.viewportTransform().map(spot)
    assert (moved.x(), moved.y()) == pytest.approx((360, 170), abs=1.0)


@given(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4))
def test_scene_and_sheet_are_each_others_inverse(x_mm: float, y_mm: float) -> None:
    assert sheet_point(scene_point((x_mm, y_mm))) == (x_mm, y_mm)
    assert scene_point((x_mm, y_mm)).y() == -y_mm  # up on the sheet is up on the screen


@given(
    st.floats(-300, 300),
    st.floats(-300, 300),
    st.floats(-7, 7),
    st.booleans(),
    st.floats(0.2, 5),
)
def test_a_drawn_blank_lies_where_the_pose_says(
    x_mm: float, y_mm: float, theta_rad: float, mirrored: bool, scale: float
) -> None:
    pose = Pose(x_mm=x_mm, y_mm=y_mm, theta_rad=theta_rad, mirrored=mirrored, scale=scale)
    for spot in ((0.0, 0.0), (100.0, 7.0), (-13.0, 20.0)):
        drawn = sheet_point(pose_transform(pose).map(scene_point(spot)))
        assert drawn == pytest.approx(pose.points([spot])[0], abs=1e-6)


@given(st.floats(0.02, 300), st.sampled_from(["mm", "in"]))
def test_ruler_numbers_have_room_and_are_round(px_per_unit: float, unit: str) -> None:
    step, count = major_step(px_per_unit, unit)
    assert step * px_per_unit >= 70 or step == 100  # px; the coarsest step of inches
    if unit == "mm":
        assert step / 10 ** math.floor(math.log10(step) + 1e-9) == pytest.approx(
            round(step / 10 ** math.floor(math.log10(step) + 1e-9))
        )
    elif step < 1:
        assert math.log2(step) == int(math.log2(step))  # halves, quarters, eighths ...
    assert count == 1 or step * px_per_unit / count >= 5


def test_a_step_that_was_drawn_in_other_colours_is_drawn_again(
    plate: MainWindow, qapp: QApplication
) -> None:
    assert near(plate, (200, 10), LIGHT.steel)
    plate.go(Step.OUTLINE)
    theme().choose("dark")
    plate.go(Step.LAYOUT)
    qapp.processEvents()
    try:
        assert near(plate, (200, 10), DARK.steel)
    finally:
        theme().choose("system")


def test_a_box_that_is_not_checked_can_be_seen(plate: MainWindow, qapp: QApplication) -> None:
    box = plate.steps.layout.panel.let_size
    assert not box.isChecked()
    for appearance, tones in (("light", LIGHT), ("dark", DARK)):
        theme().choose(appearance)
        qapp.processEvents()
        image = box.grab().toImage()
        middle = image.height() // 2
        shown = {image.pixelColor(x, middle).name().upper() for x in range(1, 22)}
        theme().choose("system")
        best = max(contrast(name, tones.panel) for name in shown)
        assert best >= 3.0  # WCAG 2.1, 1.4.11: parts of a control


@pytest.mark.parametrize("scale", [0.5, 1.0, 2.0])
def test_a_drilled_hole_keeps_its_size_on_a_scaled_blank(scale: float) -> None:
    """Scaled with the blank, the drawn hole is the drill's 6 mm again."""
    pin = Hole(x_mm=50.0, y_mm=10.0, diameter_mm=6.0, kind="pin")
    outline = replace(PLATE, holes=(pin,))
    rings = outline_path(outline, scale).toSubpathPolygons()
    widths = [ring.boundingRect().width() * scale for ring in rings]
    heights = [ring.boundingRect().height() * scale for ring in rings]
    round_one = [w for w, h in zip(widths, heights, strict=True) if w > 1 and abs(w - h) < 1e-6]
    assert round_one == [pytest.approx(6.0)]

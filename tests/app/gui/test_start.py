"""The window opens without the heavy libraries, and every control has a name."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QLineEdit, QListWidget, QPushButton, QSlider
from pytestqt.qtbot import QtBot
from shapely import Polygon

from app.gui.rail import Step
from app.gui.start_page import drawn_example
from app.gui.window import MainWindow
from geometry.family import built_in_families, family_named

OPEN = """
import sys
from PySide6.QtWidgets import QApplication
app = QApplication([])
from app.gui.theme import theme
theme()
from app.gui.window import MainWindow
window = MainWindow()
window.show()
app.processEvents()
heavy = {"scipy", "ezdxf", "reportlab", "cv2", "pydantic", "contourpy"}
print(sorted(heavy & set(sys.modules)))
later = {"app.gui.steps.outline", "app.gui.steps.layout", "app.gui.steps.pattern"}
print(sorted(later & set(sys.modules)))
"""


def test_the_window_opens_without_heavy_libraries_and_later_steps() -> None:
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [sys.executable, "-c", OPEN], capture_output=True, text=True, env=environment, check=True
    )
    assert done.stdout.split() == ["[]", "[]"]


def test_every_control_has_a_name_for_screen_readers(window: MainWindow) -> None:
    for step in Step:
        if step is not Step.PHOTO:
            window.go(step)
    kinds = (QPushButton, QLineEdit, QComboBox, QSlider, QListWidget)
    controls = [one for kind in kinds for one in window.findChildren(kind) if not one.isHidden()]
    assert len(controls) > 40
    buddies = {
        label.buddy() for label in window.findChildren(type(window.verdict.words)) if label.buddy()
    }
    nameless = [one for one in controls if not one.accessibleName() and one not in buddies]
    assert nameless == []


def test_the_first_page_shows_a_real_blank_inside_its_steel(window: MainWindow, idle) -> None:
    sketch = window.start.sketch
    QTest.qWait(20)
    idle(window, "example")
    bounds = built_in_outline_bounds()
    drawn = sketch.blank.boundingRect()
    assert drawn.width() / drawn.height() == pytest.approx(
        (bounds[2] - bounds[0]) / (bounds[3] - bounds[1]), rel=0.01
    )
    piece, blank = drawn_example()
    clear_mm = Polygon(piece).exterior.distance(Polygon(blank).exterior)
    assert clear_mm == pytest.approx(8.0, abs=0.1)  # grown by 22, shrunk by 14
    assert Polygon(piece).contains(Polygon(blank))


def built_in_outline_bounds() -> tuple[float, float, float, float]:
    return family_named("full_tang_drop_point").outline().polygon().bounds


def test_shapes_are_drawn_at_one_scale(window: MainWindow, qtbot: QtBot) -> None:
    window.go(Step.OUTLINE)
    shapes = window.steps.outline.panel.list
    families = built_in_families()
    assert shapes.count() == len(families)
    qtbot.waitUntil(lambda: not shapes.item(shapes.count() - 1).icon().isNull())
    px_a_mm = []
    for row, family in enumerate(families):
        image = shapes.item(row).icon().pixmap(shapes.iconSize()).toImage()
        inked = [
            x
            for x in range(image.width())
            if any(image.pixelColor(x, y).alpha() > 128 for y in range(image.height()))
        ]
        x0, _, x1, _ = family.outline().polygon().bounds
        share = (inked[-1] - inked[0] + 1) / image.width()
        px_a_mm.append(share * shapes.iconSize().width() / (x1 - x0))
    assert max(px_a_mm) / min(px_a_mm) < 1.03
    assert min(px_a_mm) > 0.75  # a knife of 210 mm is more than half the panel wide


def test_every_step_fits_on_a_small_screen(window: MainWindow) -> None:
    window.resize(1366, 768 - 60)  # less a title bar and a panel of the desktop
    for step in Step:
        window.go(step)
        panel = window.steps.at(step).base_panel
        assert panel.minimumSizeHint().height() <= 768 - 60 - window.verdict.height()

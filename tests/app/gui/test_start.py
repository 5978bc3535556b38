"""The window opens without the heavy libraries, and every control has a name."""

from __future__ import annotations

import os
import subprocess
import sys

from PySide6.QtWidgets import QComboBox, QLineEdit, QListWidget, QPushButton, QSlider

from app.gui.rail import Step
from app.gui.window import MainWindow

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
"""


def test_the_window_opens_without_heavy_libraries() -> None:
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(
        [sys.executable, "-c", OPEN], capture_output=True, text=True, env=environment, check=True
    )
    assert done.stdout.strip() == "[]"


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


def test_every_step_fits_on_a_small_screen(window: MainWindow) -> None:
    window.resize(1366, 768 - 60)  # less a title bar and a panel of the desktop
    for step in Step:
        window.go(step)
        panel = window.steps[step].base_panel
        assert panel.minimumSizeHint().height() <= 768 - 60 - window.verdict.height()

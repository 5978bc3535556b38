"""One measure of a shape in the panel: what its field shows, and that all of it is seen."""

from __future__ import annotations

import pytest

from app.gui.panels.measure_row import MeasureField
from app.gui.rail import Step
from app.gui.window import MainWindow
from geometry.family import Parameter


def parameter(low: float, high: float) -> Parameter:
    return Parameter(
        key="length", label="Length", unit="mm", default=high, low=low, high=high, help="."
    )


@pytest.mark.parametrize(
    ("high", "value", "shown"),
    [
        (150.0, 113.0172, "113 mm"),  # traced: the slider goes by tenths
        (150.0, 26.2656, "26.3 mm"),
        (150.0, 113.02, "113.02 mm"),  # told so
        (102.0, 100.5172, "100.52 mm"),  # a short range goes by hundredths
    ],
)
def test_a_field_shows_no_more_than_its_slider_unless_it_was_told(
    window: MainWindow, high: float, value: float, shown: str
) -> None:
    field = MeasureField(parameter(100.0, high))
    field.show_value(value)
    assert field.text() == shown
    assert field.value == value


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_the_whole_length_is_seen_in_its_field(window: MainWindow, unit: str) -> None:
    window.go(Step.OUTLINE)
    panel = window.steps.outline.panel
    panel.blade_tab.click()
    window.use_unit(unit)  # type: ignore[arg-type]
    window.steps.outline._tell_value("blade_length", 113.02)
    row = panel.rows["blade_length"]
    room = row.field.width() - 2 * (6 + 2) - 4  # padding and frame of the style, and the caret
    assert row.field.fontMetrics().horizontalAdvance(row.field.text()) <= room
    assert row.field.geometry().right() <= panel.width() - 20
    assert row.slider.width() >= 60

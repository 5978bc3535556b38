"""While the hand is at a measure, the canvas shows what it moves."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject

from app.document.families import chosen_family
from app.document.lengths import Unit, format_length
from app.document.measure_step import MeasureStep, measure_step
from app.gui.canvas.measure_scene import clear_measure, draw_measure
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.panels.measure_row import measure_words
from app.gui.panels.outline import OutlinePanel
from app.gui.steps.step import Desk
from geometry.errors import ToolError
from geometry.family import Parameter


class MeasureShown(QObject):
    """Draws what the measure at hand moves.

    Parameters
    ----------
    desk : Desk
    panel : OutlinePanel
        Tells which measure the hand or the keyboard is at.
    scene : SheetScene
        Where the outline is drawn.
    may_draw : callable
        Whether the outline alone is there.
    """

    def __init__(
        self, desk: Desk, panel: OutlinePanel, scene: SheetScene, may_draw: Callable[[], bool]
    ) -> None:
        super().__init__(desk.window)
        self._desk, self._scene, self._may_draw = desk, scene, may_draw
        self._key = ""
        panel.attention.told.connect(self._attend)

    def _attend(self, key: str) -> None:
        self._key = key
        self.draw()

    def draw(self) -> None:
        """Draw it anew, or take it away."""
        clear_measure(self._scene)
        if not self._key or not self._may_draw():
            return
        job = self._desk.document.job
        try:
            step = measure_step(job.outline, chosen_family(job.outline), self._key)
        except ToolError:
            return  # the step says what is wrong with the shape
        if step is not None:
            heading = _heading(step, dict(job.outline.values), job.unit)
            px_a_mm = self._desk.bench.view.px_a_unit
            said = measure_words(step.parameter, job.unit)
            draw_measure(self._scene, step.moved, heading, said, px_a_mm)


def _heading(step: MeasureStep, told: dict[str, float], unit: Unit) -> str:
    parameter = step.parameter
    now = told.get(parameter.key, parameter.default)
    return (
        f"{parameter.label} {_value(parameter, now, unit)}; "
        f"dashed: {_value(parameter, step.value, unit)}"
    )


def _value(parameter: Parameter, value: float, unit: Unit) -> str:
    """Return a measure's value in words."""
    if parameter.unit == "mm":
        return format_length(value, unit, decimals=1 if unit == "mm" else 2)
    if parameter.whole:
        return f"{value:.0f}"
    return f"{value:.1f}°" if parameter.unit == "deg" else f"{value:.2f}"

"""One measure of a shape: its name, a slider and a field."""

from __future__ import annotations

import math

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QLabel, QWidget

from app.document.lengths import MM_PER, Unit, parse_length_mm
from app.gui.choice import Slide
from app.gui.length_field import AngleField, LengthField, NumberField
from app.gui.panels.panel import Panel, words
from geometry.errors import InputError
from geometry.family import Parameter

SLIDER_STEPS = 400
WIDEST, FIELD_FRAME_PX = "888.88 mm", 22  # of a field: what it has to show, and what is round it
TOLD_MM = 1e-9  # a length this near to hundredths was told in them
HANDLE_WORDS = {
    "handle", "tang", "pin", "lanyard", "butt", "guard", "hole", "ring", "bolster",
    "bolt", "cord", "lightening", "shoulder",
}  # fmt: skip


class MeasurePanel(Panel):
    """A panel with measures.

    Attributes
    ----------
    value_told : Signal
        A measure's key and its value.
    gesture_began : Signal
        The next values belong to one pull of a slider.
    """

    value_told = Signal(str, float)
    gesture_began = Signal()


class ParameterRow:
    """One measure: its name, a slider and a field.

    Parameters
    ----------
    parameter : Parameter
        The measure.
    panel : MeasurePanel
        Told of changes.
    """

    def __init__(self, parameter: Parameter, panel: MeasurePanel) -> None:
        self.parameter = parameter
        self.name = QLabel(parameter.label)
        self.name.setWordWrap(True)
        self.name.setFixedWidth(112)
        self.slider = Slide(Qt.Orientation.Horizontal)
        self.slider.setRange(0, SLIDER_STEPS)
        self.slider.setAccessibleName(parameter.label)
        self.field = _field_for(parameter)
        self.field.ensurePolished()  # in the letters of the window
        width = self.field.fontMetrics().horizontalAdvance(WIDEST) + FIELD_FRAME_PX
        self.field.setFixedWidth(width)
        self.field.set_check(self._check)
        self.slider.sliderPressed.connect(panel.gesture_began)
        self.slider.valueChanged.connect(self._slid)
        self.field.edited.connect(lambda value: panel.value_told.emit(parameter.key, value))
        self.field.refused.connect(self.say)
        self.said = words("", "message")
        self.said.hide()
        self._in_tab = False
        self._panel = panel
        self._unit: Unit = "mm"
        self._quiet = False

    def show_value(self, value: float, unit: Unit) -> None:
        """Show a value without telling of it."""
        self._unit = unit
        for part in self.parts:  # the canvas writes it out for those who see
            part.setAccessibleDescription(measure_words(self.parameter, unit))
        if isinstance(self.field, LengthField):
            self.field.set_unit(unit)
        self.field.show_value(value)
        self._quiet = True
        self.slider.setValue(round((value - self._low) / self._span * SLIDER_STEPS))
        self._quiet = False

    def say(self, message: str) -> None:
        """Say something below the measure; an empty text takes it away."""
        self.said.setText(message)
        self.said.setVisible(self._in_tab and bool(message))

    def show_in_tab(self, shown: bool) -> None:
        """Show the measure with what is said of it, or hide both."""
        self._in_tab = shown
        for part in self.parts:
            part.setVisible(shown)
        self.said.setVisible(shown and bool(self.said.text()))

    def _check(self, value: float) -> None:
        """Raise InputError, in the words and the unit of the field, for a value out of range."""
        parameter = self.parameter
        try:
            parameter.checked(value, parameter.label)
        except InputError as error:
            raise InputError(
                "it must be a whole number."
                if self._low <= value <= parameter.high
                else "that is out of its range.",
                where=parameter.label,
                remedy=f"Give {range_words(parameter, self._unit)}.",
            ) from error

    @property
    def parts(self) -> tuple[QWidget, ...]:
        """Name, slider and field, from left to right."""
        return self.name, self.slider, self.field

    @property
    def _low(self) -> float:
        return self.parameter.low

    @property
    def _span(self) -> float:
        return (self.parameter.high - self.parameter.low) or 1.0

    def _slid(self, position: int) -> None:
        if self._quiet:
            return
        if not self.slider.isSliderDown():
            self._panel.gesture_began.emit()  # by key: a step of its own
        value = self._low + self._span * position / SLIDER_STEPS
        self._panel.value_told.emit(self.parameter.key, _rounded(value, self.parameter))


class MeasureField(LengthField):
    """A length with no more decimals than its slider has, unless it was told with them."""

    def __init__(self, parameter: Parameter) -> None:
        super().__init__(parameter.label)
        self._slider_places = _places(parameter)

    def _words(self, value: float) -> tuple[str, str]:
        text, other = super()._words(value)
        if self._unit == "mm" and abs(round(value, 2) - value) > TOLD_MM:
            text, _ = super()._words(round(value, self._slider_places))
        return text, other


def is_of_handle(parameter: Parameter) -> bool:
    """Return whether a measure shapes the handle, by its name."""
    return not HANDLE_WORDS.isdisjoint(parameter.key.split("_"))


def _field_for(parameter: Parameter) -> NumberField:
    if parameter.unit == "mm":
        return MeasureField(parameter)
    return AngleField(parameter.label) if parameter.unit == "deg" else NumberField(parameter.label)


def measure_words(parameter: Parameter, unit: Unit) -> str:
    """Return what there is to know of a measure: what it does, and its range."""
    return f"{parameter.help} Range: {range_words(parameter, unit)}."


def range_words(parameter: Parameter, unit: Unit) -> str:
    """Return a measure's range in the unit in use: ``60 to 150 mm``, ``2.363 to 5.905 in``."""
    if parameter.unit != "mm" or unit == "mm":
        return parameter.range_text
    low = math.ceil(parameter.low / MM_PER[unit] * 1000) / 1000  # inwards: both ends can be typed
    high = math.floor(parameter.high / MM_PER[unit] * 1000) / 1000
    return f"{low:g} to {high:g} {unit}"


def range_told(text: str, parameter: Parameter, unit: Unit) -> tuple[float, float]:
    """Return the range that a person wrote as `range_words` has it; InputError if it is none.

    Examples
    --------
    >>> length = Parameter(
    ...     key="a", label="A", unit="mm", default=80.0, low=60.0, high=90.0, help="."
    ... )
    >>> range_told("60 to 150 mm", length, "mm"), range_told("2 to 4 in", length, "mm")
    ((60.0, 150.0), (50.8, 101.6))
    """
    low, between, high = text.partition(" to ")
    if not between:
        raise InputError(
            f"“{text}” is no range.", where=parameter.label, remedy="Write it like 60 to 150."
        )
    if parameter.unit == "mm":
        ends = high.strip().lstrip("0123456789.,/ -")  # the unit behind the last holds for both
        first = low if low.strip()[-1:].isalpha() or not ends else f"{low} {ends}"
        return tuple(  # type: ignore[return-value]
            parse_length_mm(each, unit=unit, where=parameter.label) for each in (first, high)
        )
    try:
        return float(low.rstrip("° ")), float(high.rstrip("° "))
    except ValueError as error:
        raise InputError(
            f"“{text}” is no range.", where=parameter.label, remedy="Write it like 0.2 to 0.5."
        ) from error


def _rounded(value: float, parameter: Parameter) -> float:
    """Return a slider's value rounded as far as its range is felt."""
    if parameter.whole:
        return float(round(value))
    return min(max(round(value, _places(parameter)), parameter.low), parameter.high)


def _places(parameter: Parameter) -> int:
    """Return how many decimals are felt over a range."""
    return 2 if parameter.high - parameter.low < 5 else 1

"""The panel of the outline step: a family and its measures, or a drawing from a file."""

from __future__ import annotations

import math

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QGridLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QScrollArea,
    QSlider,
    QWidget,
)

from app.document.job import OutlineChoice
from app.document.lengths import MM_PER, Unit
from app.gui.canvas.axes import scene_shape
from app.gui.length_field import AngleField, LengthField, NumberField
from app.gui.panels.panel import Panel, button, words
from app.gui.theme import colour
from geometry.errors import InputError, ToolError
from geometry.family import Family, Parameter
from geometry.outline import Outline

CHOOSE = "Choose a shape and change its measures, or open a drawing."
SLIDER_STEPS = 400
THUMB = QSize(96, 34)
THUMB_MM = 360.0  # what the thumbnails' common scale shows; a longer outline is shrunk
HANDLE_WORDS = {"handle", "tang", "pin", "lanyard", "butt", "guard", "hole", "ring", "bolster"}


class ParameterRow:
    """One measure: its name, a slider and a field.

    Parameters
    ----------
    parameter : Parameter
        The measure.
    panel : OutlinePanel
        Told of changes.
    """

    def __init__(self, parameter: Parameter, panel: OutlinePanel) -> None:
        self.parameter = parameter
        self.name = QLabel(parameter.label)
        self.name.setWordWrap(True)
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setRange(0, SLIDER_STEPS)
        self.slider.setAccessibleName(parameter.label)
        self.field = _field_for(parameter)
        self.field.setFixedWidth(78)
        self.field.set_check(self._check)
        self.slider.sliderPressed.connect(panel.gesture_began)
        self.slider.valueChanged.connect(self._slid)
        self.field.edited.connect(lambda value: panel.value_told.emit(parameter.key, value))
        self.field.refused.connect(lambda words: panel.say(words))
        self._panel = panel
        self._unit: Unit = "mm"
        self._quiet = False

    def show_value(self, value: float, unit: Unit) -> None:
        """Show a value without telling of it."""
        self._unit = unit
        for part in (self.name, self.slider):
            part.setToolTip(f"{self.parameter.help} ({range_words(self.parameter, unit)})")
        if isinstance(self.field, LengthField):
            self.field.set_unit(unit)
        self.field.show_value(value)
        self._quiet = True
        self.slider.setValue(round((value - self._low) / self._span * SLIDER_STEPS))
        self._quiet = False

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
    def _low(self) -> float:
        return self.parameter.low

    @property
    def _span(self) -> float:
        return (self.parameter.high - self.parameter.low) or 1.0

    def _slid(self, position: int) -> None:
        if self._quiet:
            return
        if not self.slider.isSliderDown():
            self._panel.gesture_began.emit()  # by key or wheel: a step of its own
        value = self._low + self._span * position / SLIDER_STEPS
        self._panel.value_told.emit(self.parameter.key, _rounded(value, self.parameter))


class OutlinePanel(Panel):
    """Controls of the outline step.

    Attributes
    ----------
    family_told : Signal
        The key of the chosen family.
    value_told : Signal
        A measure's key and its value.
    gesture_began : Signal
        The next values belong to one pull of a slider.
    open_asked, usual_asked : Signal
        Open a drawing; take the usual measures again.
    """

    family_told = Signal(str)
    value_told = Signal(str, float)
    gesture_began = Signal()
    open_asked = Signal()
    usual_asked = Signal()

    def __init__(self) -> None:
        super().__init__("Outline", CHOOSE, "Next: layout", way_on_is_main=True)
        self.list = QListWidget()
        self.list.setAccessibleName("Shapes")
        self.list.setIconSize(THUMB)
        self.list.setFixedHeight(118)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setTextElideMode(Qt.TextElideMode.ElideNone)
        self.list.currentItemChanged.connect(self._chosen)
        self.column.addWidget(self.list)
        self.open_button = button("Open a drawing…", tip="DXF, SVG or an outline file")
        self.open_button.clicked.connect(self.open_asked)
        self.usual = button("Usual measures", tip="Take the shape's own measures again")
        self.usual.clicked.connect(self.usual_asked)
        self.add_buttons(self.open_button, self.usual)
        self.blade_tab, self.handle_tab = button("Blade"), button("Handle")
        tabs = QButtonGroup(self)
        for tab in (self.blade_tab, self.handle_tab):
            tab.setCheckable(True)
            tabs.addButton(tab)
            tab.clicked.connect(self._show_tab)
        self.blade_tab.setChecked(True)
        self.add_buttons(self.blade_tab, self.handle_tab)
        self._grid_home = QWidget()
        self._grid = QGridLayout(self._grid_home)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnStretch(1, 1)
        self._grid.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._grid_home.setObjectName("measures")
        self._grid_home.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._scroll = QScrollArea()
        self._scroll.setWidget(self._grid_home)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # its fields take the focus
        self.column.addWidget(self._scroll, 1)
        self._about = words("", "quiet")
        self.column.addWidget(self._about)
        self.rows: dict[str, ParameterRow] = {}
        self._family = ""
        self._to_draw: list[tuple[int, Family]] = []

    def show_families(self, families: tuple[Family, ...]) -> None:
        """List the shapes with thumbnails at one common scale."""
        self.list.blockSignals(True)
        kept = self.list.currentRow()
        self.list.clear()
        for family in families:
            item = QListWidgetItem(family.name)
            item.setSizeHint(QSize(0, THUMB.height() + 4))
            item.setData(Qt.ItemDataRole.UserRole, family.key)
            item.setToolTip(" ".join(family.notes.split()))
            self.list.addItem(item)
        self.list.setCurrentRow(kept)
        self.list.blockSignals(False)
        self._to_draw = list(enumerate(families))
        self._draw_next()

    def _draw_next(self) -> None:
        """Draw one thumbnail, and the next when the window has had its turn."""
        if self._to_draw:
            row, family = self._to_draw.pop(0)
            item = self.list.item(row)
            if item is not None:
                item.setIcon(_thumbnail(family))
            QTimer.singleShot(0, self, self._draw_next)

    def show_choice(self, choice: OutlineChoice, family: Family | None, unit: Unit) -> None:
        """Show which shape it is, with its measures."""
        self._show_current(choice)
        key = "" if family is None else family.key
        if key != self._family:
            self._family = key
            self._build_rows(family)
        told = dict(choice.values)
        for row in self.rows.values():
            row.show_value(told.get(row.parameter.key, row.parameter.default), unit)
        drawn = family is None
        for part in (self.blade_tab, self.handle_tab, self.usual, self._grid_home):
            part.setVisible(not drawn)
        self.usual.setEnabled(bool(told))
        name = choice.drawing.name if choice.drawing is not None else ""
        self._about.setText(
            f"From a drawing: {name}. Its lines are kept as drawn." if drawn else ""
        )
        self._about.setVisible(drawn)

    def _show_current(self, choice: OutlineChoice) -> None:
        self.list.blockSignals(True)
        rows = range(self.list.count())
        keys = [self.list.item(row).data(Qt.ItemDataRole.UserRole) for row in rows]
        found = keys.index(choice.family) if choice.family in keys else -1
        if found != self.list.currentRow():
            self.list.setCurrentRow(found)
        self.list.blockSignals(False)

    def _build_rows(self, family: Family | None) -> None:
        for row in self.rows.values():
            for part in (row.name, row.slider, row.field):
                self._grid.removeWidget(part)
                part.hide()
                part.deleteLater()
        self.rows = {}
        for parameter in () if family is None else family.parameters:
            self.rows[parameter.key] = ParameterRow(parameter, self)
        for index, row in enumerate(self.rows.values()):
            self._grid.addWidget(row.name, index, 0)
            self._grid.addWidget(row.slider, index, 1)
            self._grid.addWidget(row.field, index, 2)
            row.name.setFixedWidth(112)
        self._show_tab()

    def _show_tab(self) -> None:
        handle = self.handle_tab.isChecked()
        for row in self.rows.values():
            shown = is_of_handle(row.parameter) == handle
            for part in (row.name, row.slider, row.field):
                part.setVisible(shown)

    def _chosen(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self.family_told.emit(item.data(Qt.ItemDataRole.UserRole))


def is_of_handle(parameter: Parameter) -> bool:
    """Return whether a measure shapes the handle, by its name."""
    return not HANDLE_WORDS.isdisjoint(parameter.key.split("_"))


def _field_for(parameter: Parameter) -> NumberField:
    if parameter.unit == "mm":
        return LengthField(parameter.label)
    return AngleField(parameter.label) if parameter.unit == "deg" else NumberField(parameter.label)


def range_words(parameter: Parameter, unit: Unit) -> str:
    """Return a measure's range in the unit in use: ``60 to 150 mm``, ``2.363 to 5.905 in``."""
    if parameter.unit != "mm" or unit == "mm":
        return parameter.range_text
    low = math.ceil(parameter.low / MM_PER[unit] * 1000) / 1000  # inwards: both ends can be typed
    high = math.floor(parameter.high / MM_PER[unit] * 1000) / 1000
    return f"{low:g} to {high:g} {unit}"


def _rounded(value: float, parameter: Parameter) -> float:
    """Return a slider's value rounded as far as its range is felt."""
    if parameter.whole:
        return float(round(value))
    places = 2 if parameter.high - parameter.low < 5 else 1
    return min(max(round(value, places), parameter.low), parameter.high)


def _thumbnail(family: Family) -> QIcon:
    ratio = 2.0
    picture = QPixmap(THUMB * ratio)
    picture.setDevicePixelRatio(ratio)
    picture.fill(Qt.GlobalColor.transparent)
    try:
        outline: Outline = family.outline()
    except ToolError:
        return QIcon(picture)
    shape = outline.polygon(0.2)
    x0, y0, x1, y1 = shape.bounds
    scale = min(THUMB.width() / THUMB_MM, THUMB.width() * 0.98 / (x1 - x0))
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(2.0, THUMB.height() / 2)
    painter.scale(scale, scale)
    painter.translate(-x0, (y0 + y1) / 2)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour("steel_edge"))
    painter.drawPath(scene_shape(shape))
    painter.end()
    icon = QIcon(picture)
    icon.addPixmap(picture, QIcon.Mode.Selected)
    return icon

"""The panel of the layout step: where the blank lies, and the rules that it keeps."""

from __future__ import annotations

import math

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QStackedWidget, QVBoxLayout, QWidget

from app.document.job import Job
from app.document.lengths import format_length
from app.gui.check_box import CheckBox
from app.gui.length_field import AngleField, LengthField, NumberField
from app.gui.panels.advice_page import AdvicePage
from app.gui.panels.panel import Panel, Waiting, button, make_main, stacked, words
from geometry.errors import InputError
from geometry.pose import Pose

DRAG = "Drag the blank, or let the search find the roomiest place."
GIVE_TIP = "Where it does not fit: the smallest changes of its measures that make it fit"
FAR_MM = 5000.0
KEYS = (
    "On the canvas, arrow keys move the blank by {} and brackets turn it by 0.1°; "
    "with Shift ten times as far."
)
NUDGE_MM = 0.1


class LayoutPanel(Panel):
    """Controls of the layout step."""

    roomiest_asked = Signal()
    settle_asked = Signal()
    largest_asked = Signal()
    placed = Signal(str, float)  # "x_mm", "y_mm", "angle_deg" or "size_percent", and its value
    mirrored = Signal(bool)
    unlocked = Signal(bool)
    turning_over_allowed = Signal(bool)
    margin_told = Signal(float)
    advice_asked = Signal()

    def __init__(self) -> None:
        super().__init__("Layout", DRAG, "Next: pattern")
        self._fits = False
        self.roomiest = button("Find the roomiest place", primary=True)
        self.roomiest.clicked.connect(self.roomiest_asked)
        self.settle = button("Settle here", tip="The roomiest place close to where it lies now")
        self.settle.clicked.connect(self.settle_asked)
        self.largest = button("Largest that fits", tip="Grow or shrink it until the margin is met")
        self.largest.clicked.connect(self.largest_asked)
        self.give = button("What must give?", tip=GIVE_TIP)
        self.give.clicked.connect(self.advice_asked)
        searches = stacked((self.settle, self.largest), (self.give,), (self.roomiest,))
        self.waiting = Waiting("Searching", searches)
        self.foot.addWidget(searches)
        self.foot.addWidget(self.waiting)
        self.advice = AdvicePage()
        self._add_pages()
        self._add_position()
        self._add_rules()
        self._keys = words("", "quiet")
        self.column.addWidget(self._keys)
        self.column.addStretch(1)

    def _add_pages(self) -> None:
        """Let what must give take the place of position and rules for a while."""
        facts = QWidget()
        self._pages = QStackedWidget()
        self._pages.addWidget(facts)
        self._pages.addWidget(self.advice)
        self.column.addWidget(self._pages, 1)
        spacing = self.column.spacing()
        self.column = QVBoxLayout(facts)  # groups and rows are added there from here on
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(spacing)

    def show_advice(self, on: bool) -> None:
        """Show what must give, or position and rules again."""
        self._pages.setCurrentIndex(int(on))

    @property
    def shows_advice(self) -> bool:
        """Whether what must give is shown."""
        return self._pages.currentWidget() is self.advice

    def _add_position(self) -> None:
        self.add_group("Position")
        self.x_field = LengthField("Position x", decimals=2)
        self.y_field = LengthField("Position y", decimals=2)
        self.angle_field = AngleField("Angle")
        self.size_field = NumberField("Size in percent")
        self.size_field.set_check(_require_size)
        self.x_field.set_check(_require_near)
        self.y_field.set_check(_require_near)
        self._add_places()
        self.other_face = CheckBox("other face up (mirrored)")
        self.other_face.clicked.connect(self.mirrored)
        self.let_size = CheckBox("let size change")
        self.let_size.clicked.connect(self.unlocked)
        self.column.addWidget(self.other_face)
        self.column.addWidget(self.let_size)
        self._size_label = self.add_row("size in %", self.size_field)
        self.size_field.edited.connect(lambda value: self.placed.emit("size_percent", value))

    def _add_places(self) -> None:
        """Put place and angle side by side, each below its name."""
        grid = QGridLayout()
        grid.setSpacing(6)
        for column, (label, field, key) in enumerate(
            (
                ("x", self.x_field, "x_mm"),
                ("y", self.y_field, "y_mm"),
                ("angle", self.angle_field, "angle_deg"),
            )
        ):
            name = QLabel(label)
            name.setProperty("kind", "quiet")
            name.setBuddy(field)
            grid.addWidget(name, 0, column)
            grid.addWidget(field, 1, column)
            field.edited.connect(lambda value, key=key: self.placed.emit(key, value))
            field.refused.connect(lambda text: self.say(text))
        self.column.addLayout(grid)

    def _add_rules(self) -> None:
        self.add_group("Rules")
        self.margin = LengthField("Margin to the edge")
        self.margin.set_check(_require_margin)
        self.margin.edited.connect(self.margin_told)
        self.add_row("margin to the edge", self.margin)
        self.turn_over = CheckBox("the search may turn it over")
        self.turn_over.clicked.connect(self.turning_over_allowed)
        self.column.addWidget(self.turn_over)

    def show_job(
        self, job: Job, pose: Pose | None, *, found: bool = False, fits: bool = False
    ) -> None:
        """Show where the blank lies; where a place for it was found, the way on comes next."""
        self._fits = fits
        self._keys.setText(KEYS.format(format_length(NUDGE_MM, job.unit)))
        make_main(self.roomiest, not found)
        make_main(self.next_button, found)
        for field in (self.x_field, self.y_field, self.margin):
            field.set_unit(job.unit)
        self.x_field.show_value(None if pose is None else pose.x_mm)
        self.y_field.show_value(None if pose is None else pose.y_mm)
        self.angle_field.show_value(None if pose is None else angle_deg(pose))
        self.size_field.show_value(None if pose is None else round(100 * pose.scale, 2))
        self.other_face.setChecked(pose is not None and pose.mirrored)
        self.let_size.setChecked(not job.size_locked)
        for part in (self.size_field, self._size_label):
            part.setVisible(not job.size_locked)
        self.margin.show_value(job.margin_mm)
        self.turn_over.setChecked(job.mirror_allowed)
        self.show_busy(self.waiting.is_on, able=pose is not None)
        self.next_button.setEnabled(pose is not None)

    def show_busy(self, busy: bool, *, able: bool) -> None:
        """Let the searches be asked for while none runs."""
        for one in (self.roomiest, self.settle, self.largest):
            one.setEnabled(able and not busy)
        self.give.setEnabled(able and not busy and not self._fits)
        for field in (
            self.x_field,
            self.y_field,
            self.angle_field,
            self.size_field,
            self.other_face,
            self.let_size,
        ):
            field.setEnabled(able)


def angle_deg(pose: Pose) -> float:
    """Return a pose's angle in degrees, above -180 and up to 180."""
    turned = math.degrees(pose.theta_rad) % 360.0
    return turned - 360.0 if turned > 180.0 else turned


def _require_margin(value_mm: float) -> None:
    if not 0 <= value_mm <= 50:
        raise InputError(
            "a margin is 0 to 50 mm.", where="Margin", remedy="1 mm is usual, more for a saw cut."
        )


def _require_near(value_mm: float) -> None:
    if abs(value_mm) > FAR_MM:
        raise InputError(
            "that is far off the steel.", where="Position", remedy="Check the number and its unit."
        )


def _require_size(percent: float) -> None:
    if not 20 <= percent <= 500:
        raise InputError("a size is 20 to 500 %.", where="Size", remedy="100 is as drawn.")

"""The panel of the outline step: a family and its measures, or a drawing from a file."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QGridLayout,
    QScrollArea,
    QStackedWidget,
    QWidget,
)

from app.document.job import OutlineChoice
from app.document.lengths import Unit
from app.gui.panels.measure_row import MeasurePanel, ParameterRow, is_of_handle
from app.gui.panels.panel import button, side_by_side, words
from app.gui.panels.shape_list import ShapeList
from geometry.family import Family

CHOOSE = "Choose a shape and change its measures, or open a drawing."


class OutlinePanel(MeasurePanel):
    """Controls of the outline step.

    Attributes
    ----------
    family_told : Signal
        The key of the chosen family.
    open_asked, usual_asked : Signal
        Open a drawing; take the usual measures again.
    """

    family_told = Signal(str)
    open_asked = Signal()
    usual_asked = Signal()

    def __init__(self) -> None:
        super().__init__("Outline", CHOOSE, "Next: layout", way_on_is_main=True)
        self._add_tabs()
        self.list = ShapeList()
        self.list.told.connect(self.family_told)
        self._about = words("", "quiet")
        self.column.addWidget(self._about)
        self._pages = QStackedWidget()
        self._pages.addWidget(self.list)
        self._pages.addWidget(self._measures())
        self.column.addWidget(self._pages, 1)
        self.open_button = button("Open a drawing…", tip="DXF, SVG or an outline file")
        self.open_button.clicked.connect(self.open_asked)
        self.usual = button("Usual measures", tip="Take the shape's own measures again")
        self.usual.clicked.connect(self.usual_asked)
        self.foot.addLayout(side_by_side(self.open_button, self.usual))
        self.rows: dict[str, ParameterRow] = {}
        self._family = ""
        self._show_tab()

    def _add_tabs(self) -> None:
        self.shape_tab, self.blade_tab, self.handle_tab = (
            button(name) for name in ("Shape", "Blade", "Handle")
        )
        tabs = QButtonGroup(self)
        for tab in (self.shape_tab, self.blade_tab, self.handle_tab):
            tab.setCheckable(True)
            tabs.addButton(tab)
            tab.clicked.connect(self._show_tab)
        self.shape_tab.setChecked(True)
        self.add_buttons(self.shape_tab, self.blade_tab, self.handle_tab)

    def _measures(self) -> QWidget:
        home = QWidget()
        home.setObjectName("measures")
        home.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._grid = QGridLayout(home)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(4)
        self._grid.setColumnStretch(1, 1)
        self._grid.setAlignment(Qt.AlignmentFlag.AlignTop)
        scroll = QScrollArea()
        scroll.setWidget(home)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # its fields take the focus
        return scroll

    def show_choice(self, choice: OutlineChoice, family: Family | None, unit: Unit) -> None:
        """Show which shape it is, with its measures."""
        self.list.show_current(choice.family)
        self.list.show_unit(unit)
        key = "" if family is None else family.key
        if key != self._family:
            self._family = key
            self._build_rows(family)
        told = dict(choice.values)
        for row in self.rows.values():
            row.show_value(told.get(row.parameter.key, row.parameter.default), unit)
        drawn = family is None
        if drawn:
            self.shape_tab.setChecked(True)
            self._show_tab()
        for tab in (self.blade_tab, self.handle_tab):
            tab.setEnabled(not drawn)
        self.usual.setEnabled(bool(told))
        name = choice.drawing.name if choice.drawing is not None else ""
        self._about.setText(
            f"From a drawing: {name}. Its lines are kept as drawn." if drawn else ""
        )
        self._about.setVisible(drawn)

    def _build_rows(self, family: Family | None) -> None:
        for row in self.rows.values():
            for part in row.parts:
                self._grid.removeWidget(part)
                part.hide()
                part.deleteLater()
        self.rows = {}
        for parameter in () if family is None else family.parameters:
            self.rows[parameter.key] = ParameterRow(parameter, self)
        for index, row in enumerate(self.rows.values()):
            for column, part in enumerate(row.parts):
                self._grid.addWidget(part, index, column)
        self._order_tabs()
        self._show_tab()

    def _order_tabs(self) -> None:
        """Let Tab go through the measures as they stand, between the tabs and what is below."""
        before: QWidget = self.list
        for row in self.rows.values():
            for part in (row.slider, row.field):
                self.setTabOrder(before, part)
                before = part
        self.setTabOrder(before, self.open_button)

    def _show_tab(self) -> None:
        self._pages.setCurrentIndex(0 if self.shape_tab.isChecked() else 1)
        handle = self.handle_tab.isChecked()
        for row in self.rows.values():
            shown = is_of_handle(row.parameter) == handle
            for part in row.parts:
                part.setVisible(shown)

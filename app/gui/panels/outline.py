"""The panel of the outline step: a shape and its measures, a drawing, or the piece's own shape."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QFrame,
    QGridLayout,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from app.document.job import OutlineChoice
from app.document.lengths import Unit
from app.document.outline_names import NO_MEASURES, drawing_words
from app.gui.choice import Choice
from app.gui.panels.attention import Attention
from app.gui.panels.folds import WIDE_PX, Row
from app.gui.panels.kept_row import KeptRow
from app.gui.panels.measure_row import MeasurePanel, ParameterRow, is_of_handle
from app.gui.panels.own_menu import OwnMenu
from app.gui.panels.panel import button, make_main, stacked, words
from app.gui.panels.points_page import PointsPage
from app.gui.panels.shape_list import ShapeList
from app.gui.panels.shaping_page import OF_DRAWING, OF_PIECE, ShapingPage
from app.gui.panels.wheel_line import wheel_line
from geometry.family import Family

CHOOSE = "Choose a shape and change its measures, or bring in one of your own."
SHAPING = "Say where its parts are; then it becomes the outline."
DRAGGING = "Change the edge by its points; each change can be undone."
DRAG_TIP = "Change the edge by hand; a shape with measures becomes a drawing by it"
USUAL, CHANGED = "usual measures", "measures of this job"
LIST, MEASURES, PIECE, POINTS = range(4)  # pages


class OutlinePanel(MeasurePanel):
    """Controls of the outline step.

    Attributes
    ----------
    family_told : Signal
        The key of the chosen family.
    size_told : Signal
        The name of a size of the family; empty for its usual measures.
    open_asked, usual_asked : Signal
        Open a drawing; take the usual measures again.
    piece_asked, turn_asked : Signal
        Make an outline of the piece; turn the drawing by its tip and butt.
    drag_asked : Signal
        Whether the points of the edge are to be dragged.
    """

    family_told = Signal(str)
    size_told = Signal(str)
    open_asked = Signal()
    usual_asked = Signal()
    piece_asked = Signal()
    turn_asked = Signal()
    drag_asked = Signal(bool)

    def __init__(self) -> None:
        super().__init__("Outline", CHOOSE, "Next: layout", way_on_is_main=True)
        self._add_tabs()
        self.list = ShapeList()
        self.list.told.connect(self.family_told)
        self._add_about()
        self.shaping, self.points = ShapingPage(), PointsPage()
        self.points.left.connect(lambda: self.drag_asked.emit(False))
        self._pages = QStackedWidget()
        for page in (self.list, self._measures_page(), self.shaping, self.points):
            self._pages.addWidget(page)
        self.column.addWidget(self._pages, 1)
        self.wheels = wheel_line()
        self.column.addWidget(self.wheels)
        self._add_foot()
        self.rows: dict[str, ParameterRow] = {}
        self.attention = Attention(self)
        self._family: Family | None = None
        self._work: int | None = None  # the page of something begun, in the place of the shape
        self._show_tab()

    def _add_about(self) -> None:
        """Put what is said and done of a drawing, and of a shape that the job keeps, up here."""
        self._about = words("", "quiet")
        self.turn_button = button(
            OF_DRAWING, tip="Lay the drawing with its tip ahead and its spine up"
        )
        self.turn_button.clicked.connect(self.turn_asked)
        self.drag_buttons = [button("Drag its points", tip=DRAG_TIP) for _ in range(2)]
        for one in self.drag_buttons:
            one.setCheckable(True)
            one.clicked.connect(self.drag_asked)
        self._of_drawing = stacked((self.turn_button, self.drag_buttons[0]))
        self.kept = KeptRow()
        self.column.addWidget(self.kept)
        self.column.addWidget(self._about)
        self.column.addWidget(self._of_drawing)

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

    def _add_foot(self) -> None:
        self.open_button = button("Open a drawing…", tip="DXF, SVG or an outline file")
        self.open_button.clicked.connect(self.open_asked)
        self.piece_button = button(OF_PIECE)
        self.piece_button.clicked.connect(self.piece_asked)
        self.own = OwnMenu()
        self.usual = button("Usual measures", tip="Take the shape's own measures again")
        self.usual.clicked.connect(self.usual_asked)
        self.wheels_button = button(
            "Your wheels…", tip="The wheels of your belt grinder, by diameter"
        )
        self._at_shapes = stacked((self.open_button, self.piece_button))
        self._at_measures = stacked((self.usual, self.drag_buttons[1]))
        self._always = stacked((self.own.button, self.wheels_button))
        for row in (self._at_shapes, self._at_measures, self._always):
            self.foot.addWidget(row)

    def _measures_page(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        self.sizes = Choice()
        self.sizes.setAccessibleName("Size")
        self.sizes.activated.connect(self._tell_size)
        self.sizes.setFixedWidth(WIDE_PX)
        self._size_row = Row("Size", self.sizes)
        column.addWidget(self._size_row)
        column.addWidget(self._measures(), 1)
        return page

    def _measures(self) -> QWidget:
        home = QWidget()
        home.setObjectName("measures")
        home.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._grid = QGridLayout(home)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(8)
        self._grid.setVerticalSpacing(2)
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
        if family is not self._family and family != self._family:
            self._family = family
            self._build_rows(family)
        told = dict(choice.values)
        for row in self.rows.values():
            row.show_value(told.get(row.parameter.key, row.parameter.default), unit)
            row.say("")
        drawn = family is None
        if drawn:
            self.shape_tab.setChecked(True)
            self._show_tab()
        for tab in (self.blade_tab, self.handle_tab):
            tab.setEnabled(not drawn)
            tab.setToolTip(NO_MEASURES if drawn else "")
        self.usual.setEnabled(bool(told))
        self._show_size(choice, family)
        name = choice.drawing.name if choice.drawing is not None else ""
        self._about.setText(drawing_words(name) if drawn else "")
        self._show_about()

    def _show_about(self) -> None:
        for part in (self._about, self._of_drawing):
            part.setVisible(self._family is None and self._work is None)
        self.kept.show_aside(self._work is not None)

    def show_shaping(self, on: bool) -> None:
        """Show the page that makes an outline of the piece, or go back to the shapes."""
        self._show_work(PIECE if on else None, SHAPING if on else CHOOSE)

    def show_dragging(self, on: bool) -> None:
        """Show the page of the edge's points, or go back to the shape."""
        for one in self.drag_buttons:
            one.setChecked(on)
        self._show_work(POINTS if on else None, DRAGGING if on else CHOOSE)

    def _show_work(self, page: int | None, sentence: str) -> None:
        """Show a page in the place of the shape with all that belongs to it; none goes back."""
        on = page is not None
        self._work = page
        self.sentence.setText(sentence)
        self._always.setVisible(not on)
        make_main(self.next_button, page != PIECE)
        for tab in (self.shape_tab, self.blade_tab, self.handle_tab):
            tab.setVisible(not on)
        if page is not None:
            self._pages.setCurrentIndex(page)
            for part in (self.wheels, self._at_shapes, self._at_measures):
                part.hide()
        else:
            self._show_tab()
        self._show_about()

    def say_at(self, key: str, message: str) -> None:
        """Say something of a measure, where the hand is."""
        self.rows[key].say(message)

    def _show_size(self, choice: OutlineChoice, family: Family | None) -> None:
        """Show which of the family's sizes the measures are."""
        sizes = () if family is None else family.sizes
        self._size_row.setVisible(bool(sizes))
        self.sizes.clear()
        self.sizes.addItem(USUAL, "")
        for size in sizes:
            self.sizes.addItem(size.name, size.name)
        at = _size_at(choice, family)
        if at is None:
            self.sizes.addItem(CHANGED, None)
            at = self.sizes.count() - 1
        self.sizes.setCurrentIndex(at)

    def _tell_size(self) -> None:
        name = self.sizes.currentData()
        if name is not None:
            self.size_told.emit(name)

    def _build_rows(self, family: Family | None) -> None:
        self.attention.forget()
        for row in self.rows.values():
            for part in (*row.parts, row.said):
                self._grid.removeWidget(part)
                part.hide()
                part.deleteLater()
        self.rows = {}
        for parameter in () if family is None else family.parameters:
            self.rows[parameter.key] = ParameterRow(parameter, self)
        for index, row in enumerate(self.rows.values()):
            for column, part in enumerate(row.parts):
                self._grid.addWidget(part, 2 * index, column)
                self.attention.watch(part, row.parameter.key)
            self._grid.addWidget(row.said, 2 * index + 1, 0, 1, len(row.parts))
        self._order_tabs()
        self._show_tab()

    def _order_tabs(self) -> None:
        """Let Tab go through the measures as they stand, between the tabs and what is below."""
        of_drawing, of_shape = self.drag_buttons
        order: list[QWidget] = [self.handle_tab, self.kept.take, self.kept.put]
        order += [self.turn_button, of_drawing, self.list]
        order.append(self.sizes)
        for row in self.rows.values():
            order += (row.slider, row.field)
        order += (self.open_button, self.piece_button, self.usual, of_shape)
        order += (self.own.button, self.wheels_button)
        for before, after in pairwise(order):
            self.setTabOrder(before, after)

    def _show_tab(self) -> None:
        if self._work is not None:  # its page stays, whatever is told of the shape meanwhile
            return
        at_shapes = self.shape_tab.isChecked()
        self._pages.setCurrentIndex(LIST if at_shapes else MEASURES)
        self._at_shapes.setVisible(at_shapes)
        self._at_measures.setVisible(not at_shapes)
        self.wheels.setVisible(not at_shapes or self._family is None)
        handle = self.handle_tab.isChecked()
        for row in self.rows.values():
            row.show_in_tab(is_of_handle(row.parameter) == handle)


def _size_at(choice: OutlineChoice, family: Family | None) -> int | None:
    """Return which entry the measures are: 0 the usual ones, else a size; None for neither."""
    if family is None:
        return 0
    measures = {**family.defaults, **dict(choice.values)}
    known = [{}, *(dict(size.values) for size in family.sizes)]
    return next((at for at, v in enumerate(known) if {**family.defaults, **v} == measures), None)

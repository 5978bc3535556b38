"""Something becomes the outline: its tip, butt, heel and spine on the canvas.

The measured piece does, and a drawing from elsewhere that does not lie in the outline frame.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QTimer
from shapely import Polygon

from app.document.lengths import Unit, format_length
from app.document.measured_outline import (
    outline_of_billet,
    steel_of,
    taken_off_sentence,
)
from app.gui.canvas.axes import sheet_point
from app.gui.canvas.node_handles import NodeHandle
from app.gui.canvas.shaped_piece import draw_parts, draw_shape
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.panels.shaping_page import KEPT, NOT_MADE, OF_DRAWING, OF_PIECE, PLACES, ShapingPage
from app.gui.steps.marks import Marks
from app.gui.steps.step import Begun, Desk
from app.gui.worker import Progress, Stop
from geometry.billet import Billet
from geometry.curves import Point
from geometry.errors import ToolError
from geometry.from_contour import framed
from geometry.knife_parts import Parts, Pointed, parts_of
from geometry.outline import Outline
from geometry.part_doubts import doubts_of

LANE = "shaping"


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What becomes the outline.

    Parameters
    ----------
    of : object
        The piece or the drawing; marks belong to one.
    asked_by : str
        The words on the button that begins it.
    shape : Polygon
    make : callable
        Makes the outline by what was pointed at.
    note : callable
        What there is to know of it, in a unit.
    """

    of: object
    asked_by: str
    shape: Polygon
    make: Callable[[Pointed], Outline]
    note: Callable[[Unit], str] = lambda unit: ""


def piece_subject(billet: Billet, name: str) -> Subject:
    """Return the measured piece as something that becomes an outline."""
    return Subject(
        of=billet,
        asked_by=OF_PIECE,
        shape=steel_of(billet),
        make=lambda pointed: outline_of_billet(billet, name=name, pointed=pointed),
        note=lambda unit: taken_off_sentence(billet, unit),
    )


def drawing_subject(outline: Outline) -> Subject:
    """Return a drawing from elsewhere; its lines stay as they are drawn."""

    def make(pointed: Pointed) -> Outline:
        return framed(
            outline,
            tip_mm=pointed.tip_mm,
            butt_mm=pointed.butt_mm,
            heel_mm=pointed.heel_mm,
            spine=pointed.spine,
        )

    return Subject(of=outline, asked_by=OF_DRAWING, shape=outline.polygon(), make=make)


class Shaping:
    """Lets the person say where the parts are, and makes the outline.

    Parameters
    ----------
    desk : Desk
    page : ShapingPage
    scene : SheetScene
        Where the subject is drawn.
    done : callable
        Takes the outline, once it is made.
    complain : callable
        Says an error; nothing for None.
    changed : callable
        Told when what is shown has to be drawn again.
    """

    def __init__(
        self,
        desk: Desk,
        page: ShapingPage,
        scene: SheetScene,
        *,
        done: Callable[[Outline], None],
        complain: Callable[[Exception | None], None],
        changed: Callable[[], None],
    ) -> None:
        self._desk, self._page, self._scene = desk, page, scene
        self._done, self._complain, self._changed = done, complain, changed
        self._marks = Marks()
        self._kept: list[tuple[object, Marks]] = []  # of what, though it was left since
        self._subject: Subject | None = None
        self.pointing_at = ""
        page.point_asked.connect(self.point_at)
        page.over_asked.connect(self._turn_over)
        page.taken.connect(self.make)
        desk.document.begun.connect(self._forget)

    @property
    def is_on(self) -> bool:
        """Whether something is to become the outline."""
        return self._subject is not None

    @property
    def kept_words(self) -> str:
        """What is said of the marks when they are left; empty without any."""
        return self.left_words if self._marks.are_set else ""

    @property
    def left_words(self) -> str:
        """What is said when another step is entered meanwhile; empty while it is not on."""
        if self._subject is None:
            return ""
        return (KEPT if self._marks.are_set else NOT_MADE).format(self._subject.asked_by)

    @property
    def undo_first(self) -> Begun | None:
        """The last mark, to be taken back before a step of the history."""
        return self._begun(self._marks.undo_text, self._marks.take_back)

    @property
    def redo_first(self) -> Begun | None:
        """The mark that was taken back last, to be brought back before a step of the history."""
        return self._begun(self._marks.redo_text, self._marks.bring_back)

    def _begun(self, text: str, go: Callable[[], None]) -> Begun | None:
        if self._subject is None or not text:
            return None

        def act() -> None:
            go()
            self._settle()

        return Begun(text=text, act=act)

    def _settle(self) -> None:
        """Show the marks as they are by now; nothing is waited for or made."""
        self._desk.worker.cancel(LANE)
        self._page.take.setEnabled(True)
        self._complain(None)
        self.point_at("")

    def _forget(self) -> None:
        self._kept.clear()

    @property
    def foot(self) -> str:
        """What the window's foot says while a place is waited for."""
        if not self.pointing_at:
            return ""
        return f"Click at the {self.pointing_at} of the shape. Esc leaves it."

    def begin(self, subject: Subject) -> None:
        """Propose the parts of a subject; marks that were set on it are there again."""
        kept = next((marks for of, marks in self._kept if of == subject.of), None)
        self._marks = Marks() if kept is None else kept
        if kept is None:
            self._kept.append((subject.of, self._marks))
        self._subject = subject
        self._page.take.setEnabled(True)
        self.point_at("")

    def end(self) -> None:
        """Put everything away."""
        if self.is_on:
            self._subject = None
            self._desk.worker.cancel(LANE)
            self.point_at("")

    def point_at(self, name: str) -> None:
        """Wait for a click at a part; an empty name ends it."""
        self.pointing_at = name
        self._page.show_pointing(name)
        view = self._desk.bench.view
        view.set_pick(self._picked if name else None)
        if name:
            view.setFocus()
        self._changed()

    def draw(self) -> None:
        """Draw the subject with what is pointed at or proposed."""
        if self._subject is None:
            return
        shape, unit = self._subject.shape, self._desk.document.job.unit
        draw_shape(self._scene, shape)
        try:
            parts = parts_of(shape, self._marks.pointed)
        except ToolError as error:
            self._page.take.setEnabled(False)
            self._complain(error)
            return
        doubts = doubts_of(shape, self._marks.pointed, parts)
        draw_parts(self._scene, shape, parts, frozenset(doubts))
        self._page.show_doubts(doubts.values())
        self._draw_marks(parts)
        lengths = (
            format_length(math.dist(parts.tip_mm, place), unit, decimals=1 if unit == "mm" else 2)
            for place in (parts.butt_mm, parts.heel_mm)
        )
        sizes = "Tip to butt {}, tip to heel {}.".format(*lengths)
        self._page.sizes.setText(f"{sizes} {self._subject.note(unit)}".strip())

    def _draw_marks(self, parts: Parts) -> None:
        """Draw a mark to drag on each part that has a place."""
        for index, place in enumerate((parts.tip_mm, parts.butt_mm, parts.heel_mm)):
            mark = NodeHandle(index, place, moved=lambda index, place: None, ended=self._let_go)
            self._scene.addItem(mark)

    def _let_go(self, index: int, place: Point) -> None:
        """Take the place where the hand let go of a mark, once the mouse is done with it."""
        QTimer.singleShot(0, lambda: self._drop(PLACES[index], place))

    def _drop(self, name: str, place: Point) -> None:
        if self._subject is not None and not self._take(name, place):
            self._changed()  # the mark goes back; what is wrong is said below

    def make(self) -> None:
        """Make the outline beside the window, and hand it on."""
        subject, pointed = self._subject, self._marks.pointed
        if subject is None:
            return

        def task(progress: Progress, stop: Stop) -> Outline:
            return subject.make(pointed)

        self._page.take.setEnabled(False)
        self._desk.worker.start(task, done=self._done, failed=self._failed, lane=LANE)

    def _failed(self, error: Exception) -> None:
        self._page.take.setEnabled(True)
        self._complain(error)

    def _picked(self, spot: QPointF) -> None:
        if self._subject is not None and self.pointing_at:
            self._take(self.pointing_at, sheet_point(spot))

    def _take(self, name: str, place: Point) -> bool:
        """Take a place for a part and return whether it is one; if not, why is told."""
        assert self._subject is not None
        try:
            parts_of(self._subject.shape, self._marks.with_place(name, place))
        except ToolError as error:
            self._complain(error)
            return False
        self._marks.take(name, place)
        self._settle()
        return True

    def _turn_over(self) -> None:
        """Put the spine on the other side, with the heel that was pointed at there, if any was."""
        if self._subject is None:
            return
        self._marks.turn_over(parts_of(self._subject.shape, self._marks.pointed).spine)
        self._settle()

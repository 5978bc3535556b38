"""The measured piece becomes the outline: its tip, butt, heel and spine on the canvas."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QPointF

from app.document.lengths import format_length
from app.document.measured_outline import NOTHING_POINTED, outline_of_billet
from app.gui.canvas.axes import sheet_point
from app.gui.canvas.shaped_piece import draw_parts
from app.gui.canvas.sheet_scene import SheetScene, draw_billet
from app.gui.panels.shaping_page import ShapingPage
from app.gui.steps.step import Desk
from app.gui.worker import Progress, Stop
from geometry.billet import Billet
from geometry.curves import Point
from geometry.ends import Side
from geometry.errors import ToolError
from geometry.knife_parts import Pointed, parts_of
from geometry.outline import Outline

LANE = "shaping"


class Shaping:
    """Lets the person say where the parts of the piece are, and makes the outline.

    Parameters
    ----------
    desk : Desk
    page : ShapingPage
    scene : SheetScene
        Where the piece is drawn.
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
        self._pointed = NOTHING_POINTED
        self.pointing_at = ""
        self.is_on = False
        page.point_asked.connect(self.point_at)
        page.over_asked.connect(self._turn_over)
        page.taken.connect(self.make)

    @property
    def foot(self) -> str:
        """What the window's foot says while a place is waited for."""
        if not self.pointing_at:
            return ""
        return f"Click at the {self.pointing_at} of the piece. Esc leaves it."

    def begin(self) -> None:
        """Propose the parts of the piece at hand."""
        self._pointed, self.is_on = NOTHING_POINTED, True
        self.point_at("")

    def end(self) -> None:
        """Put everything away."""
        if self.is_on:
            self.is_on = False
            self.point_at("")

    def point_at(self, name: str) -> None:
        """Wait for a click at a part of the piece; an empty name ends it."""
        self.pointing_at = name
        self._page.show_pointing(name)
        view = self._desk.bench.view
        view.set_pick(self._picked if name else None)
        if name:
            view.setFocus()
        self._changed()

    def draw(self) -> None:
        """Draw the piece with what is pointed at or proposed."""
        billet = self._billet()
        if billet is None:
            return
        unit = self._desk.document.job.unit
        draw_billet(self._scene, billet, unit, dimensions=False)
        try:
            parts = parts_of(billet.shape, self._pointed)
        except ToolError as error:
            self._page.take.setEnabled(False)
            self._complain(error)
            return
        draw_parts(self._scene, billet.shape, parts)
        lengths = (
            format_length(math.dist(parts.tip_mm, place), unit, decimals=1 if unit == "mm" else 2)
            for place in (parts.butt_mm, parts.heel_mm)
        )
        self._page.sizes.setText("Tip to butt {}, tip to heel {}.".format(*lengths))

    def make(self) -> None:
        """Make the outline beside the window, and hand it on."""
        billet, pointed = self._billet(), self._pointed
        if billet is None:
            return
        name = self._name()

        def task(progress: Progress, stop: Stop) -> Outline:
            return outline_of_billet(billet, name=name, pointed=pointed)

        self._page.take.setEnabled(False)
        self._desk.worker.start(task, done=self._made, failed=self._failed, lane=LANE)

    def _billet(self) -> Billet | None:
        return self._desk.derived.billet(self._desk.document.job)

    def _name(self) -> str:
        photo = self._desk.document.job.photo
        return photo.name.rpartition(".")[0] or photo.name if photo is not None else "Traced shape"

    def _made(self, outline: Outline) -> None:
        self._page.take.setEnabled(True)
        if self.is_on:
            self._done(outline)

    def _failed(self, error: Exception) -> None:
        self._page.take.setEnabled(True)
        self._complain(error)

    def _picked(self, spot: QPointF) -> None:
        """Take the place that was clicked at; one that cannot be meant is told."""
        billet, name = self._billet(), self.pointing_at
        if billet is None or not name:
            return
        pointed = _with(self._pointed, name, sheet_point(spot))
        try:
            parts_of(billet.shape, pointed)
        except ToolError as error:
            self._complain(error)
            return
        self._pointed = pointed
        self._page.take.setEnabled(True)
        self._complain(None)
        self.point_at("")

    def _turn_over(self) -> None:
        """Put the spine on the other side; the heel is proposed anew there."""
        billet = self._billet()
        if billet is None:
            return
        other: Side = "left"
        if parts_of(billet.shape, self._pointed).spine == "left":
            other = "right"
        self._pointed = replace(self._pointed, spine=other, heel_mm=None)
        self._changed()


def _with(pointed: Pointed, name: str, place: Point) -> Pointed:
    """Return what was pointed at with another place of a part."""
    if name == "tip":
        return replace(pointed, tip_mm=place)
    if name == "butt":
        return replace(pointed, butt_mm=place)
    return replace(pointed, heel_mm=place, spine=None)  # the heel tells the side, too

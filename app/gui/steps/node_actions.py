"""Points added to the edge and taken from it, one step of the history each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, QPointF

from app.document.edge_words import moved_words
from app.document.lengths import Unit
from app.gui.canvas.axes import sheet_point
from app.gui.panels.points_page import PointsPage
from app.gui.steps.node_drag import NodeDrag
from app.gui.steps.step import Begun, Desk
from app.gui.worker import Progress, Stop
from geometry.curves import Chain, Point
from geometry.edge_features import nearest_place
from geometry.errors import InputError, ToolError
from geometry.fewer_nodes import Fewer, as_few_as_it_can, with_fewer_nodes
from geometry.node_count import with_node_added, with_node_removed
from geometry.outline import Outline

LANE = "points"
REACH_PX = 14.0  # from the edge: a click there means it
ADDING = "Click on the edge where the point is to be. Esc leaves it."
NONE_AT_HAND = InputError(
    "no point is at hand.", where="Remove the point", remedy="Click one, or take one by a bracket."
)
OFF_EDGE = InputError("that is not at the edge.", where="Add a point", remedy="Click on the edge.")

Take = Callable[[Outline, str, str], None]


class NodeActions(QObject):
    """Joins the page of points, the canvas and the nodes that are shown.

    Parameters
    ----------
    desk : Desk
    page : PointsPage
    nodes : NodeDrag
        Knows which node is at hand.
    take : callable
        Takes the changed outline, what was done and what there is to say.
    complain : callable
        Says why an edge cannot be so; nothing for None.
    """

    def __init__(
        self,
        desk: Desk,
        page: PointsPage,
        nodes: NodeDrag,
        *,
        take: Take,
        complain: Callable[[Exception | None], None],
    ) -> None:
        super().__init__(desk.window)
        self._desk, self._page, self._nodes = desk, page, nodes
        self._take, self._complain = take, complain
        self.is_adding = False
        self._before: dict[Chain, Outline] = {}  # what an edge with fewer points was made of
        desk.document.begun.connect(self._before.clear)
        self._had_focus = False  # the button that asks for fewer points, while it waits
        page.add_asked.connect(self.wait_for_place)
        page.remove_asked.connect(self.remove)
        page.fewer_asked.connect(self.take_fewer)
        page.waiting.stopped.connect(self._stop_fewer)
        desk.bench.view.doubled.connect(self._doubled)
        desk.bench.view.deleted.connect(self._deleted)

    @property
    def foot(self) -> str:
        """What the window's foot says while a click adds a point."""
        return ADDING if self.is_adding else ""

    @property
    def undo_first(self) -> Begun | None:
        """The taking of fewer points while it is worked out: undo stops it."""
        if not self._desk.worker.is_busy(LANE):
            return None
        return Begun(text="Take fewer points", act=self._stop_fewer)

    def show(self) -> None:
        """Show how many points there are and whether one is at hand."""
        outline = self._nodes.outline
        self._page.show_unit(self._desk.document.job.unit)
        if outline is not None:
            self._page.show_points(len(outline.chain), at_hand=self._nodes.at_hand >= 0)

    def wait_for_place(self, on: bool) -> None:
        """Let the next click add a point, or no longer."""
        if on == self.is_adding:
            return
        self.is_adding = on
        self._page.show_adding(on)
        view = self._desk.bench.view
        view.set_pick(self._picked if on else None)
        if on:
            self._complain(None)
            view.setFocus()
        self._nodes.told()

    def add(self, place: Point) -> None:
        """Add a point on the edge nearest a place."""
        if self._nodes.outline is None:
            return
        reach_mm = REACH_PX / self._desk.bench.view.px_a_unit
        on_edge = nearest_place(self._nodes.outline.chain, place)
        if abs(complex(*on_edge) - complex(*place)) > reach_mm:
            self._complain(OFF_EDGE)
            return
        try:
            outline, at = with_node_added(self._nodes.outline, place)
        except ToolError as error:
            self._complain(error)
            return
        before = self._before.get(self._nodes.outline.chain)
        if before is not None:  # the edge is where it was
            self._before[outline.chain] = before
        self.wait_for_place(False)
        self._nodes.remember(at)
        self._take(outline, "Add a point", "")

    def remove(self) -> None:
        """Remove the point at hand."""
        index = self._nodes.at_hand
        if self._nodes.outline is None or index < 0:
            self._complain(NONE_AT_HAND)
            return
        try:
            outline, moved_mm = with_node_removed(self._nodes.outline, index)
        except ToolError as error:
            self._complain(error)
            return
        self._nodes.remember(outline.chain[(index - 1) % len(outline.chain)].start)
        self._take(outline, "Remove a point", moved_words(moved_mm, self._unit))

    def take_fewer(self, tolerance_mm: float) -> None:
        """Take fewer points, worked out beside the window.

        Asked for again, they are those of the shape before the first time: it never moves by more
        than is told.
        """
        outline = self._nodes.outline
        if outline is None:
            return
        before = self._before.get(outline.chain, outline)

        def task(progress: Progress, stop: Stop) -> Fewer:
            return with_fewer_nodes(before, tolerance_mm, progress=progress, stop=stop)

        def done(fewer: Fewer) -> None:
            self._rest()
            if self._nodes.is_on and self._nodes.outline is outline:
                self._take_in_place_of(before, fewer, tolerance_mm)

        self._complain(None)
        self._had_focus = self._page.fewer.hasFocus()
        waiting = self._page.waiting
        waiting.begin()
        if self._had_focus:
            waiting.stop_button.setFocus()
        self._desk.worker.start(
            task, done=done, failed=self._failed, progressed=waiting.show_share, lane=LANE
        )

    def _take_in_place_of(self, before: Outline, fewer: Fewer, tolerance_mm: float) -> None:
        """Take fewer points than there are, and say how far they are from the shape before."""
        assert self._nodes.outline is not None
        now, chain = self._nodes.outline, fewer.outline.chain
        if len(chain) >= len(now.chain):
            self._complain(as_few_as_it_can(tolerance_mm))
            return
        again = before is not now
        self._before[chain] = before
        said = f"{len(chain)} points in the place of {len(now.chain)}."
        made = replace(now, chain=chain, stations=fewer.outline.stations, marks=fewer.outline.marks)
        moved = moved_words(fewer.moved_mm, self._unit)
        since = " Counted from the shape before any were taken." if again else ""
        self._take(made, "Take fewer points", f"{said} {moved}{since}")

    def stop(self) -> None:
        """Wait for nothing."""
        self.wait_for_place(False)
        self._stop_fewer()

    def _stop_fewer(self) -> None:
        self._desk.worker.cancel(LANE)
        self._rest()

    @property
    def _unit(self) -> Unit:
        return self._desk.document.job.unit

    def _rest(self) -> None:
        """Let fewer points be asked for again, by the keyboard where it was."""
        focused = self._page.waiting.stop_button.hasFocus() or self._had_focus
        self._page.waiting.end()
        if focused and self._page.fewer.isVisible():
            self._page.fewer.setFocus()
        self._had_focus = False

    def _failed(self, error: Exception) -> None:
        self._rest()
        self._complain(error)

    def _picked(self, spot: QPointF) -> None:
        self.add(sheet_point(spot))  # beside the edge, a click there is waited for on

    def _doubled(self, spot: QPointF) -> None:
        """Add a point where the edge was clicked twice, unless a point is there."""
        if self._nodes.is_here and not self._nodes.is_at_mark(spot):
            self.add(sheet_point(spot))

    def _deleted(self) -> None:
        if self._nodes.is_here:
            self.remove()

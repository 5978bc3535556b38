"""The outline's edge changed by hand: its nodes dragged on the canvas, or moved by keys."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QGraphicsPathItem

from app.gui.canvas.axes import scene_shape
from app.gui.canvas.node_handles import NodeHandle
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.canvas.tag import cosmetic
from app.gui.steps.step import Desk
from geometry.curves import Point
from geometry.errors import ToolError
from geometry.node_edit import nodes_mm, with_node_moved
from geometry.outline import Outline

STEP_MM, LARGE_MM = 0.1, 1.0  # of an arrow key, and with Shift


class NodeDrag(QObject):
    """Lets the hand drag the nodes of the outline at hand.

    Nothing is changed before the hand lets go: then it is one step of the history.

    Parameters
    ----------
    desk : Desk
    scene : SheetScene
        Where the outline is drawn.
    take : callable
        Takes the changed outline.
    complain : callable
        Says why an edge cannot be so.
    redraw : callable
        Draws the outline anew.
    """

    def __init__(
        self,
        desk: Desk,
        scene: SheetScene,
        *,
        take: Callable[[Outline], None],
        complain: Callable[[Exception], None],
        redraw: Callable[[], None],
    ) -> None:
        super().__init__(desk.window)
        self._desk, self._scene = desk, scene
        self._take, self._complain, self._redraw = take, complain, redraw
        self._outline: Outline | None = None
        self._preview = QGraphicsPathItem()
        self._chosen = -1
        self.is_on = False
        desk.bench.view.nudged.connect(self._nudged)

    def turn(self, on: bool) -> None:
        """Show the nodes to drag, or put them away."""
        self.is_on, self._chosen = on, -1
        self._redraw()

    def draw(self, outline: Outline) -> None:
        """Draw the nodes of an outline over it."""
        self._outline = outline
        self._preview = QGraphicsPathItem()
        self._preview.setZValue(6)
        self._scene.addItem(self._preview)
        for index, place in enumerate(nodes_mm(outline)):
            handle = NodeHandle(index, place, moved=self._moved, ended=self._ended)
            handle.chosen = index == self._chosen
            self._scene.addItem(handle)

    def _moved(self, index: int, place: Point) -> None:
        """Show what the edge would be."""
        self._chosen = index
        found = self._with(index, place)
        if isinstance(found, Outline):
            self._preview.setPen(cosmetic("accent", 2.0))
            self._preview.setPath(scene_shape(found.polygon()))
        else:  # the last edge that could be stays, dashed
            self._preview.setPen(cosmetic("doubt", 2.0, (4, 4)))

    def _ended(self, index: int, place: Point) -> None:
        """Take the edge as the hand left it, once the mouse is done with the mark."""
        found = self._with(index, place)
        QTimer.singleShot(0, self, lambda: self._settle(found))

    def _settle(self, found: Outline | Exception) -> None:
        if not isinstance(found, Outline):
            self._redraw()
            self._complain(found)
        elif found is self._outline:
            self._redraw()
        else:
            self._take(found)

    def _nudged(self, dx: float, dy: float, turn: float, large: bool) -> None:
        """Move the node that was last taken hold of by an arrow key."""
        at_hand = self.is_on and self._desk.bench.view.scene() is self._scene
        if not at_hand or self._outline is None or turn:
            return
        nodes = nodes_mm(self._outline)
        if 0 <= self._chosen < len(nodes):
            step = LARGE_MM if large else STEP_MM
            x, y = nodes[self._chosen]
            self._settle(self._with(self._chosen, (x + dx * step, y + dy * step)))

    def _with(self, index: int, place: Point) -> Outline | Exception:
        assert self._outline is not None
        try:
            return with_node_moved(self._outline, index, place)
        except ToolError as error:
            return error

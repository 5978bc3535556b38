"""The outline's edge changed by hand: its nodes dragged on the canvas, or moved by keys."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, QPointF, Qt, QTimer

from app.document.lengths import Unit, format_length
from app.gui.canvas.axes import scene_shape
from app.gui.canvas.node_handles import REACH_PX, NodeHandle
from app.gui.canvas.sheet_scene import SheetScene, draw_outline
from app.gui.canvas.tag import cosmetic
from app.gui.steps.step import Desk
from geometry.curves import Point
from geometry.errors import InputError, ToolError
from geometry.node_edit import nodes_mm, with_node_moved
from geometry.outline import Outline

STEP_MM, LARGE_MM = 0.1, 1.0  # of an arrow key, and with Shift
HINT = (
    "Drag a point of the edge; arrow keys move the last one by {}, brackets take the next one, "
    "Delete removes it. Esc leaves it."
)
HELD = "The point is at {} along and {} up. Esc puts it back."
CANNOT = "The edge cannot go there: let go, and the point goes back."
LESS_FAR = "The point is back where it was: move it less far."


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
        Says why an edge cannot be so; nothing for None.
    redraw : callable
        Draws the outline anew.
    told : callable
        Called when `foot` has changed.
    """

    def __init__(
        self,
        desk: Desk,
        scene: SheetScene,
        *,
        take: Callable[[Outline], None],
        complain: Callable[[Exception | None], None],
        redraw: Callable[[], None],
        told: Callable[[], None],
    ) -> None:
        super().__init__(desk.window)
        self._desk, self._scene = desk, scene
        self._take, self._complain, self._redraw, self.told = take, complain, redraw, told
        self.outline: Outline | None = None
        self._handles: list[NodeHandle] = []
        self._trail: list[Point] = []  # where the hand had a node, the last one at the end
        self._held = ""  # what is said of the node that is held
        self.is_on = False
        desk.bench.view.nudged.connect(self._nudged)

    @property
    def foot(self) -> str:
        """What the window's foot says while the nodes are shown."""
        if not self.is_on:
            return ""
        return self._held or HINT.format(format_length(STEP_MM, self._unit))

    @property
    def is_here(self) -> bool:
        """Whether the nodes are on the canvas and none of them is held."""
        shown = self._desk.bench.view.scene() is self._scene
        return self.is_on and shown and self.outline is not None and not self._held

    @property
    def at_hand(self) -> int:
        """Which node the hand had last; -1 for none."""
        return -1 if self.outline is None else self._at_hand(nodes_mm(self.outline))

    def remember(self, place: Point) -> None:
        """Take the node at a place as the one that the hand had last."""
        self._trail.append(place)

    def is_at_mark(self, spot: QPointF) -> bool:
        """Return whether a place of the scene is at the mark of a node."""
        reach = REACH_PX / self._desk.bench.view.px_a_unit
        return any((handle.pos() - spot).manhattanLength() <= reach for handle in self._handles)

    def turn(self, on: bool) -> None:
        """Show the nodes to drag, or put them away."""
        self.is_on = on
        self._trail.clear()
        if on:
            self._desk.bench.view.setFocus(Qt.FocusReason.MouseFocusReason)  # the marks show it
        self._redraw()

    def draw(self, outline: Outline) -> None:
        """Draw the nodes of an outline over it; none of them is held."""
        self.outline, self._held, self._handles = outline, "", []
        nodes = nodes_mm(outline)
        at_hand = self._at_hand(nodes)
        for index, place in enumerate(nodes):
            handle = NodeHandle(index, place, moved=self._moved, ended=self._ended)
            handle.show_state(chosen=index == at_hand)
            self._scene.addItem(handle)
            self._handles.append(handle)

    def put_back(self) -> bool:
        """Let the node that is held go back where it was; return whether one was held."""
        was_held = bool(self._held)
        if was_held:
            self._redraw()
        return was_held

    @property
    def _unit(self) -> Unit:
        return self._desk.document.job.unit

    def _at_hand(self, nodes: tuple[Point, ...]) -> int:
        """Return which node the hand had last, of those that are still there; -1 for none."""
        place = next((place for place in reversed(self._trail) if place in nodes), None)
        return -1 if place is None else nodes.index(place)

    def _moved(self, index: int, place: Point) -> None:
        """Show what the outline would be."""
        assert self.outline is not None
        if not self._held:
            self._complain(None)  # what was said is of an earlier move
            self._trail.append(nodes_mm(self.outline)[index])
        found = self._with(index, place)
        can = isinstance(found, Outline)
        if isinstance(found, Outline):
            self._show(found)
        for handle in self._handles:
            held = handle.index == index
            handle.show_state(chosen=held, doubted=held and not can)
        decimals = 2 if self._unit == "mm" else 3
        shown = (format_length(way, self._unit, decimals=decimals) for way in place)
        self._held = HELD.format(*shown) if can else CANNOT
        self.told()

    def _show(self, outline: Outline) -> None:
        """Draw an outline under the nodes, and the edge as it was."""
        assert self.outline is not None
        for item in self._scene.items():
            if item.parentItem() is None and not isinstance(item, NodeHandle):
                self._scene.removeItem(item)
        draw_outline(self._scene, outline, self._unit)
        was = self._scene.addPath(scene_shape(self.outline.polygon()), cosmetic("quiet", 1.0))
        was.setBrush(Qt.BrushStyle.NoBrush)
        was.setZValue(1)

    def _ended(self, index: int, place: Point) -> None:
        """Take the edge as the hand left it, once the mouse is done with the mark."""
        QTimer.singleShot(0, self, lambda: self._let_go(index, place))

    def _let_go(self, index: int, place: Point) -> None:
        if self._held:  # else it was drawn anew since, and the hand holds nothing
            self._settle(index, place)

    def _settle(self, index: int, place: Point) -> None:
        self._held = ""
        found = self._with(index, place)
        if not isinstance(found, Outline):
            self._redraw()
            self._complain(InputError(found.message, where=found.where, remedy=LESS_FAR))
        elif found is self.outline:
            self._redraw()
        else:
            self._trail.append(place)
            self._take(found)
        self.told()

    def _nudged(self, dx: float, dy: float, turn: float, large: bool) -> None:
        """Move the node that was last taken hold of by an arrow key; a bracket takes the next."""
        if not self.is_here or self.outline is None:
            return
        nodes = nodes_mm(self.outline)
        index = self._at_hand(nodes)
        self._complain(None)
        if turn:
            self._trail.append(nodes[(index + round(turn)) % len(nodes)])
            self._redraw()
        elif index >= 0:
            step = LARGE_MM if large else STEP_MM
            x, y = nodes[index]
            self._settle(index, (x + dx * step, y + dy * step))

    def _with(self, index: int, place: Point) -> Outline | ToolError:
        assert self.outline is not None
        try:
            return with_node_moved(self.outline, index, place)
        except ToolError as error:
            return error

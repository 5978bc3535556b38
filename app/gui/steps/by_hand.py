"""The outline's edge changed by hand in the outline step: its points, and what is said of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from app.document.edge_words import thin_words
from app.document.job import OutlineChoice
from app.document.outline_names import is_as_measured, named_by_hand
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.panels.outline import OutlinePanel
from app.gui.steps.node_actions import NodeActions
from app.gui.steps.node_drag import NodeDrag
from app.gui.steps.step import Begun, Desk
from geometry.outline import Outline

NO_MEASURES = (
    "It is a drawing now, without measures: undo, or choose a shape, to have them back. Kept "
    "among your shapes it has lengths and widths again."
)


class ByHand:
    """Lets the hand change the edge by its points.

    Parameters
    ----------
    desk : Desk
    panel : OutlinePanel
    scene : SheetScene
        Where the outline is drawn.
    take : callable
        Makes a choice the job's, with what is written into the history.
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
        panel: OutlinePanel,
        scene: SheetScene,
        *,
        take: Callable[[OutlineChoice, str], None],
        complain: Callable[[Exception | None], None],
        redraw: Callable[[], None],
        told: Callable[[], None],
    ) -> None:
        self._desk, self._panel, self._take, self._told = desk, panel, take, told
        self.nodes = NodeDrag(
            desk,
            scene,
            take=lambda outline: self._take_edge(outline, "Drag a point", ""),
            complain=complain,
            redraw=redraw,
            told=told,
        )
        self._actions = NodeActions(
            desk, panel.points, self.nodes, take=self._take_edge, complain=complain
        )
        panel.drag_asked.connect(self.turn)

    @property
    def is_on(self) -> bool:
        """Whether the points are shown."""
        return self.nodes.is_on

    @property
    def foot(self) -> str:
        """What the window's foot says while the points are shown."""
        return self._actions.foot or self.nodes.foot

    @property
    def undo_first(self) -> Begun | None:
        """What is being worked out, which undo stops."""
        return self._actions.undo_first

    def turn(self, on: bool) -> None:
        """Show the points of the edge, or put them away."""
        if on != self.is_on:
            self._panel.say("")
            self._actions.stop()
            self._panel.show_dragging(on)
            self.nodes.turn(on)
            self._told()

    def put_back(self) -> bool:
        """Let a held point go back, or wait for no click; return whether either was so."""
        if self.nodes.put_back():
            return True
        was_adding = self._actions.is_adding
        self._actions.wait_for_place(False)
        return was_adding

    def draw(self, outline: Outline) -> None:
        """Draw the points over an outline, while they are shown."""
        if self.is_on:
            self.nodes.draw(outline)
            self._actions.show()
            has_measures = self._desk.document.job.outline.drawing is None
            self._panel.points.show_measures(has_measures)

    def forget_words(self) -> None:
        """Take away that there are no measures, once there are again."""
        is_drawn = self._desk.document.job.outline.drawing is not None
        if not is_drawn and self._panel.message.endswith(NO_MEASURES):
            self._panel.say("")

    def _take_edge(self, outline: Outline, text: str, said: str) -> None:
        """Make an edge that was changed by hand the job's, and say what there is to know of it."""
        document, job = self._desk.document, self._desk.document.job
        thin = thin_words(self._desk.derived.outline(job), outline, job.unit)
        was_drawn = job.outline.drawing is not None
        if not was_drawn or is_as_measured(outline.name):
            outline = replace(outline, name=named_by_hand(outline.name))
        choice = OutlineChoice(drawing=outline)
        self._take(choice, text)
        if document.job.outline == choice:
            parts = (said, thin, "" if was_drawn else NO_MEASURES)
            self._panel.say(" ".join(words for words in parts if words), good=not thin)

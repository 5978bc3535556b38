"""The marking of tip, butt and heel begun, left and ended in the outline step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from app.document.job import OutlineChoice
from app.document.outline_names import named_as_measured
from app.gui.canvas.sheet_scene import SheetScene
from app.gui.panels.outline import OutlinePanel
from app.gui.panels.shaping_page import AGAIN, COMES_BACK, NO_PIECE, OTHER_PIECE
from app.gui.steps.shaping import Shaping, Subject, drawing_subject, piece_subject
from app.gui.steps.step import Desk
from geometry.outline import Outline

if TYPE_CHECKING:
    from geometry.billet import Billet


class Marking:
    """Lets the piece, or a drawing, become the outline by its parts.

    Parameters
    ----------
    desk : Desk
    panel : OutlinePanel
    scene : SheetScene
        Where the subject is drawn.
    take : callable
        Makes a choice the job's, with what is written into the history.
    complain : callable
        Says an error; nothing for None.
    changed : callable
        Told when what is shown has to be drawn again.
    clear : callable
        Called before it begins: anything else that is begun is put away.
    """

    def __init__(
        self,
        desk: Desk,
        panel: OutlinePanel,
        scene: SheetScene,
        *,
        take: Callable[[OutlineChoice, str], None],
        complain: Callable[[Exception | None], None],
        changed: Callable[[], None],
        clear: Callable[[], None],
    ) -> None:
        self._desk, self._panel, self._scene = desk, panel, scene
        self._take, self._changed, self._clear = take, changed, clear
        self._from: tuple[OutlineChoice, Billet | None] = (desk.document.job.outline, None)
        self.shaping = Shaping(
            desk, panel.shaping, scene, done=self._made, complain=complain, changed=changed
        )
        panel.piece_asked.connect(self.begin_piece)
        panel.turn_asked.connect(self.begin_drawing)
        panel.shaping.left.connect(self.leave)

    def begin_piece(self) -> None:
        """Let the piece become the outline, where there is one."""
        job = self._desk.document.job
        billet = self._desk.derived.billet(job)
        if billet is not None:
            name = "Traced shape" if job.photo is None else Path(job.photo.name).stem
            self._begin(piece_subject(billet, named_as_measured(name)), billet)

    def begin_drawing(self) -> None:
        """Let the job's drawing be turned by its tip and butt."""
        drawing = self._desk.document.job.outline.drawing
        if drawing is not None:
            self._begin(drawing_subject(drawing))

    def leave(self) -> None:
        """Go back to the outline as it is; marks are kept, which is said."""
        kept = self.shaping.kept_words
        self.put_away()
        if kept:
            self._panel.say(kept, good=True)

    def put_away(self) -> str:
        """Go back to the outline as it is; return what is to be said in another step."""
        left = self.shaping.left_words
        if self.shaping.is_on:
            self.shaping.end()
            self._panel.show_shaping(False)
            self._changed()
            self._desk.bench.view.fit(self._scene.content)
        return left

    def end_stale(self) -> None:
        """End it where its piece, or the outline it began beside, is no longer the job's."""
        outline, piece = self._from
        if not self.shaping.is_on:
            return
        job = self._desk.document.job
        now = None if piece is None else self._desk.derived.billet(job)
        if now is not piece or job.outline != outline:
            kept = f" {COMES_BACK}" if self.shaping.kept_words else ""
            self.shaping.end()
            self._panel.show_shaping(False)
            gone = f"{NO_PIECE}{kept}" if now is None else OTHER_PIECE
            self._panel.say("" if now is piece else gone)

    def _begin(self, subject: Subject, piece: Billet | None = None) -> None:
        self._panel.say("")
        self._clear()
        self._from = (self._desk.document.job.outline, piece)
        self._panel.show_shaping(True)
        self.shaping.begin(subject)
        self._desk.bench.view.fit(self._scene.content)
        if self.shaping.kept_words:
            self._panel.say(AGAIN, good=True)
        self._panel.shaping.take.setFocus()

    def _made(self, outline: Outline) -> None:
        choice = OutlineChoice(drawing=outline)
        self._from = (choice, self._from[1])
        self._take(choice, "Take the shape by its tip and butt")
        self.put_away()

"""Undo: a step back is the job as it was before."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

from app.document.job import Job

if TYPE_CHECKING:
    from app.gui.document import Document


class ReplaceJob(QUndoCommand):
    """One change of the job, with a name that a person reads in the menu.

    Parameters
    ----------
    document : Document
        What holds the job.
    after : Job
        The job after the change.
    text : str
        What was done: ``Turn the blank``; in the menu it follows a word and begins small.
    gesture : int
        One number for all changes of a drag, so that the drag is one step; else -1.
    stays : str
        What is said when it is undone of what stays outside the job; empty for nothing.
    """

    def __init__(
        self, document: Document, after: Job, text: str, gesture: int = -1, stays: str = ""
    ) -> None:
        super().__init__(f"{text[:1].lower()}{text[1:]}")
        self._document = document
        self._before, self._after = document.job, after
        self._gesture, self._stays = gesture, stays

    def id(self) -> int:
        """Return the gesture's number; commands with the same one merge."""
        return self._gesture

    def redo(self) -> None:
        """Show the job after the change."""
        self._document.show(self._after)

    def undo(self) -> None:
        """Show the job before the change."""
        self._document.show(self._before)
        if self._stays:
            self._document.stays.emit(self._stays)

    def mergeWith(self, other: QUndoCommand) -> bool:
        """Take over the end of a later change of the same gesture."""
        if not isinstance(other, ReplaceJob):
            return False
        self._after = other._after
        self.setObsolete(self._after == self._before)
        return True

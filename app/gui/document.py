"""The open job: holds the one frozen value that all widgets draw from, and its history."""

from __future__ import annotations

import itertools
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoStack

from app.document.job import Job
from app.gui.commands import ReplaceJob


class Document(QObject):
    """The job, its file and its undo history.

    Attributes
    ----------
    changed : Signal
        The job is another one; widgets redraw from it.
    begun : Signal
        Another job is open; told before `changed`.
    stays : Signal
        A step was undone, and this sentence says what stays outside the job.
    opened : int
        How many jobs were opened until now: a job's number, for answers that come late.
    stack : QUndoStack
        The history; clean when the job is as saved.
    path : Path or None
        The job's file, once it has one.
    """

    changed = Signal()
    begun = Signal()
    stays = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._job = Job()
        self.opened = 0
        self._gestures = itertools.count(1)
        self.stack = QUndoStack(self)
        self.path: Path | None = None

    @property
    def job(self) -> Job:
        """The job as it stands."""
        return self._job

    @property
    def name(self) -> str:
        """What the job is called: its file's name, once it has one."""
        return self._job.name if self.path is None else self.path.stem

    @property
    def is_saved(self) -> bool:
        """Whether closing would lose nothing."""
        return self.stack.isClean()

    def change(self, job: Job, text: str, *, gesture: int = -1, stays: str = "") -> None:
        """Replace the job as one step that can be undone; the same job makes no step.

        What was done outside the job and stays when the step is undone, `stays` says then.
        """
        if job != self._job:
            self.stack.push(ReplaceJob(self, job, text, gesture, stays))

    def new_gesture(self) -> int:
        """Return a number for the changes of one drag."""
        return next(self._gestures)

    def begin(self, job: Job, path: Path | None = None) -> None:
        """Start with another job and an empty history."""
        self.stack.clear()
        self.path = path
        self._job = job
        self.opened += 1
        self.begun.emit()
        self.show(job)

    def saved_as(self, path: Path) -> None:
        """Remember that the job as it stands is in a file."""
        self.path = path
        self.stack.setClean()

    def show(self, job: Job) -> None:
        """Hold another job and tell everyone; called by the history only."""
        self._job = job
        self.changed.emit()

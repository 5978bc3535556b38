"""Undo and redo: what is begun in the step at hand first, then the history of the job."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QAction, QKeySequence, QUndoStack

from app.gui.steps.step import Begun, StepAtHand
from app.gui.worker import Worker

Keys = QKeySequence.StandardKey


class Undoing(QObject):
    """The two actions, each with the name of what it undoes or redoes.

    Parameters
    ----------
    parent : QObject
        Made before what is watched, so that it is gone before them.

    Attributes
    ----------
    acting : Signal
        Something is about to be undone or redone; what was said before is of what was.
    """

    acting = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._stack: QUndoStack | None = None
        self._step: StepAtHand | None = None
        self.undo, self.redo = QAction("Undo", parent), QAction("Redo", parent)
        self.undo.setShortcut(QKeySequence(Keys.Undo))
        self.redo.setShortcut(QKeySequence(Keys.Redo))
        self.undo.triggered.connect(self._undo)
        self.redo.triggered.connect(self._redo)

    def watch(self, stack: QUndoStack, worker: Worker) -> None:
        """Follow the history of the job, and work that begins or ends."""
        self._stack = stack
        stack.indexChanged.connect(self._name)
        worker.busy_changed.connect(self._name)
        self._name()

    def show(self, step: StepAtHand) -> None:
        """Name what is undone and redone in a step as it stands."""
        self._step = step
        self._name()

    def _first(self) -> tuple[Begun | None, Begun | None]:
        step = self._step
        return (None, None) if step is None else (step.undo_first, step.redo_first)

    def _name(self) -> None:
        stack = self._stack
        if stack is None:
            return
        before, after = self._first()
        _show(self.undo, "Undo", before, stack.undoText(), can=stack.canUndo())
        _show(self.redo, "Redo", after, stack.redoText(), can=stack.canRedo())

    def _undo(self) -> None:
        begun, stack = self._first()[0], self._stack
        self.acting.emit()
        if begun is not None:
            begun.act()
        elif stack is not None:
            stack.undo()

    def _redo(self) -> None:
        begun, stack = self._first()[1], self._stack
        self.acting.emit()
        if begun is not None:
            begun.act()
        elif stack is not None:
            stack.redo()


def _show(action: QAction, word: str, begun: Begun | None, text: str, *, can: bool) -> None:
    if begun is not None:
        text = f"{begun.text[:1].lower()}{begun.text[1:]}"
    action.setText(f"{word} {text}".strip())
    action.setEnabled(can or begun is not None)

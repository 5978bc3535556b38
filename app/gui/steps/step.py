"""What all steps share: the desk they work at, and when they are entered, shown and left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.document.job import Job
from app.gui.canvas.bench import Bench
from app.gui.derived import Derived
from app.gui.document import Document
from app.gui.errors import sentence_of
from app.gui.panels.panel import Panel
from app.gui.rail import Step
from app.gui.worker import Worker


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Desk:
    """What lies ready for every step."""

    document: Document
    derived: Derived
    worker: Worker
    bench: Bench
    window: QWidget


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Begun:
    """What is begun and no part of the job yet: undo, or redo, has to do with it first.

    Parameters
    ----------
    text : str
        What was done: ``Mark the tip``.
    act : callable
        Takes it back, or brings it back.
    """

    text: str
    act: Callable[[], None]


class StepAtHand(QObject):
    """One step: a panel, a drawing, and the functions behind their signals.

    Attributes
    ----------
    standing_changed : Signal
        Something that is not part of the job changed where the job stands.
    go : Signal
        Another step is to be entered.
    told : Signal
        Words to say wherever the person is by now, and whether they are good news.
    """

    standing_changed = Signal()
    go = Signal(str)
    told = Signal(str, bool)

    def __init__(self, desk: Desk, step: Step, panel: Panel) -> None:
        super().__init__(desk.window)
        self.desk = desk
        self.step = step
        self.base_panel = panel
        steps = list(Step)
        following = steps[min(steps.index(step) + 1, len(steps) - 1)]
        self._following = following
        panel.onward.connect(self._go_on)

    @property
    def job(self) -> Job:
        """The job as it stands."""
        return self.desk.document.job

    def enter(self) -> None:
        """Show this step's drawing."""
        raise NotImplementedError

    @property
    def first(self) -> QWidget:
        """The control that the keyboard is given when the step is entered."""
        return self.base_panel.next_button

    @property
    def foot(self) -> str:
        """What the window's foot says instead of where the job stands; empty for nothing."""
        return ""

    @property
    def undo_first(self) -> Begun | None:
        """What undo takes back before it goes a step back in the history, if anything."""
        return None

    @property
    def redo_first(self) -> Begun | None:
        """What redo brings back before it goes a step ahead in the history, if anything."""
        return None

    def finish(self) -> None:
        """Settle what the person leaves as it is shown: the way on is taken."""

    def leave(self) -> None:
        """Put away what was begun: another step is entered."""

    def refresh(self, *, afresh: bool = False) -> None:
        """Redraw from the job; afresh when colours changed too."""
        raise NotImplementedError

    def _go_on(self) -> None:
        self.finish()
        self.go.emit(self._following.value)

    def complain(self, error: Exception) -> None:
        """Say an error in the panel."""
        self.base_panel.say(sentence_of(error))

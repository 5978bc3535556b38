"""Long work beside the window: progress, cancel; only the latest answer of a lane is shown."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from PySide6.QtCore import QObject, QThreadPool, Signal

from app.gui.collector import Collector
from geometry.errors import Cancelled

Progress = Callable[[float], None]
Stop = Callable[[], bool]
Task = Callable[[Progress, Stop], Any]

THREADS = 2  # one for long work, one for what is opened meanwhile
TELL_EVERY_S = 0.04  # more often than this nobody sees


@dataclass(slots=True, kw_only=True, eq=False)
class _Errand:
    number: int
    lane: str
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    progressed: Callable[[float], None]
    lasting: bool = False
    stop: threading.Event = field(default_factory=threading.Event)


class Worker(QObject):
    """Runs tasks beside the window: a long one, and a short one meanwhile.

    A task is given ``progress`` and ``stop`` and returns a value or raises; it touches no widget.
    Tasks are numbered, and belong to a lane; a new task ends the older one of its lane, whose
    answer is dropped if it still comes. A lasting one ends by itself alone. What a task's answer
    is for, functions that hold widgets, stays on the window's thread; and while there is a worker,
    Python's collector of cycles works on the window's thread only.
    """

    busy_changed = Signal()
    _answered = Signal(int, object, object)  # number, value, error
    _progressed = Signal(int, float)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._collector = Collector(self)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(THREADS)
        self._count = 0
        self._errands: dict[int, _Errand] = {}
        self._answered.connect(self._take_answer)
        self._progressed.connect(self._take_progress)

    def start(
        self,
        task: Task,
        *,
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
        progressed: Callable[[float], None] = lambda share: None,
        lane: str = "work",
        lasting: bool = False,
    ) -> int:
        """Queue a task; its answer comes back on the window's thread.

        A lasting task writes what the person asked for: no other of its lane ends it, nor does
        the window that closes.
        """
        self.cancel(lane)
        self._count += 1
        errand = _Errand(
            number=self._count,
            lane=lane,
            done=done,
            failed=failed,
            progressed=progressed,
            lasting=lasting,
        )
        self._errands[errand.number] = errand
        number, stop = errand.number, errand.stop  # no widget goes to the other thread
        self._pool.start(lambda: self._run(number, task, stop))
        self.busy_changed.emit()
        return errand.number

    def cancel(self, lane: str = "work") -> None:
        """Ask the task of a lane to stop; it is forgotten at once, unless it is a lasting one."""
        ending = [one for one in self._errands.values() if one.lane == lane and not one.lasting]
        for errand in ending:
            errand.stop.set()
            del self._errands[errand.number]
        self.busy_changed.emit()

    def is_busy(self, lane: str = "work") -> bool:
        """Return whether an answer is awaited in a lane."""
        return any(errand.lane == lane for errand in self._errands.values())

    def close(self) -> None:
        """Stop everything and wait for it, a few seconds at most."""
        for errand in self._errands.values():
            if not errand.lasting:
                errand.stop.set()  # one that has not begun sees it, and does nothing
        self._errands.clear()
        if self._pool.waitForDone(5000):  # else a task goes on that must not collect
            self._collector.close()

    def _run(self, number: int, task: Task, stop: threading.Event) -> None:
        """Do a task; runs on the worker's thread."""
        last = 0.0

        def progress(share: float) -> None:
            nonlocal last
            now = time.monotonic()
            if now - last >= TELL_EVERY_S:
                last = now
                self._progressed.emit(number, share)

        value: object = None
        error: Exception | None = None
        try:
            if not stop.is_set():
                value = task(progress, stop.is_set)
        except Exception as raised:  # noqa: BLE001  (whatever it is, the window must hear of it)
            error = raised
        try:
            self._answered.emit(number, value, error)
        except RuntimeError:
            return  # the window is gone; nobody waits for the answer

    def _take_answer(self, number: int, value: object, error: Exception | None) -> None:
        errand = self._errands.pop(number, None)
        if errand is None:
            return  # a newer task took its place, or the person stopped it
        self.busy_changed.emit()
        if error is None:
            errand.done(value)
        elif not isinstance(error, Cancelled):
            errand.failed(error)

    def _take_progress(self, number: int, share: float) -> None:
        errand = self._errands.get(number)
        if errand is not None:
            errand.progressed(share)

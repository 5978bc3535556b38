"""Python's collector of cycles, kept to the window's thread."""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

EVERY_MS = 1000


class Collector(QObject):
    """Collects cycles on the thread that it lives on, and nowhere else, until it is closed.

    Python collects on whichever thread happens to allocate. A widget in a cycle that is found on
    the worker's thread would be destroyed there, which Qt does not survive. So the collector is
    switched off, and a timer of the window's thread does its work by its own thresholds.
    """

    _open = 0  # windows that collect by themselves; the last one switches Python's own on again

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.collect)
        self._timer.start(EVERY_MS)
        Collector._open += 1
        gc.disable()

    def collect(self) -> int:
        """Collect the oldest generation that is due; return how many objects went."""
        due = [
            generation
            for generation, (count, most) in enumerate(
                zip(gc.get_count(), gc.get_threshold(), strict=True)
            )
            if most and count > most
        ]
        return gc.collect(due[-1]) if due else 0

    def close(self) -> None:
        """Leave the collecting to Python again; a second call changes nothing."""
        if not self._timer.isActive():
            return
        self._timer.stop()
        Collector._open -= 1
        if Collector._open == 0:
            gc.enable()

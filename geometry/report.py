"""What long work says while it runs, and how it hears that it is to stop."""

from __future__ import annotations

import time
from collections.abc import Callable

from geometry.errors import Cancelled

LONG_SECONDS = 10.0  # a search that takes longer ends with what it has, unless told otherwise

Progress = Callable[[float], None]
Stop = Callable[[], bool]


class Report:
    """Tells how far the work is, hears whether to stop, and lets the window breathe."""

    def __init__(self, progress: Progress | None, stop: Stop | None) -> None:
        self._progress, self.stop = progress, stop
        self._first, self._last = 0.0, 1.0

    def between(self, first: float, last: float) -> Progress:
        """Set the share of the whole work that is counted from here on."""
        self._first, self._last = first, last
        return self.within(0.0, 1.0)

    def done(self) -> None:
        """Tell that the work is done; nothing is left to stop."""
        if self._progress is not None:
            self._progress(self._last)

    def part(self, first: float, last: float) -> Report:
        """Return a report of a stretch of that work, for what reports by itself."""
        return Report(self.within(first, last), self.stop)

    def within(self, first: float, last: float) -> Progress:
        """Return what to call with the share done of one stretch of that work."""
        span = self._last - self._first

        def tell(share: float) -> None:
            time.sleep(0)  # short calls one after another would keep the window's thread waiting
            if self.stop is not None and self.stop():
                raise Cancelled("the search was stopped.")
            if self._progress is not None:
                self._progress(self._first + span * (first + (last - first) * share))

        return tell

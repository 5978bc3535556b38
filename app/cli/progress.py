"""Progress of long work on standard error; silent when that is no terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def shown_progress(what: str) -> Iterator[Callable[[float], None]]:
    """Yield a function that shows a share of 0..1 as percent, on one line."""
    terminal = sys.stderr.isatty()

    def show(share: float) -> None:
        if terminal:
            sys.stderr.write(f"\r{what}: {100 * share:3.0f} %")
            sys.stderr.flush()

    if not terminal:
        sys.stderr.write(f"{what}\n")
    try:
        yield show
    finally:
        if terminal:
            sys.stderr.write("\r" + " " * (len(what) + 8) + "\r")

"""What the terminal shows: progress on standard error, what was found on standard output."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import typer

from app.files.errors import FileError


@contextmanager
def shown_progress(what: str) -> Iterator[Callable[[float], None]]:
    """Yield a function that shows a share of 0..1 as percent, on one line of a terminal.

    Where standard error is no terminal nothing is shown: an error stays the only line.
    """
    terminal = sys.stderr.isatty()

    def show(share: float) -> None:
        if terminal:
            sys.stderr.write(f"\r{what}: {100 * share:3.0f} %")
            sys.stderr.flush()

    try:
        yield show
    finally:
        if terminal:
            sys.stderr.write("\r" + " " * (len(what) + 8) + "\r")


def say(line: str = "") -> None:
    """Print a line of what was found; the results themselves are files.

    Where the reader has gone, as behind ``| head``, nothing is said and the work goes on.

    Raises
    ------
    FileError
        If standard output cannot be written for another reason, such as a full disk.
    """
    try:
        typer.echo(line)
    except OSError as error:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())  # what is left in the buffer goes nowhere
        os.close(nowhere)
        if not isinstance(error, BrokenPipeError):
            raise FileError(
                f"what was found could not be printed ({error.strerror}).",
                where="standard output",
                remedy="Send it elsewhere; the result files are not touched by this.",
            ) from error

"""What the terminal shows: progress on standard error, what was found on standard output."""

from __future__ import annotations

import json
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


def plain(text: str) -> str:
    r"""Return a text that steers no terminal: what cannot be seen is spelled as JSON spells it.

    Examples
    --------
    >>> print(plain("Elk\u202e skinner\x1b[2J"))
    Elk\u202e skinner\u001b[2J
    """
    if text.replace("\n", "").isprintable():
        return text
    return "".join(
        each if each.isprintable() or each == "\n" else json.dumps(each)[1:-1] for each in text
    )


def say(line: str = "") -> None:
    """Print a line of what was found, as `plain`; the results themselves are files.

    Where the reader has gone, as behind ``| head``, nothing is said and the work goes on.

    Raises
    ------
    FileError
        If standard output cannot be written for another reason, such as a full disk.
    """
    try:
        typer.echo(plain(line))
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

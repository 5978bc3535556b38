"""What the window says when something goes wrong: calmly, in place, and with the work kept."""

from __future__ import annotations

import logging
import re
import sys
import traceback
from collections.abc import Callable
from types import TracebackType

from PySide6.QtWidgets import QMessageBox, QWidget

from geometry.errors import ToolError

log = logging.getLogger("blankwright")

POINT = "with “Point at it” under “The piece”"
IN_THE_WINDOW = (  # what the command line calls an option, the window calls by its own control
    (re.compile(r": --inside \d+,\d+( or --inside \d+,\d+)*"), f", {POINT}"),
    (re.compile(r"\bwith --inside (\d+,\d+)"), rf"{POINT}, at pixel \1"),
    (re.compile(r"\bwith --inside( X,Y)?"), POINT),
    (re.compile(r"\bwith --line X1,Y1,X2,Y2"), "with the button “Mark the line”"),
    (re.compile(r"\bwith --subject steel"), "as “the steel itself” under “The piece”"),
    (re.compile(r", or write over it: --replace"), ""),
    (re.compile(r"\bMeasure with --edge (\w+)"), r"Choose the \1 side under “The piece”"),
)


def in_the_window(words: str) -> str:
    """Return words with the command line's options told as the window's controls.

    Examples
    --------
    >>> in_the_window("Close its gaps, or point inside the piece with --inside X,Y.")
    'Close its gaps, or point inside the piece with “Point at it” under “The piece”.'
    >>> in_the_window("Point inside another to take that: --inside 12,34 or --inside 5,6.")
    'Point inside another to take that, with “Point at it” under “The piece”.'
    """
    for option, control in IN_THE_WINDOW:
        words = option.sub(control, words)
    return words


def sentence_of(error: Exception) -> str:
    """Return an error as a sentence with its remedy; a defect says that it is one."""
    if isinstance(error, ToolError):
        message = error.message[:1].upper() + error.message[1:]
        return in_the_window(f"{message} {error.remedy}".strip())
    log.error("defect", exc_info=error)
    return (
        f"This is a defect of the program ({type(error).__name__}: {error}). "
        "Your job is unchanged; save it, and please report what you did."
    )


class LastNet:
    """Takes what nobody caught: logs it, tells the person once, and lets the window go on.

    Parameters
    ----------
    parent : QWidget
        Over which the message is shown.
    keep : callable
        Saves a copy of the work and returns where, or "" if that failed.
    """

    def __init__(self, parent: QWidget, keep: Callable[[], str]) -> None:
        self._parent = parent
        self._keep = keep
        self._box: QMessageBox | None = None
        self._before = sys.excepthook
        sys.excepthook = self._caught

    def release(self) -> None:
        """Give the hook back."""
        if sys.excepthook == self._caught:
            sys.excepthook = self._before

    def _caught(
        self, kind: type[BaseException], error: BaseException, trace: TracebackType | None
    ) -> None:
        if not issubclass(kind, Exception):
            self._before(kind, error, trace)
            return
        log.error("not caught", exc_info=(kind, error, trace))
        traceback.print_exception(kind, error, trace)
        if self._box is None:  # one message at a time, or a fault while drawing would bury us
            self._tell(error)

    def _tell(self, error: BaseException) -> None:
        copy = self._keep()
        kept = f"A copy of your job is in\n{copy}\n\n" if copy else "Save your job now.\n\n"
        box = QMessageBox(self._parent)
        box.setIcon(QMessageBox.Icon.Warning)
        box.setWindowTitle("Something went wrong")
        box.setText(f"The program made a mistake and went on. {kept}".strip())
        box.setInformativeText(f"What it says of itself: {type(error).__name__}: {error}")
        box.finished.connect(self._told)
        self._box = box
        box.open()  # not exec: the window goes on, and nothing waits inside the hook

    def _told(self) -> None:
        if self._box is not None:
            self._box.deleteLater()
            self._box = None

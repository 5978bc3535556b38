"""Asking for a name, one of several things, or a place to write to, until it can be used."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox, QWidget

from app.gui.errors import sentence_of
from geometry.errors import InputError, ToolError

Made = TypeVar("Made")
CALLED = "What you call it:"
LONGEST_PROPOSED = 60  # letters: of three bytes each they make a name that every system takes
DEVICES = re.compile(r"con|prn|aux|nul|(com|lpt)\d", re.IGNORECASE)  # names that Windows keeps


def ask_name(
    parent: QWidget, title: str, said: str, make: Callable[[str], Made], *, name: str = ""
) -> Made | None:
    """Ask for a name and return what is made of it; None where the person leaves it.

    Parameters
    ----------
    parent : QWidget
        Over which it is asked.
    title, said : str
        Of the question.
    make : callable
        Makes something of the name; where it raises a ToolError, that is said and the person is
        asked again.
    name : str
        What stands in the field first.
    """
    while True:
        name, taken = QInputDialog.getText(parent, title, said, text=name)
        if not taken:
            return None
        try:
            return make(name)
        except ToolError as error:
            said = sentence_of(error)


def ask_other_name(
    parent: QWidget,
    title: str,
    make: Callable[[str], Made],
    *,
    name: str,
    complain: Callable[[Exception], None],
) -> Made | None:
    """Return what is made of a thing's own name, told as ""; where that is taken ask for another.

    What no name can mend, as a file that cannot be read, is raised.
    """
    try:
        return make("")
    except InputError as error:
        complain(error)
        return ask_name(parent, title, CALLED, make, name=name)


def ask_one(parent: QWidget, title: str, said: str, named: Sequence[tuple[str, str]]) -> str | None:
    """Ask for one of several things by its name and return its key; None where it is left.

    Parameters
    ----------
    parent : QWidget
        Over which it is asked.
    title, said : str
        Of the question.
    named : sequence of (str, str)
        The keys, and what each is called; where several are called alike the key is shown too.
    """
    often = Counter(name for _, name in named)
    lines = [name if often[name] == 1 else f"{name} ({key})" for key, name in named]
    if len(set(lines)) < len(lines):  # one is called what another has for its name and key
        lines = [f"{number}. {line}" for number, line in enumerate(lines, start=1)]
    line, taken = QInputDialog.getItem(parent, title, said, lines, 0, False)
    return named[lines.index(line)][0] if taken else None


def ask_place(parent: QWidget, title: str, start: Path, kind: str) -> Path | None:
    """Ask where to write a file and return it; None where the person leaves it.

    Parameters
    ----------
    parent : QWidget
        Over which it is asked.
    title, kind : str
        Of the question; what such files are called, without their ending.
    start : Path
        What is proposed; its ending is the file's, whatever is typed. The dialog asks before a
        file is written over, yet of the name as typed: of one with the ending added we ask.
    """
    ending = start.suffix.lower()
    while True:
        kinds = f"{kind} (*{ending})"
        name, _ = QFileDialog.getSaveFileName(parent, title, str(start), kinds)
        if not name:
            return None
        path = Path(name)
        if path.suffix.lower() == ending:
            return path
        path = Path(f"{name}{ending}")
        where = f"{path.name} in {path.parent.resolve()}"
        if not path.exists() or may_write_over(parent, where):
            return path
        start = path


def saved_words(path: Path) -> str:
    """Return where a file was saved, its folder by the whole of its name."""
    return f"Saved {path.name} in {path.parent.resolve()}."


def may_write_over(parent: QWidget, what: str) -> bool:
    """Ask whether something may be written over, and return what the person says."""
    buttons = QMessageBox.StandardButton
    answer = QMessageBox.question(
        parent,
        "Write over it?",
        f"There is {what} already. Write over it?",
        buttons.Yes | buttons.Cancel,
        buttons.Cancel,
    )
    return bool(answer == buttons.Yes)


def file_name(text: str, other: str) -> str:
    """Return a text as a file's name that every system takes; another where nothing is left.

    Examples
    --------
    >>> file_name("Creek: 3/4 in. skinner", "job"), file_name("con", "job"), file_name("?", "job")
    ('Creek 34 in skinner', 'con_', 'job')
    """
    plain = re.sub(r"[^\w\- ]+", "", text)[:LONGEST_PROPOSED].strip() or other
    return f"{plain}_" if DEVICES.fullmatch(plain) else plain

"""Asking for a name, until it can be used."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtWidgets import QInputDialog, QWidget

from app.gui.errors import sentence_of
from geometry.errors import ToolError

Made = TypeVar("Made")


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

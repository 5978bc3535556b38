"""Asking which of the shapes in the trash is to come back."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.gui.asking import ask_one
from geometry.errors import ToolError

TITLE = "Take back from the trash"


def ask_trashed(parent: QWidget, keys: tuple[str, ...]) -> str | None:
    """Ask for a shape in the trash by its name and return its key; None where it is left."""
    return ask_one(parent, TITLE, "Which shape:", [(key, _name_of(key)) for key in keys])


def _name_of(key: str) -> str:
    """Return the name in a file of the trash; its key where it cannot be read."""
    from app.files.family_folder import trash_folder
    from app.files.own_families import ENDING, family_in_file

    try:
        return family_in_file(trash_folder() / f"{key}{ENDING}").name
    except ToolError:
        return key

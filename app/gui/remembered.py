"""What the window remembers from one day to the next, each a word in a small file."""

from __future__ import annotations

from typing import get_args

from app.document.lengths import Unit
from app.files.atomic import write_atomically
from app.files.data_folder import data_folder, made_data_folder
from app.gui.theme import Appearance
from geometry.errors import ToolError

APPEARANCE, UNIT = "appearance.txt", "unit.txt"
MOST_BYTES = 100


def remembered_appearance() -> Appearance:
    """Return the appearance that was chosen last; the desktop's where none was or can be read."""
    word = _remembered(APPEARANCE)
    return next((one for one in get_args(Appearance) if one == word), "system")


def remember_appearance(appearance: Appearance) -> None:
    """Keep an appearance; where that is not allowed it holds until the window is closed."""
    _remember(APPEARANCE, appearance)


def remembered_unit() -> Unit:
    """Return the unit that was chosen last; millimetres where none was or can be read."""
    word = _remembered(UNIT)
    return next((one for one in get_args(Unit) if one == word), "mm")


def remember_unit(unit: Unit) -> None:
    """Keep a unit for the next new job, where that is allowed."""
    _remember(UNIT, unit)


def _remembered(file_name: str) -> str:
    try:
        with (data_folder() / file_name).open(encoding="utf-8") as file:
            return file.read(MOST_BYTES).strip()
    except (OSError, ValueError):
        return ""


def _remember(file_name: str, word: str) -> None:
    try:
        made_data_folder()
        write_atomically(data_folder() / file_name, f"{word}\n".encode())
    except ToolError:
        return

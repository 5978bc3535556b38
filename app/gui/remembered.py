"""What the window remembers from one day to the next: its appearance, a word in a small file."""

from __future__ import annotations

from typing import get_args

from app.files.atomic import write_atomically
from app.files.data_folder import data_folder, made_data_folder
from app.gui.theme import Appearance
from geometry.errors import ToolError

FILE = "appearance.txt"
MOST_BYTES = 100


def remembered_appearance() -> Appearance:
    """Return the appearance that was chosen last; the desktop's where none was or can be read."""
    try:
        with (data_folder() / FILE).open(encoding="utf-8") as file:
            word = file.read(MOST_BYTES).strip()
    except (OSError, ValueError):
        return "system"
    return next((one for one in get_args(Appearance) if one == word), "system")


def remember_appearance(appearance: Appearance) -> None:
    """Keep an appearance; where that is not allowed it holds until the window is closed."""
    try:
        made_data_folder()
        write_atomically(data_folder() / FILE, f"{appearance}\n".encode())
    except ToolError:
        return

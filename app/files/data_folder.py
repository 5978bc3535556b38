"""The folder where a person's own things are kept between jobs."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from app.files.atomic import make_folder

NAME = "Blankwright"
OVERRIDE = "BLANKWRIGHT_DATA"  # names another folder


def data_folder() -> Path:
    """Return the folder, where each system has such things; it need not exist yet."""
    override = os.environ.get(OVERRIDE)
    if override:
        return Path(override)
    if sys.platform == "win32":
        home = os.environ.get("APPDATA")
        return (Path(home) if home else Path.home() / "AppData" / "Roaming") / NAME
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / NAME
    home = os.environ.get("XDG_DATA_HOME", "")
    base = Path(home) if os.path.isabs(home) else Path.home() / ".local" / "share"
    return base / NAME  # a relative one is to be ignored, says the base directory standard


def made_data_folder() -> Path:
    """Return the folder after making it; FileError where that is not allowed."""
    folder = data_folder()
    make_folder(folder, remedy=f"Name another one in {OVERRIDE}.")
    return folder

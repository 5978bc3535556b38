"""What a file holds: a drawing by its ending, a JSON file by a key that its kind alone has."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Literal

from app.files.atomic import read_bytes
from app.files.json_file import MAX_BYTES
from geometry.errors import ToolError

Kind = Literal["piece", "outline", "layout", ""]
KEYS: dict[str, Kind] = {
    "layout_schema": "layout",
    "billet_schema": "piece",
    "outline_schema": "outline",
}


DRAWINGS = (".json", ".dxf", ".svg")


def is_drawing(text: str) -> bool:
    """Return whether what a person named is a file with an outline in it, by its ending."""
    return Path(text).suffix.lower() in DRAWINGS


def kind_of(path: Path) -> Kind:
    """Return whether a file is a piece of steel, an outline or a layout; empty if it does not say.

    A file that cannot be read says nothing: whoever opens it says why.
    """
    try:
        content = json.loads(read_bytes(path, limit_bytes=MAX_BYTES).decode("utf-8-sig"))
    except (ToolError, ValueError, RecursionError):
        return ""
    if not isinstance(content, dict):
        return ""
    return next((kind for key, kind in KEYS.items() if key in content), "")

"""What a person names as an outline and is none: said what it is, and what to do with it."""

from __future__ import annotations

from pathlib import Path

from app.files.job_file import SUFFIX as JOB
from app.files.kinds import kind_of
from geometry.errors import InputError

PHOTOS = (".jpg", ".jpeg", ".png", ".heic", ".heif", ".tif", ".tiff", ".webp", ".avif", ".bmp")
TAKEN = "an outline is a family, or a .json, .dxf, .svg or .toml file."


def check_source(text: str, where: str = "", *, piece: bool = False) -> None:
    """Refuse a file that holds no outline, by its ending or by its kind.

    Parameters
    ----------
    text : str
        A family, or a file.
    where : str
        The option it stands behind; empty for an argument.
    piece : bool
        Whether a measured piece of steel can be used.

    Raises
    ------
    InputError
        If it is a photo, a job, a layout or something else that cannot be used.
    """
    ending = Path(text).suffix.lower()
    told = _what(text, ending, piece=piece)
    if told:
        what, remedy = told
        raise InputError(f"“{text}” is {what}.", where=where, remedy=remedy)


def _what(text: str, ending: str, *, piece: bool) -> tuple[str, str] | None:
    """Return what a file is that is no outline, and the remedy; None for what may be one."""
    if ending in PHOTOS:
        return "a photo", f"Measure it: blankwright capture {text} --outline OUTLINE.json"
    if ending == JOB:
        return "a job", f"Open it in the window, blankwright {text}, and keep its outline there."
    if ending == ".json":
        kind = kind_of(Path(text))
        if kind == "layout":
            return "a layout", "Give the outline that it was made of; pattern draws a layout."
        if kind == "piece" and not piece:
            made = f"blankwright outline {text} --out OUTLINE.json"
            return "a measured piece of steel", f"Make an outline of it: {made}"
    elif ending not in ("", ".dxf", ".svg", ".toml") and Path(text).is_file():
        return f"a {ending} file", TAKEN[0].upper() + TAKEN[1:]
    return None

"""Running other people's readers on other people's files."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from app.files.errors import FileError
from geometry.errors import ToolError

T = TypeVar("T")


def guarded(read: Callable[[], T], where: str) -> T:
    """Return what a reader gives; whatever it stumbles over, the file is to blame.

    Parameters
    ----------
    read : callable
        Calls the library.
    where : str
        The file, for the message.

    Raises
    ------
    FileError
        For any error of the library.
    """
    try:
        return read()
    except (MemoryError, ToolError):
        raise
    except Exception as error:
        told = (
            str(error) if isinstance(error, OverflowError) else f"{type(error).__name__}: {error}"
        )
        reason = " ".join(told.split())
        raise FileError(
            f"the drawing is damaged or too large ({reason[:160]}).",
            where=where,
            remedy="Save the profile alone, as plain lines, from the program that drew it.",
        ) from error

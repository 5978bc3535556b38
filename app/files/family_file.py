"""The file of one family: read once as long as it stays as it is, and checked as it is written."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from app.files.atomic import read_bytes
from app.files.errors import FileError
from app.files.json_file import blamed_on
from geometry.family import Family, family_from_text
from geometry.family.saving import family_text
from geometry.family.table import plain

ENDING = ".toml"
MAX_BYTES = 4_000_000  # four bytes a letter of the longest text that is read


def family_in_file(path: Path) -> Family:
    """Return the family in a file, an older format brought up to date.

    Raises
    ------
    FileError
        If it cannot be read, is no family, or is of a newer format.
    """
    if not path.name.isprintable():
        raise FileError(
            "its name has a letter that cannot be shown.",
            where=plain(str(path)),
            remedy="Give the file another name.",
        )
    data = read_bytes(path, limit_bytes=MAX_BYTES)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(
            "it is no family: it is not text.", where=str(path), remedy="Check the file."
        ) from error
    with blamed_on(str(path)):
        return family_from_text(text.replace("\r\n", "\n"), path.stem)


def family_as_it_is(path: Path) -> Family:
    """Return the family in a file, read anew only when it changed; raises as `family_in_file`."""
    try:
        state = path.stat()
    except OSError:
        return family_in_file(path)  # says why
    return _read_once(path, state.st_ino, state.st_mtime_ns, state.st_size)


@lru_cache(maxsize=256)
def _read_once(path: Path, _file: int, _changed_ns: int, _size: int) -> Family:
    return family_in_file(path)


def family_bytes(family: Family) -> bytes:
    """Return a family's file, read back first: one that cannot be read is never written.

    Raises
    ------
    InputError
        If it could not be read again, as with a number beyond all measure.
    """
    text = family_text(family)
    family_from_text(text, family.key)
    return text.encode()

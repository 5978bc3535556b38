"""The folder of the maker's own families, its files and its trash."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.files.alone import alone
from app.files.atomic import make_folder, read_bytes, write_atomically
from app.files.data_folder import OVERRIDE, data_folder, made_data_folder
from app.files.errors import FileError
from app.files.family_file import ENDING, family_in_file
from geometry.errors import InputError, ToolError
from geometry.family.library import same_words

FOLDER, TRASH, LOCK = "families", "trash", ".families.lock"
MOST_IN_TRASH = 1000  # of one name


def families_folder() -> Path:
    """Return the folder; it need not exist yet."""
    return data_folder() / FOLDER


def trash_folder() -> Path:
    """Return the trash in it; it need not exist yet."""
    return families_folder() / TRASH


@contextmanager
def changing() -> Iterator[None]:
    """Let no other window or command change the folder meanwhile; raises as `alone`."""
    with alone(made_data_folder() / LOCK):
        yield


def files_in(folder: Path) -> list[Path]:
    """Return the families' files in the folder or its trash, those being written left out."""
    is_trash = folder == trash_folder()
    what = "the trash" if is_trash else "the folder of families"
    other = "move it away" if is_trash else f"name another one in {OVERRIDE}"
    with blamed(
        f"{what} cannot be read", folder, f"Make it a folder that can be read, or {other}."
    ):
        try:
            found = list(folder.iterdir())
        except FileNotFoundError:
            found = []  # nothing was kept yet
    return [path for path in found if path.suffix == ENDING and not path.name.startswith(".")]


def file_of(key: str) -> Path:
    """Return where the family of a key lies, or would."""
    return families_folder() / f"{key}{ENDING}"


def is_there(path: Path) -> bool:
    """Return whether there is something at a path; FileError where that cannot be known."""
    with blamed("the folder of families cannot be read", path.parent):
        return path.exists()


def throw_away(path: Path) -> Path:
    """Move a family's file to the trash; return where it lies there."""
    place = _free_in_trash(path)
    with blamed("the file cannot be moved", path):
        return path.rename(place)


def trashed_families() -> tuple[str, ...]:
    """Return what lies in the trash, as `restore_family` takes it."""
    return tuple(sorted(path.stem for path in files_in(trash_folder())))


def names_in_trash() -> dict[str, str]:
    """Return the name of each family in the trash by its key; the key of one that is none."""
    found = {}
    for key in trashed_families():
        try:
            found[key] = family_in_file(trash_folder() / f"{key}{ENDING}").name
        except ToolError:
            found[key] = key
    return found


def in_trash(text: str) -> Path:
    """Return a file in the trash, by its key or its family's name; InputError where there is none.

    Of several of one name it is the one that was thrown away first.
    """
    names, asked = names_in_trash(), text.strip()
    named = (key for key, name in names.items() if same_words(name, asked))
    key = asked if asked in names else next(named, None)
    if key is None:
        raise InputError(
            f"the trash has no family “{text}”.",
            where="Family",
            remedy=f"It has: {', '.join(names)}." if names else "It is empty.",
        )
    return trash_folder() / f"{key}{ENDING}"


def write_over(path: Path, data: bytes) -> None:
    """Write a family's file; what lay there is in the trash before it is gone."""
    make_folder(path.parent)
    if is_there(path):
        old = read_bytes(path)
        if old == data:
            return
        write_atomically(_free_in_trash(path), old)
    write_atomically(path, data)


def take_away(path: Path) -> None:
    """Delete a family's file that is kept elsewhere."""
    with blamed("the old file cannot be taken away", path):
        path.unlink(missing_ok=True)


@contextmanager
def blamed(what: str, path: Path, remedy: str = "") -> Iterator[None]:
    """Tell what the system refuses as what it means for a file."""
    try:
        yield
    except OSError as error:
        message = f"{what} ({error.strerror})."
        raise FileError(message, where=str(path), remedy=remedy) from error


def _free_in_trash(path: Path) -> Path:
    """Return a name in the trash that no other file has."""
    trash = trash_folder()
    make_folder(trash, remedy="Move away what is there in its place.")
    for number in range(1, MOST_IN_TRASH):
        place = trash / (path.name if number == 1 else f"{path.stem}_{number}{ENDING}")
        if not is_there(place):
            return place
    raise FileError(
        "the trash is full of families of that name.", where=str(trash), remedy="Empty it."
    )

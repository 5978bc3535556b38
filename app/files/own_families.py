"""Families of the maker's own: single files in a folder of the maker's data."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from app.files.atomic import make_folder, write_atomically
from app.files.data_folder import OVERRIDE, data_folder
from app.files.errors import FileError
from app.files.family_file import ENDING as ENDING  # for those who keep families
from app.files.family_file import family_as_it_is, family_bytes
from app.files.family_file import family_in_file as family_in_file
from app.files.json_file import blamed_on
from geometry.errors import InputError, ToolError
from geometry.family import Family, built_in_families
from geometry.family.changes import checked_name as checked_name
from geometry.family.library import named_among, same_words
from geometry.family.saving import key_of

FOLDER, TRASH = "families", "trash"
MOST_IN_TRASH = 1000  # of one name


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFamilies:
    """What the folder holds: the families by name, and why some files or all of it are none."""

    families: tuple[Family, ...]
    problems: tuple[ToolError, ...]
    is_readable: bool = True


def families_folder() -> Path:
    """Return the folder; it need not exist yet."""
    return data_folder() / FOLDER


def own_families() -> OwnFamilies:
    """Return the maker's own families; what is none, or cannot be read, stops no other."""
    families: list[Family] = []
    problems: list[ToolError] = []
    taken = {family.key for family in built_in_families()}
    try:
        paths = sorted(_files_in(families_folder()))
    except FileError as error:  # those that come with the program need no folder
        return OwnFamilies(families=(), problems=(error,), is_readable=False)
    for path in paths:
        try:
            if path.stem in taken:
                raise FileError(
                    "it has the name of a family that comes with the program.",
                    where=str(path),
                    remedy="Give the file another name.",
                )
            families.append(family_as_it_is(path))
        except ToolError as error:
            problems.append(error)
    families.sort(key=lambda family: family.name.casefold())
    return OwnFamilies(families=tuple(families), problems=tuple(problems))


def families_known() -> tuple[Family, ...]:
    """Return all families: those that come with the program, then the maker's own."""
    return (*built_in_families(), *own_families().families)


def family_known(text: str) -> Family:
    """Return the family with a name, a key or a file.

    Raises
    ------
    InputError
        If there is none, or more than one; the message lists the keys.
    FileError
        If it is a file that cannot be read, or is no family.
    """
    if text.lower().endswith(ENDING):
        return family_in_file(Path(text))
    own = own_families()
    try:
        return named_among(text, (*built_in_families(), *own.families))
    except InputError:
        for problem in own.problems:
            if Path(problem.where).stem == text:
                raise problem from None
        if not own.is_readable:  # it may be one of those
            raise own.problems[0] from None
        raise


def own_family(text: str) -> Family:
    """Return one of the maker's own families; raises as `family_known`.

    A file elsewhere of the same name, and a family of the program's, never stand for its own file.
    """
    family = family_known(text)
    path = _path_of(family)
    by_file = text.lower().endswith(ENDING)
    comes_along = not by_file and family in built_in_families()
    if comes_along or not _is_there(path) or (by_file and not path.samefile(text)):
        raise InputError(
            f"“{family.name}” comes with the program, and stays as it is."
            if comes_along
            else f"“{family.name}” is none of your own families.",
            where="Family",
            remedy="Duplicate it, and change the copy.",
        )
    return family


def save_family(family: Family, *, over: bool = False) -> Family:
    """Keep a family in the folder, under its name.

    Parameters
    ----------
    family : Family
        Its key becomes what follows from its name.
    over : bool
        Whether an own one of that name may be written over.

    Raises
    ------
    InputError
        If the name cannot be used, is taken, or the family cannot be drawn.
    FileError
        If the folder cannot be written.
    """
    name = checked_name(family.name)
    kept = replace(family, name=name, key=key_of(name))
    _check_free(kept, over=over)
    kept.outline()  # a family that cannot be drawn at its usual values is of no use to anybody
    _write(kept)
    return kept


def import_family(path: Path, *, name: str = "", over: bool = False) -> Family:
    """Keep a family from a file anywhere; raises as `family_in_file` and `save_family`."""
    family = family_in_file(path)
    with blamed_on(str(path)):
        family.outline()
    return save_family(replace(family, name=name or family.name), over=over)


def export_family(text: str, path: Path) -> Family:
    """Write any family to a file, for another maker; raises as `family_known`."""
    family = family_known(text)
    write_atomically(path, family_bytes(family))
    return family


def duplicate_family(text: str, name: str, *, over: bool = False) -> Family:
    """Keep any family under another name, as one of the maker's own; `over` as in `save_family`."""
    return save_family(replace(family_known(text), name=name), over=over)


def rename_family(text: str, name: str, *, over: bool = False) -> Family:
    """Give one of the maker's own families another name; `over` as in `save_family`."""
    old = own_family(text)
    renamed = replace(old, name=checked_name(name), key=key_of(name))
    if renamed.key != old.key:
        _check_free(renamed, over=over, but=old)
    _write(renamed)
    if renamed.key != old.key:
        _removed(_path_of(old))
    return renamed


def change_family(old: Family, new: Family) -> Family:
    """Write one of the maker's own families anew, after a change of its values or notes.

    Raises
    ------
    InputError
        If `old` is not what lies in the folder: what was changed there since would be lost.
    """
    kept = own_family(old.key)
    if kept != old:
        raise InputError(
            f"“{kept.name}” was changed in the folder since it was taken into this job.",
            where="Family",
            remedy="Choose it in the list again, which takes it as it is now.",
        )
    new.outline()
    _write(replace(new, key=kept.key))
    return new


def delete_family(text: str) -> Path:
    """Move one of the maker's own families to the trash; return where it lies there."""
    path = _path_of(own_family(text))
    trash = families_folder() / TRASH
    make_folder(trash)
    for number in range(1, MOST_IN_TRASH):
        place = trash / (path.name if number == 1 else f"{path.stem}_{number}{ENDING}")
        if not _is_there(place):
            with _blamed("the file cannot be moved", path):
                return path.rename(place)
    raise FileError(
        "the trash is full of families of that name.", where=str(trash), remedy="Empty it."
    )


def trashed_families() -> tuple[str, ...]:
    """Return what lies in the trash, as `restore_family` takes it."""
    return tuple(sorted(path.stem for path in _files_in(families_folder() / TRASH)))


def restore_family(text: str, *, name: str = "", over: bool = False) -> Family:
    """Take a family out of the trash, under its old name or another.

    Parameters
    ----------
    text : str
        As `trashed_families` names it.
    name : str
        Another name for it; empty for its own.
    over : bool
        Whether an own one of that name may be written over.

    Raises
    ------
    InputError
        If the trash has none of that name, or its name was taken since.
    """
    names = trashed_families()
    stem = text.strip() if text.strip() in names else key_of(text)
    path = families_folder() / TRASH / f"{stem}{ENDING}"
    if stem not in names:
        raise InputError(
            f"the trash has no family “{text}”.",
            where="Family",
            remedy=f"It has: {', '.join(names)}." if names else "It is empty.",
        )
    trashed = family_in_file(path)
    family = save_family(replace(trashed, name=name or trashed.name), over=over)
    _removed(path)
    return family


def _check_free(family: Family, *, over: bool, but: Family | None = None) -> None:
    """Check that a family's name and key are no other's; its own again only where told."""
    for other in families_known():
        same = other.key == family.key or same_words(other.name, family.name)
        if not same or (but is not None and other.key == but.key):
            continue
        own = other not in built_in_families()
        if over and own and other.key == family.key:
            continue
        raise InputError(
            f"there is a family “{other.name}” already.",
            where="Family",
            remedy="Choose another name"
            + (", or write over it: --replace." if own and other.key == family.key else "."),
        )
    path = _path_of(family)
    if _is_there(path) and not over and (but is None or path != _path_of(but)):
        raise InputError(
            f"there is a file {path} already, which is no family.",
            where="Family",
            remedy="Move it away, or choose another name.",
        )


def _files_in(folder: Path) -> list[Path]:
    """Return the families' files in a folder, those that are being written left out."""
    remedy = f"Make it a folder that can be read, or name another one in {OVERRIDE}."
    with _blamed("the folder of families cannot be read", folder, remedy):
        try:
            found = list(folder.iterdir())
        except FileNotFoundError:
            found = []  # nothing was kept yet
    return [path for path in found if path.suffix == ENDING and not path.name.startswith(".")]


def _path_of(family: Family) -> Path:
    return families_folder() / f"{family.key}{ENDING}"


def _write(family: Family) -> None:
    data = family_bytes(family)
    make_folder(families_folder())
    write_atomically(_path_of(family), data)


@contextmanager
def _blamed(what: str, path: Path, remedy: str = "") -> Iterator[None]:
    try:
        yield
    except OSError as error:
        message = f"{what} ({error.strerror})."
        raise FileError(message, where=str(path), remedy=remedy) from error


def is_kept(key: str) -> bool:
    """Return whether the maker's folder has a family of this key."""
    return _is_there(families_folder() / f"{key}{ENDING}")


def _is_there(path: Path) -> bool:
    with _blamed("the folder of families cannot be read", path.parent):
        return path.exists()


def _removed(path: Path) -> None:
    with _blamed("the old file cannot be taken away", path):
        path.unlink(missing_ok=True)

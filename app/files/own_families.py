"""Families of the maker's own: single files in a folder of the maker's data."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from app.files.atomic import make_folder, write_atomically
from app.files.errors import FileError
from app.files.family_file import ENDING as ENDING  # for those who keep families
from app.files.family_file import family_as_it_is, family_bytes
from app.files.family_file import family_in_file as family_in_file
from app.files.family_folder import (
    changing,
    file_of,
    files_in,
    in_trash,
    is_there,
    take_away,
    throw_away,
    write_over,
)
from app.files.family_folder import families_folder as families_folder
from app.files.family_folder import trashed_families as trashed_families
from app.files.family_name import name_and_key, under_name
from app.files.json_file import blamed_on
from app.files.kinds import is_drawing
from geometry.errors import InputError, ToolError
from geometry.family import Family, built_in_families
from geometry.family.changes import checked_name as checked_name
from geometry.family.library import named_among, same_words


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFamilies:
    """What the folder holds: the families by name, and why some files or all of it are none."""

    families: tuple[Family, ...]
    problems: tuple[ToolError, ...]
    is_readable: bool = True


def own_families() -> OwnFamilies:
    """Return the maker's own families; what is none, or cannot be read, stops no other."""
    families: list[Family] = []
    problems: list[ToolError] = []
    taken = {family.key for family in built_in_families()}
    try:
        paths = sorted(files_in(families_folder()))
    except FileError as error:  # those that come with the program need no folder
        return OwnFamilies(families=(), problems=(error,), is_readable=False)
    for path in paths:
        try:
            if path.stem.casefold() in taken:  # one file where a system knows no capitals
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
    own = own_families()
    known = (*built_in_families(), *own.families)
    is_file = text.lower().endswith(ENDING)
    for family in known:
        if family.key == text or (is_file and family.name == text and not Path(text).exists()):
            return family
    if is_file:
        return family_in_file(Path(text))
    if is_drawing(text):
        raise InputError(
            f"“{text}” is a drawing, and no family.",
            where="Family",
            remedy=f"Measure it: blankwright outline {text}. Make a family of it: "
            f"blankwright family save {text} --name NAME",
        )
    try:
        return named_among(text, known)
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
    path = file_of(family.key)
    by_file = text.lower().endswith(ENDING)
    comes_along = not by_file and family in built_in_families()
    if comes_along or not is_there(path) or (by_file and not path.samefile(text)):
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
        Whether an own one of that name may be written over; it goes to the trash.

    Raises
    ------
    InputError
        If the name cannot be used, is taken, or the family cannot be drawn.
    FileError
        If the folder cannot be written.
    """
    with changing():
        return _saved(family, over=over)


def free_name(name: str) -> str:
    """Return a name, tidied, that a family can be kept under; InputError where it is taken."""
    return name_and_key(name, families_known(), over=False)[0]


def _saved(family: Family, *, over: bool) -> Family:
    kept = under_name(family, family.name, families_known(), over=over)
    kept.outline()  # a family that cannot be drawn at its usual values is of no use to anybody
    write_over(file_of(kept.key), family_bytes(kept))
    return kept


def put_family(family: Family) -> Family:
    """Keep a family as a job has it, in place of the own one that it was, which goes to the trash.

    That is the one of its key, unless it has another name: then it is another.

    Raises
    ------
    InputError
        If its name is that of another one by now.
    """
    with changing():
        there = own_of(family.key)
        own = there is not None and same_words(there.name, family.name)
        kept = under_name(
            family, family.name, families_known(), over=False, but=family if own else None
        )
        kept = replace(kept, key=family.key) if own else kept
        kept.outline()
        write_over(file_of(kept.key), family_bytes(kept))
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
    with changing():
        old = own_family(text)
        renamed = under_name(old, name, families_known(), over=over, but=old)
        if renamed.key == old.key:
            _write(renamed)
        else:
            write_over(file_of(renamed.key), family_bytes(renamed))
            take_away(file_of(old.key))
        return renamed


def change_family(old: Family, new: Family) -> Family:
    """Write one of the maker's own families anew, after a change of its values or notes.

    Raises
    ------
    InputError
        If `old` is not what lies in the folder: what was changed there since would be lost.
    """
    new.outline()
    with changing():
        kept = own_family(old.key)
        if kept != old:
            raise InputError(
                f"“{kept.name}” was changed in the folder since it was taken from there.",
                where="Family",
                remedy="Take it as it is there now, and change that.",
            )
        changed = replace(new, key=kept.key)
        _write(changed)
    return changed


def delete_family(text: str) -> Path:
    """Move one of the maker's own families to the trash; return where it lies there."""
    with changing():
        return throw_away(file_of(own_family(text).key))


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
    with changing():
        path = in_trash(text)
        trashed = family_in_file(path)
        family = _saved(replace(trashed, name=name or trashed.name), over=over)
        take_away(path)
    return family


def kept_of(key: str) -> Family | None:
    """Return the family that has a key now, the program's or the maker's own; None without one."""
    for family in built_in_families():
        if family.key == key:
            return family
    path = file_of(key)
    if path.name != f"{key}{ENDING}":
        return None  # a job from elsewhere may name a file in another folder
    try:
        return family_as_it_is(path) if is_there(path) else None
    except ToolError:
        return None  # what lies there is none


def own_of(key: str) -> Family | None:
    """Return the maker's own family that has a key now; None without one."""
    family = kept_of(key)
    return None if family in built_in_families() else family


def _write(family: Family) -> None:
    data = family_bytes(family)
    make_folder(families_folder())
    write_atomically(file_of(family.key), data)

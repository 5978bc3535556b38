"""The name of a family of the maker's own, and of its file: no other's."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Sequence
from dataclasses import replace

from app.files.family_folder import file_of, is_there
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.family.changes import checked_name
from geometry.family.library import same_words
from geometry.family.saving import key_of

MOST_OF_A_KEY = 1000  # names that leave one key, as those without a letter do


def under_name(
    family: Family,
    name: str,
    known: Sequence[Family],
    *,
    over: bool,
    but: Family | None = None,
) -> Family:
    """Return a family under a name and a key that are no other's; as `name_and_key`."""
    tidy, key = name_and_key(name, known, over=over, but=but)
    return replace(family, name=tidy, key=key)


def name_and_key(
    name: str, known: Sequence[Family], *, over: bool, but: Family | None = None
) -> tuple[str, str]:
    """Return a name, tidied, and a key for it, that are no other's.

    Parameters
    ----------
    name : str
    known : sequence of Family
        The program's and the maker's own.
    over : bool
        Whether it may be the name and the key of an own one.
    but : Family, optional
        One of the maker's own that gives way to it.

    Raises
    ------
    InputError
        If the name cannot be used, or is taken.
    """
    tidy = unicodedata.normalize("NFC", checked_name(name))  # however a keyboard writes an é
    known = [each for each in known if but is None or each.key != but.key]
    namesake = next((each for each in known if same_words(each.name, tidy)), None)
    if namesake is not None:
        own = namesake not in built_in_families()
        if over and own:
            return tidy, namesake.key
        raise InputError(
            f"there is a family “{namesake.name}” already.",
            where="Family",
            remedy="Choose another name" + (", or write over it: --replace." if own else "."),
        )
    key = _free_key(key_of(tidy), {each.key.casefold() for each in known})
    path = file_of(key)
    if is_there(path) and not over and (but is None or key != but.key):
        raise InputError(
            f"there is a file {path} already, which is no family.",
            where="Family",
            remedy="Move it away, or choose another name.",
        )
    return tidy, key


def _free_key(key: str, taken: Collection[str]) -> str:
    """Return a key, with a number where a family of another name has it."""
    numbered = (key, *(f"{key}_{number}" for number in range(2, MOST_OF_A_KEY)))
    free = next((each for each in numbered if each not in taken), None)
    if free is None:
        raise InputError(
            "too many families have names like this one.",
            where="Family",
            remedy="Give it a name with other letters.",
        )
    return free

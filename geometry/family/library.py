"""The families that come with the program."""

from __future__ import annotations

from collections.abc import Sequence
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from geometry.errors import InputError
from geometry.family.model import Family
from geometry.family.reading import family_from_text


@cache
def built_in_families() -> tuple[Family, ...]:
    """Return the families that come with the program, by name."""
    folder = files("geometry") / "families"
    found = [
        family_from_text(entry.read_text(encoding="utf-8"), entry.name.removesuffix(".toml"))
        for entry in folder.iterdir()
        if entry.name.endswith(".toml")
    ]
    return tuple(sorted(found, key=lambda family: family.name))


def family_named(text: str) -> Family:
    """Return the built-in family with a key or a name, or the only one with all the words asked.

    Raises
    ------
    InputError
        If there is none, or more than one; the message lists the keys, or those it may mean.

    Examples
    --------
    >>> family_named("drop point").name
    'Full-tang drop point'
    """
    return named_among(text, built_in_families())


def named_among(text: str, families: Sequence[Family]) -> Family:
    """Return the one of some families that is asked for; raises as `family_named`."""
    asked = _words(text)
    exact = [f for f in families if asked in (_words(f.key), _words(f.name))]
    close = [f for f in families if asked and set(asked) <= {*_words(f.key), *_words(f.name)}]
    for found in (exact, close):
        if len(found) == 1:
            return found[0]
    meant = exact or close
    keys = ", ".join(family.key for family in meant or families)
    how_many = "is more than one" if meant else "is no"
    remedy = f"Say which: {keys}." if meant else f"{_like(text, families)}There are: {keys}."
    raise InputError(f"there {how_many} family “{text}”.", where="Family", remedy=remedy)


def _like(text: str, families: Sequence[Family]) -> str:
    """Return the question whether another family was meant; empty where none is called so."""
    names = {
        " ".join(_words(each)): family for family in families for each in (family.key, family.name)
    }
    like = get_close_matches(" ".join(_words(text)), names, n=1)
    return f"Did you mean {names[like[0]].key}? " if like else ""


def same_words(one: str, other: str) -> bool:
    """Return whether two names differ in nothing but capitals, dashes and spaces."""
    return _words(one) == _words(other)


def _words(text: str) -> list[str]:
    return text.casefold().replace("-", " ").replace("_", " ").split()

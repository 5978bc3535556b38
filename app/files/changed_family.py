"""A change of one of the maker's own families, made on it as it lies in the folder by now."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from app.files.own_families import change_family, delete_family, own_of, rename_family
from geometry.errors import InputError
from geometry.family import Family
from geometry.family.library import same_words


def as_kept(taken: Family) -> Family:
    """Return one of the maker's own families as it lies in the folder now.

    Parameters
    ----------
    taken : Family
        It as it was taken from there. Notes, sizes and ranges may be others there by now.

    Raises
    ------
    InputError
        If it is gone, or drawn otherwise there, or at other usual measures.
    """
    now = own_of(taken.key)
    if now is None or not same_words(now.name, taken.name):  # a file of that name may be another's
        raise InputError(
            f"“{taken.name}” is no longer among your own families.",
            where="Family",
            remedy="Keep it again.",
        )
    if now != taken and _drawn(now) != _drawn(taken):
        raise InputError(
            f"“{now.name}” was changed in the folder: its usual measures, or how it is drawn.",
            where="Family",
            remedy="Take it as it is there now, and change that; your measures are kept.",
        )
    return now


def is_kept(taken: Family) -> bool:
    """Return whether the folder has a family as it was taken from there; as `as_kept`."""
    try:
        as_kept(taken)
    except InputError:
        return False
    return True


def change_kept(taken: Family, change: Callable[[Family], Family]) -> Family:
    """Make a change on one of the maker's own families; raises as `as_kept` and the change.

    Parameters
    ----------
    taken : Family
        It as it was taken from there; what is changed there since stays, but for the change.
    change : callable
        Makes the changed family of the one that lies there.
    """
    now = as_kept(taken)
    return change_family(now, change(now))


def rename_kept(taken: Family, name: str) -> Family:
    """Give one of the maker's own families another name; raises as `as_kept` and a rename."""
    return rename_family(as_kept(taken).key, name)


def delete_kept(taken: Family) -> Path:
    """Move one of the maker's own families to the trash; raises as `as_kept` and a move."""
    return delete_family(as_kept(taken).key)


def _drawn(family: Family) -> Family:
    """Return what of a family draws it at its usual measures."""
    usual = (
        replace(each, label="", help="", low=each.default, high=each.default)
        for each in family.parameters
    )
    return replace(family, key="", name="", notes="", sizes=(), parameters=tuple(usual))

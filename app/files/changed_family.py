"""A change of one of the maker's own families, made on it as it lies in the folder by now."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from app.files.own_families import change_family, is_kept, own_family
from geometry.errors import InputError
from geometry.family import Family


def change_kept(taken: Family, change: Callable[[Family], Family]) -> Family:
    """Make a change on one of the maker's own families as it lies in the folder now.

    Parameters
    ----------
    taken : Family
        It as it was taken from there. Notes, sizes and ranges may be others there by now: they
        stay, but for the change.
    change : callable
        Makes the changed family of the one that lies there.

    Raises
    ------
    InputError
        If it is gone, or drawn otherwise there, or at other usual measures; as `change`.
    """
    if not is_kept(taken.key):
        raise InputError(
            f"“{taken.name}” is no longer among your own families.",
            where="Family",
            remedy="Keep it again.",
        )
    now = own_family(taken.key)
    if _drawn(now) != _drawn(taken):
        raise InputError(
            f"“{now.name}” was changed in the folder: its usual measures, or how it is drawn.",
            where="Family",
            remedy="Take it as it is there now, and change that; your measures are kept.",
        )
    return change_family(now, change(now))


def _drawn(family: Family) -> Family:
    """Return what of a family draws it at its usual measures."""
    usual = (
        replace(each, label="", help="", low=each.default, high=each.default)
        for each in family.parameters
    )
    return replace(family, key="", name="", notes="", sizes=(), parameters=tuple(usual))

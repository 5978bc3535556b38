"""The family of a job's outline: one of the program's, or the text that the job keeps."""

from __future__ import annotations

from functools import lru_cache

from app.document.job import OutlineChoice
from geometry.family import Family, built_in_families, family_from_text, family_named
from geometry.family.saving import family_text


def chosen_family(choice: OutlineChoice) -> Family:
    """Return the family of a choice that is no drawing.

    Raises
    ------
    InputError
        If the program has no such family, or its text in the job is none.
    """
    if choice.family_text:
        return _read(choice.family_text, choice.family)
    return family_named(choice.family)


def choice_of(family: Family) -> OutlineChoice:
    """Return the choice of a family at its usual values, the text of an own one with it."""
    own = family not in built_in_families()
    return OutlineChoice(family=family.key, family_text=family_text(family) if own else "")


_read = lru_cache(maxsize=16)(family_from_text)  # it is asked for at each step of a slider

"""The family of a job's outline: one of the program's, or the text that the job keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

from app.document.job import OutlineChoice
from app.document.stretch_told import check_measures, check_places
from geometry.family import Family, built_in_families, family_from_text, family_named
from geometry.family.changes import with_default, with_notes
from geometry.family.saving import family_of, family_text, key_of
from geometry.from_contour import in_frame
from geometry.outline import Outline

_read = lru_cache(maxsize=16)(family_from_text)  # it is asked for at each step of a slider


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


def saved_as(
    choice: OutlineChoice,
    *,
    name: str,
    notes: str = "",
    as_drawn: bool = False,
    stretch: Mapping[str, tuple[float, float] | None] | None = None,
) -> Family:
    """Return a family of the maker's own from an outline at hand.

    Parameters
    ----------
    choice : OutlineChoice
        A drawing becomes a family that stretches, in the outline frame; a family keeps its
        measures, with the values at hand as the usual ones.
    name, notes : str
        What to call it; the old notes stay where none are told.
    as_drawn : bool
        Whether a family, too, is taken as drawn, and stretches.
    stretch : mapping, optional
        Where it stretches, as in `geometry.family.saving.family_of`.

    Raises
    ------
    InputError
        If the outline cannot be drawn, or a place to stretch at makes no sense.
    """
    if choice.drawing is not None:
        return _stretching(choice.drawing, name=name, notes=notes, stretch=stretch)
    family = chosen_family(choice)
    if as_drawn or stretch:
        outline = family.outline(dict(choice.values))
        return _stretching(outline, name=name, notes=notes or family.notes, stretch=stretch)
    for key, value in choice.values:
        family = with_default(family, key, value)
    return with_notes(replace(family, name=name, key=key_of(name)), notes or family.notes)


def _stretching(
    outline: Outline,
    *,
    name: str,
    notes: str,
    stretch: Mapping[str, tuple[float, float] | None] | None,
) -> Family:
    """Return an outline as a family in the outline frame, what was told of it checked."""
    drawn, told = in_frame(outline), stretch or {}
    check_places(drawn, told)
    family = family_of(drawn, name=name, notes=notes, stretch=told)
    check_measures(family, told)
    return family

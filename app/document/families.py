"""The family of a job's outline: one of the program's, or the text that the job keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

from app.document.job import OutlineChoice, sorted_values
from app.document.stretch_told import check_measures, check_places
from geometry.errors import InputError
from geometry.family import Family, built_in_families, family_from_text, family_named
from geometry.family.changes import with_default, with_notes, with_size
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


def pinned(choice: OutlineChoice) -> OutlineChoice:
    """Return the choice with the text of its family, as files keep it.

    A family of the program's may be another one in its next version; with the text and the values
    the same outline is drawn by any. One that the program has not is left as it is.
    """
    if choice.drawing is not None or choice.family_text:
        return choice
    try:
        family = family_named(choice.family)
    except InputError:
        return choice
    return replace(choice, family=family.key, family_text=family_text(family))


def unpinned(choice: OutlineChoice) -> OutlineChoice:
    """Return the choice without the text of a family that the program draws just so.

    It may tell of it in other words: notes, and what its measures are called.

    Raises
    ------
    InputError
        If the text is no family.
    """
    if not choice.family_text:
        return choice
    told = _wordless(chosen_family(choice))
    same = any(f.key == told.key and _wordless(f) == told for f in built_in_families())
    return replace(choice, family_text="") if same else choice


def _wordless(family: Family) -> Family:
    parameters = (replace(each, label="", help="") for each in family.parameters)
    return replace(family, notes="", parameters=tuple(parameters))


def newer(choice: OutlineChoice, family: Family) -> tuple[OutlineChoice, tuple[str, ...]]:
    """Return another state of a choice's family, and the labels of the values that it cannot take.

    Parameters
    ----------
    choice : OutlineChoice
        What was told by hand is kept where the family has that measure and its range holds it.
    family : Family
        The family as it is now.
    """
    ranges = {each.key: (each.low, each.high) for each in family.parameters}
    labels = {each.key: each.label for each in chosen_family(choice).parameters}
    kept, left = {}, []
    for key, value in choice.values:
        low, high = ranges.get(key, (1.0, 0.0))
        if low <= value <= high:
            kept[key] = value
        else:
            left.append(labels.get(key, key))
    return replace(choice_of(family), values=sorted_values(kept)), tuple(left)


def has_size(family: Family, name: str) -> bool:
    """Return whether a family has a size of a name, whatever its capitals and spaces."""
    asked = " ".join(name.split()).casefold()
    return any(size.name.casefold() == asked for size in family.sizes)


def sized(family: Family, name: str, values: Mapping[str, float], *, over: bool = False) -> Family:
    """Return the family with a named set of values; one of that name is replaced only where told.

    Raises
    ------
    InputError
        If it has a size of that name, or as `geometry.family.changes.with_size`.
    """
    changed = with_size(family, name, values)
    if has_size(family, name) and not over:
        raise InputError(
            f"{family.name} has a size “{changed.sizes[-1].name}” already.",
            where="Family",
            remedy="Choose another name, or write over it: --replace.",
        )
    return changed


def with_usual(family: Family, values: Mapping[str, float]) -> Family:
    """Return the family with measures as its usual ones; InputError where one is out of range."""
    for key, value in values.items():
        family = with_default(family, key, value)
    return family


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
    family = with_usual(family, dict(choice.values))
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

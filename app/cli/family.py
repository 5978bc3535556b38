"""``blankwright family``: outlines of the maker's own, kept by name and passed on as files."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from app.cli.asked_ends import AskedEnds, check_for_drawing, in_drawing
from app.cli.families import facts, measures_table
from app.cli.options import check_apart, check_ending, check_free, told_values
from app.cli.outline_frame import drawing_in_frame, moved_notes, over_first
from app.cli.place import with_values
from app.cli.source import check_source
from app.cli.terminal import say
from app.document.families import has_size, saved_as, sized
from app.document.job import OutlineChoice
from app.document.lengths import parse_length_mm
from app.files.atomic import make_folder
from app.files.errors import FileError
from app.files.family_folder import names_in_trash
from app.files.kinds import is_drawing
from app.files.outline_choice import choice_and_notes
from app.files.own_families import (
    ENDING,
    change_family,
    delete_family,
    duplicate_family,
    export_family,
    families_folder,
    families_known,
    import_family,
    own_families,
    own_family,
    rename_family,
    restore_family,
    save_family,
)
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.family.changes import (
    with_default,
    with_notes,
    with_range,
    without_size,
)
from geometry.family.library import same_words


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedSave(AskedEnds):
    """The options of ``family save`` as typed."""

    outline: str
    name: str
    notes: str = ""
    values: tuple[str, ...] = ()
    stretch: tuple[str, ...] = ()
    as_drawn: bool = False
    unit: str = ""
    loop: int = 0


def run_save(asked: AskedSave, *, over: bool, as_json: bool) -> int:
    """Keep an outline as a family; return the exit status."""
    told = _places(asked.stretch)
    check_source(asked.outline)
    found, left = choice_and_notes(asked.outline, asked.unit, asked.loop)
    choice, moved = _pointed(with_values(found, asked.values), asked)
    made = saved_as(
        choice, name=asked.name, notes=asked.notes, as_drawn=asked.as_drawn, stretch=told
    )
    _show(save_family(made, over=over), "kept", as_json=as_json, notes=over_first((*left, *moved)))
    return 0


def _pointed(choice: OutlineChoice, asked: AskedSave) -> tuple[OutlineChoice, tuple[str, ...]]:
    """Return a choice with its ends where they were told, and what to tell of its frame."""
    if choice.drawing is None:
        check_for_drawing(asked.outline, asked.ends_typed)
        return choice, ()
    made = drawing_in_frame(choice.drawing, asked.pointed(in_drawing))
    turned = OutlineChoice(drawing=made.outline)
    return turned, (*made.notes, *moved_notes(turned))


def _meant_otherwise(kept: Family) -> tuple[str, ...]:
    """Return that a family's name is what another one is used by."""
    others = (each for each in families_known() if each.key != kept.key)
    return tuple(
        f"{each.key} still means “{each.name}”"
        + (", which comes with the program" if each in built_in_families() else "")
        for each in others
        if same_words(each.key, kept.name)
    )


def run_list(*, as_json: bool) -> int:
    """Show what the folder holds; return the exit status."""
    own = own_families()
    trash, unread = _trash() if own.is_readable else ({}, ())
    problems = (*own.problems, *unread)
    if as_json:
        told = {
            "folder": str(families_folder()),
            "families": [facts(family) for family in own.families],
            "problems": [str(problem) for problem in problems],
            "trash": list(trash),
        }
        say(json.dumps(told, indent=1, ensure_ascii=False))
        return 0
    for family in own.families:
        say(f"{family.key}: {family.name}")
    for problem in problems:
        say(f"left out  {problem}")
    for key, name in trash.items():
        say(f"in the trash  {key}: {name}")
    if not (own.families or problems or trash):
        say("no family of your own yet: blankwright family save OUTLINE --name NAME")
    return 0


def _trash() -> tuple[dict[str, str], tuple[FileError, ...]]:
    """Return the names in the trash by key, and why it cannot be read, if so."""
    try:
        return names_in_trash(), ()
    except FileError as error:
        return {}, (error,)


def run_import(file: Path, *, name: str, over: bool) -> int:
    """Keep a family from a file; return the exit status."""
    check_source(str(file))
    if is_drawing(str(file)):
        raise InputError(
            f"“{file}” is an outline, and no family.",
            where="family import",
            remedy=f"Keep it as one: blankwright family save {file} --name NAME",
        )
    _show(import_family(file, name=name, over=over), "kept", as_json=False)
    return 0


def run_export(one: str, *, out: Path, over: bool) -> int:
    """Write a family to a file; return the exit status."""
    check_ending(out, (ENDING,))
    if one.lower().endswith(ENDING):
        check_apart(out, (Path(one),))
    check_free(out, over=over)
    make_folder(out.parent)
    family = export_family(one, out)
    say(f"written “{family.name}” to {out}")
    return 0


def run_duplicate(one: str, *, name: str, over: bool) -> int:
    """Copy a family; return the exit status."""
    _show(duplicate_family(one, name, over=over), "copied", as_json=False)
    return 0


def run_rename(one: str, *, name: str, over: bool) -> int:
    """Rename a family; return the exit status."""
    old = own_family(one)
    family = rename_family(one, name, over=over)
    say(f"renamed “{old.name}” to “{family.name}”; use it as {family.key}")
    _say_notes(_meant_otherwise(family))
    return 0


def run_remove(one: str) -> int:
    """Move a family to the trash; return the exit status."""
    place = delete_family(one)
    say(f"moved to {place}; take it back with: blankwright family restore {place.stem}")
    return 0


def run_restore(one: str, *, name: str, over: bool) -> int:
    """Take a family out of the trash; return the exit status."""
    family = restore_family(one, name=name, over=over)
    say(f"restored “{family.name}”; use it as {family.key}")
    _say_notes(_meant_otherwise(family))
    return 0


def run_set(
    one: str,
    *,
    values: tuple[str, ...],
    ranges: tuple[str, ...],
    notes: str | None,
    as_json: bool,
) -> int:
    """Change values, ranges or notes; return the exit status."""
    if not values and not ranges and notes is None:
        raise InputError(
            "nothing to change was told.",
            where="family set",
            remedy="Use --set NAME=VALUE, --range NAME=LOW:HIGH or --notes TEXT.",
        )
    old = own_family(one)
    new = _with_measures(old, told_values(old, values), _ranges(old, ranges))
    if notes is not None:
        new = with_notes(new, notes)
    _show(change_family(old, new), "changed", as_json=as_json)
    return 0


def run_size_add(one: str, name: str, *, values: tuple[str, ...], over: bool) -> int:
    """Keep a named set of values; return the exit status."""
    old = own_family(one)
    told = told_values(old, values)
    had = has_size(old, name)
    family = change_family(old, sized(old, name, told, over=over))
    size = family.size_named(name)
    measures = ", ".join(f"{key} {value:g}" for key, value in size.values) or "the usual values"
    instead = ", in place of the one that it had" if had else ""
    say(f"“{family.name}” has the size “{size.name}”{instead}: {measures}")
    return 0


def run_size_remove(one: str, name: str) -> int:
    """Forget a named set of values; return the exit status."""
    old = own_family(one)
    gone = old.size_named(name)
    change_family(old, without_size(old, name))
    say(f"“{old.name}” has no size “{gone.name}” any more")
    return 0


def _show(family: Family, done: str, *, as_json: bool, notes: Sequence[str] = ()) -> None:
    """Say what was made, where it lies, what can be changed of it and what there is to note."""
    path = families_folder() / f"{family.key}{ENDING}"
    notes = (*notes, *_meant_otherwise(family))
    if as_json:
        told = {**facts(family), "file": str(path), "drawing_notes": list(notes)}
        say(json.dumps(told, indent=1, ensure_ascii=False))
        return
    say(f"{done} “{family.name}” in {path}; use it as {family.key}")
    for line in measures_table(family, "mm")[3:]:
        say(line)
    _say_notes(notes)


def _say_notes(notes: Sequence[str]) -> None:
    for note in notes:
        say(f"note      {note}")


def _with_measures(
    family: Family, values: Mapping[str, float], ranges: Mapping[str, tuple[float, float]]
) -> Family:
    """Return the family with other values and ranges, in whichever order they go together."""
    for key, value in values.items():
        if key in ranges:  # first a range that holds the old value and the new ones
            low, high = ranges[key]
            now = family.defaults[key]
            family = with_range(family, key, min(low, now, value), max(high, now, value))
        family = with_default(family, key, value)
    for key, (low, high) in ranges.items():
        family = with_range(family, key, low, high)
    return family


def _ranges(family: Family, texts: tuple[str, ...]) -> dict[str, tuple[float, float]]:
    """Return the ranges of ``NAME=LOW:HIGH``, lengths in any unit."""
    found = {}
    for text in texts:
        key, _, ends = text.partition("=")
        low, sign, high = ends.partition(":")
        if not sign:
            raise _unclear(text, "--range", "NAME=LOW:HIGH, like blade_length=80:140")
        ends_mm = (told_values(family, (f"{key}={end}",), "--range") for end in (low, high))
        (low_end,), (high_end,) = (told.values() for told in ends_mm)
        found[key.strip()] = (low_end, high_end)
    return found


def _places(texts: tuple[str, ...]) -> dict[str, tuple[float, float] | None]:
    """Return the places of ``MEASURE=FROM:TO``, lengths in any unit; None for ``none``."""
    found: dict[str, tuple[float, float] | None] = {}
    for text in texts:
        key, _, places = text.partition("=")
        start, sign, end = places.partition(":")
        if places.strip() == "none":
            found[key.strip()] = None
        elif sign:
            found[key.strip()] = (
                parse_length_mm(start, where="--stretch"),
                parse_length_mm(end, where="--stretch"),
            )
        else:
            raise _unclear(text, "--stretch", "MEASURE=FROM:TO, like blade_length=10:95, or =none")
    return found


def _unclear(text: str, where: str, example: str) -> InputError:
    return InputError(f"“{text}” is not clear.", where=where, remedy=f"Write {example}.")

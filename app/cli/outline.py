"""``blankwright outline``: an outline made of a family or imported, measured, converted."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from app.cli.asked_ends import AskedEnds, check_for_drawing, in_drawing
from app.cli.options import check_apart, check_ending, one_of
from app.cli.outline_frame import (
    Trust,
    billet_in_frame,
    drawing_in_frame,
    missing_notes,
    moved_notes,
    over_first,
)
from app.cli.outline_words import facts, summary
from app.cli.place import with_size, with_values
from app.cli.source import check_source
from app.cli.terminal import say
from app.document.families import choice_of, saved_as
from app.document.flow import chosen_outline
from app.document.job import OutlineChoice
from app.document.lengths import Unit, parse_positive_mm
from app.exports.write import OUTLINE_ENDINGS, write_drawn_outline
from app.files.atomic import make_folder, write_atomically
from app.files.billet_file import read_billet
from app.files.drawing_units import unit_named
from app.files.family_file import family_bytes
from app.files.kinds import kind_of
from app.files.outline_choice import check_loop, is_drawing, notes_of, read_drawing
from app.files.own_families import family_known
from app.files.strokes import Imported
from app.files.wheels_file import kept_wheels_mm
from geometry.curvature import wheels_that_follow
from geometry.errors import InputError, ToolError
from geometry.family.changes import checked_name
from geometry.knife_parts import Pointed
from geometry.outline import Outline

FAMILY_ENDING = ".toml"
TURNED = "places left out are those of the drawing, before it was moved"


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedOutline(AskedEnds):
    """The command's options as typed."""

    source: str
    values: tuple[str, ...] = ()
    size: str = ""
    unit: str = ""
    loop: int = 0
    wheels: tuple[str, ...] = ()
    as_traced: bool | None = None
    name: str = ""
    show: str = "mm"
    as_json: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What the command took: the outline, what it is made of, and how far to trust a trace."""

    read: Imported
    choice: OutlineChoice
    trust: Trust | None = None


def run_outline(asked: AskedOutline, *, out: Path | None) -> int:
    """Make, import or convert an outline; return the exit status."""
    unit_named(asked.unit)
    shown: Unit = "in" if one_of(asked.show, ("mm", "in"), "--show") == "in" else "mm"
    check_source(asked.source, piece=True)
    if out is not None:
        check_ending(out, (*OUTLINE_ENDINGS, FAMILY_ENDING))
        check_apart(out, (Path(asked.source),))
    wheels_mm, told_wheels = _wheels_mm(asked.wheels)
    taken = _imported(asked) if is_drawing(asked.source) else _made(asked)
    outline = taken.read.outline
    told = told_wheels
    if out is not None:
        told += write_result(outline, taken.choice, out, name=asked.name)
    wheels = wheels_that_follow(outline, wheels_mm)
    notes = over_first((*taken.read.notes, *told, *missing_notes(outline)))
    read = replace(taken.read, notes=notes)
    if asked.as_json:
        say(json.dumps(facts(read, wheels, taken.trust), ensure_ascii=False, indent=1))
        return 0
    for line in summary(read, wheels, shown):
        say(line)
    if out is not None:
        say(f"written   {out}")
    return 0


def _wheels_mm(told: Sequence[str]) -> tuple[Sequence[float], tuple[str, ...]]:
    """Return the wheels that were told, else those that are kept; and why these cannot be read."""
    if told:
        return [parse_positive_mm(text, where="--wheel") for text in told], ()
    try:
        return kept_wheels_mm(), ()
    except ToolError as error:
        return (), (str(error),)


def _made(asked: AskedOutline) -> Taken:
    """Return the outline of a family with the values that were told."""
    traced = "" if asked.as_traced is None else "told"
    others = {"--unit": asked.unit, "--loop": asked.loop, "--as-traced": traced}
    check_for_drawing(asked.source, {**asked.ends_typed, **others})
    choice = with_values(with_size(choice_of(family_known(asked.source)), asked.size), asked.values)
    outline = chosen_outline(choice)
    return Taken(read=Imported(outline=_named(outline, asked.name)), choice=choice)


def _imported(asked: AskedOutline) -> Taken:
    """Return the outline in a file, turned into the outline frame where its ends were told."""
    told = (("--set", asked.values, "values to set"), ("--size", asked.size, "sizes"))
    for where, given, what in told:
        if given:
            raise InputError(f"a drawing has no {what}.", where=where, remedy="Leave it out.")
    check_loop(asked.source, asked.loop)
    if asked.unit and Path(asked.source).suffix.lower() == ".json":
        raise InputError("the file states its unit.", where="--unit", remedy="Leave it out.")
    read, trust = _read(asked, asked.pointed(in_drawing))
    outline = _named(read.outline, asked.name)
    choice = OutlineChoice(drawing=outline)
    return Taken(read=replace(read, outline=outline), choice=choice, trust=trust)


def _read(asked: AskedOutline, pointed: Pointed) -> tuple[Imported, Trust | None]:
    """Return the outline in a drawing, turned where its ends were told, or of a measured piece."""
    path = Path(asked.source)
    if path.suffix.lower() == ".json" and kind_of(path) == "piece":
        traced = billet_in_frame(
            read_billet(path), pointed, name=path.stem, as_traced=asked.as_traced, file=path
        )
        return Imported(outline=traced.outline, notes=traced.notes), traced.trust
    if asked.as_traced is not None:
        where = "--as-traced or --true-size"
        raise InputError(
            f"{path.name} is no traced knife: nothing says how much too large it may be.",
            where=where,
            remedy="Leave it out, or give the BILLET.json that capture --out writes.",
        )
    read = read_drawing(path, asked.unit, asked.loop)
    made = drawing_in_frame(read.outline, pointed)
    notes = (*notes_of(read), *made.notes)
    if read.left_out and made.notes:
        notes += (TURNED,)
    return replace(read, outline=made.outline, notes=notes), None


def _named(outline: Outline, name: str) -> Outline:
    return replace(outline, name=checked_name(name)) if name else outline


def write_result(
    outline: Outline, choice: OutlineChoice, out: Path, *, name: str = ""
) -> tuple[str, ...]:
    """Write an outline by the file's ending: as a drawing, or as a family of its own.

    Parameters
    ----------
    outline : Outline
        What was made.
    choice : OutlineChoice
        What it was made of: a family keeps its measures.
    out : Path
        Ends in one of `OUTLINE_ENDINGS` or `FAMILY_ENDING`.
    name : str
        Of the family; else the outline's.

    Returns
    -------
    tuple of str
        What to tell of a drawing that a family moved into the outline frame.
    """
    make_folder(out.parent)
    if out.suffix.lower() == FAMILY_ENDING:
        family = saved_as(choice, name=checked_name(name or outline.name))
        write_atomically(out, family_bytes(family))
        return moved_notes(choice)
    write_drawn_outline(outline, out)
    return ()

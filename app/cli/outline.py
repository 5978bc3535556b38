"""``blankwright outline``: an outline made of a family or imported, measured, converted."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, cast

from app.cli.options import check_apart, check_ending, one_of
from app.cli.place import with_values
from app.cli.terminal import say
from app.document.drills import hole_label
from app.document.families import choice_of, chosen_family, saved_as
from app.document.flow import chosen_outline
from app.document.job import OutlineChoice, sorted_values
from app.document.lengths import parse_length_mm, parse_positive_mm
from app.document.measured_outline import NOTHING_POINTED, outline_of_billet
from app.exports.write import OUTLINE_ENDINGS, write_drawn_outline
from app.files.atomic import make_folder, write_atomically
from app.files.billet_file import read_billet
from app.files.drawing_units import unit_named
from app.files.kinds import kind_of
from app.files.outline_choice import is_drawing, read_drawing
from app.files.own_families import family_known
from app.files.strokes import Imported
from geometry.blade_measures import blade_measures
from geometry.curvature import WheelsForCurve, wheels_that_follow
from geometry.curves import Arc, Cubic, Point
from geometry.ends import Side
from geometry.errors import InputError
from geometry.family.changes import checked_name
from geometry.family.saving import family_text
from geometry.from_contour import framed
from geometry.knife_parts import Pointed
from geometry.outline import Outline

FAMILY_ENDING = ".toml"
TURNED = "It was turned into the outline frame; places left out are those of the drawing."


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedOutline:
    """The command's options as typed."""

    source: str
    values: tuple[str, ...] = ()
    size: str = ""
    unit: str = ""
    tip: str = ""
    butt: str = ""
    heel: str = ""
    spine: str = ""
    wheels: tuple[str, ...] = ()
    name: str = ""
    as_json: bool = False


def run_outline(asked: AskedOutline, *, out: Path | None) -> int:
    """Make, import or convert an outline; return the exit status."""
    unit_named(asked.unit)
    if out is not None:
        check_ending(out, (*OUTLINE_ENDINGS, FAMILY_ENDING))
        check_apart(out, (Path(asked.source),))
    wheels_mm = [parse_positive_mm(text, where="--wheel") for text in asked.wheels]
    read, choice = _imported(asked) if is_drawing(asked.source) else _made(asked)
    if out is not None:
        write_result(read.outline, choice, out, name=asked.name)
    wheels = wheels_that_follow(read.outline, wheels_mm)
    if asked.as_json:
        say(json.dumps(facts(read, wheels), ensure_ascii=False, indent=1))
    else:
        for line in summary(read, wheels):
            say(line)
    return 0


def _made(asked: AskedOutline) -> tuple[Imported, OutlineChoice]:
    """Return the outline of a family with the values that were told."""
    told = {"--tip": asked.tip, "--butt": asked.butt, "--heel": asked.heel, "--spine": asked.spine}
    for where, text in (*told.items(), ("--unit", asked.unit)):
        if text:
            raise InputError(
                f"“{asked.source}” is a family, which has its frame and its units.",
                where=where,
                remedy="Leave it out; it is for a drawing.",
            )
    choice = with_values(with_size(choice_of(family_known(asked.source)), asked.size), asked.values)
    outline = chosen_outline(choice)
    return Imported(outline=_named(outline, asked.name)), choice


def with_size(choice: OutlineChoice, name: str) -> OutlineChoice:
    """Return a family's choice with the values of one of its sizes."""
    if not name:
        return choice
    sizes = {size.name.casefold(): size for size in chosen_family(choice).sizes}
    size = sizes.get(" ".join(name.split()).casefold())
    if size is None:
        known = ", ".join(f"“{size.name}”" for size in sizes.values())
        raise InputError(
            f"{choice.family} has no size “{name}”.",
            where="--size",
            remedy=f"It has {known}." if known else "It has none; set its values with --set.",
        )
    return replace(choice, values=sorted_values(dict(size.values)))


def _imported(asked: AskedOutline) -> tuple[Imported, OutlineChoice]:
    """Return the outline in a file, turned into the outline frame where its ends were told."""
    for where, told in (("--set", asked.values), ("--size", asked.size)):
        if told:
            raise InputError("a drawing has no values to set.", where=where, remedy="Leave it out.")
    if asked.unit and Path(asked.source).suffix.lower() == ".json":
        raise InputError("the file states its unit.", where="--unit", remedy="Leave it out.")
    spine = one_of(asked.spine, ("left", "right"), "--spine") if asked.spine else None
    tip, butt, heel = (
        _place(text, where)
        for text, where in ((asked.tip, "--tip"), (asked.butt, "--butt"), (asked.heel, "--heel"))
    )
    pointed = Pointed(tip_mm=tip, butt_mm=butt, heel_mm=heel, spine=cast("Side | None", spine))
    read = _read(Path(asked.source), asked.unit, pointed)
    outline = _named(read.outline, asked.name)
    return replace(read, outline=outline), OutlineChoice(drawing=outline)


def _read(path: Path, unit: str, pointed: Pointed) -> Imported:
    """Return the outline in a drawing, turned where its ends were told, or of a measured piece."""
    if path.suffix.lower() == ".json" and kind_of(path) == "piece":
        outline = outline_of_billet(read_billet(path), name=path.stem, pointed=pointed)
        return Imported(outline=outline)
    read = read_drawing(path, unit)
    if pointed == NOTHING_POINTED:
        return read
    told = {
        "tip_mm": pointed.tip_mm, "butt_mm": pointed.butt_mm, "heel_mm": pointed.heel_mm,
    }  # fmt: skip
    outline = framed(read.outline, **told, spine=pointed.spine)
    notes = (*read.notes, TURNED) if read.left_out else read.notes
    return replace(read, outline=outline, notes=notes)


def _named(outline: Outline, name: str) -> Outline:
    return replace(outline, name=checked_name(name)) if name else outline


def _place(text: str, where: str) -> Point | None:
    """Return the place of ``X,Y``, lengths in any unit."""
    if not text:
        return None
    parts = text.split(",")
    if len(parts) != 2:
        raise InputError(
            f"“{text}” is no place.", where=where, remedy="Write X,Y from the drawing's lower left."
        )
    x, y = (parse_length_mm(part, where=where) for part in parts)
    return x, y


def write_result(outline: Outline, choice: OutlineChoice, out: Path, *, name: str = "") -> None:
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
        Of the family; else the file's.
    """
    make_folder(out.parent)
    if out.suffix.lower() == FAMILY_ENDING:
        family = saved_as(choice, name=checked_name(name or out.stem.replace("_", " ")))
        write_atomically(out, family_text(family).encode())
    else:
        write_drawn_outline(outline, out)


def summary(read: Imported, wheels: tuple[WheelsForCurve, ...]) -> list[str]:
    """Return what the outline is and what was not taken, a line each."""
    outline = read.outline
    x0, y0, x1, y1 = outline.bounds_mm
    kinds = Counter(_kind(piece) for piece in outline.chain)
    pieces = ", ".join(f"{count} {kind}{'s' * (count > 1)}" for kind, count in kinds.items())
    lines = [f"outline   {outline.name}: {x1 - x0:.2f} x {y1 - y0:.2f} mm, {pieces}"]
    drilled = Counter((hole.kind, round(hole.diameter_mm, 3)) for hole in outline.holes)
    lines += [f"holes     {n} {kind}, {hole_label(size)}" for (kind, size), n in drilled.items()]
    if outline.cutouts:
        lines.append(f"openings  {len(outline.cutouts)} of other shapes")
    if outline.marks:
        marks = Counter(mark.kind for mark in outline.marks)
        lines.append(
            f"marks     {', '.join(f'{n} x {k}' if n > 1 else k for k, n in marks.items())}"
        )
    lines += [f"measures  {what} {size:.2f} mm" for what, size in _measures(outline).items()]
    lines += [f"note      {note}" for note in read.notes]
    lines += [f"left out  {told}" for told in read.told()]
    lines += [f"wheels    {curve.warning}" for curve in wheels if curve.warning]
    return lines


def _kind(piece: object) -> str:
    return "arc" if isinstance(piece, Arc) else "curve" if isinstance(piece, Cubic) else "line"


def _measures(outline: Outline) -> dict[str, float]:
    """Return the sizes that a maker measures, by name; those that can be told."""
    sizes = blade_measures(outline)
    edge = sizes.edge
    named = {
        "overall": sizes.overall_mm,
        "blade": sizes.blade_mm,
        "handle": sizes.handle_mm,
        "handle at its widest": sizes.handle_widest_mm,
        "edge along its curve": edge.length_mm if edge else None,
        "width at the heel": edge.heel_width_mm if edge else None,
        "blade at its widest": edge.widest_mm if edge else None,
        "drop of the tip": edge.tip_drop_mm if edge else None,
    }
    return {what: size for what, size in named.items() if size is not None}


def facts(read: Imported, wheels: tuple[WheelsForCurve, ...]) -> dict[str, Any]:
    """Return what a program may want to know of an outline; lengths in mm."""
    outline = read.outline
    x0, y0, x1, y1 = outline.bounds_mm
    return {
        "name": outline.name,
        "width_mm": x1 - x0,
        "height_mm": y1 - y0,
        "area_mm2": outline.area_mm2,
        "pieces": dict(Counter(_kind(piece) for piece in outline.chain)),
        "holes": [
            {"kind": h.kind, "x_mm": h.x_mm, "y_mm": h.y_mm, "diameter_mm": h.diameter_mm}
            for h in outline.holes
        ],
        "cutouts": len(outline.cutouts),
        "marks": [mark.kind for mark in outline.marks],
        "stations": [{"name": s.name, "x_mm": s.x_mm, "y_mm": s.y_mm} for s in outline.stations],
        "measures": {f"{k.replace(' ', '_')}_mm": v for k, v in _measures(outline).items()},
        "notes": list(read.notes),
        "left_out": [
            {"what": thing.what, "at_mm": None if thing.at_mm is None else list(thing.at_mm)}
            for thing in read.left_out
        ],
        "wheels": [
            {
                "inside_radius_mm": curve.inside.radius_mm,
                "at_mm": list(curve.inside.at),
                "follow_mm": list(curve.follow_mm),
                "too_large_mm": list(curve.too_large_mm),
                "warning": curve.warning,
            }
            for curve in wheels
        ],
    }

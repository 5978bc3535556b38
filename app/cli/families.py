"""``blankwright families``: what families there are, as a table, as JSON, or drawn on pages."""

from __future__ import annotations

import datetime
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from app.cli.options import check_ending, one_of
from app.cli.source import check_source
from app.cli.terminal import say
from app.document.gallery import MainSizes, main_sizes, shown
from app.document.lengths import Unit, format_length
from app.files.own_families import family_known, own_families
from geometry.errors import ToolError
from geometry.family import Family, Parameter, built_in_families


def run_families(family: str, *, out: Path | None, paper: str, unit: str, as_json: bool) -> int:
    """List or draw families, all of them or one; return the exit status."""
    told: Unit = "in" if one_of(unit, ("mm", "in"), "--unit") == "in" else "mm"
    own = own_families()
    check_source(family)
    known = (family_known(family),) if family else (*built_in_families(), *own.families)
    if out is not None:
        lines = draw_families(known, out, paper=paper, unit=told)
        if not as_json:
            for line in lines:
                say(line)
            for problem in () if family else own.problems:
                say(f"left out  {problem}")
            return 0
    if as_json:
        told_all = {
            "families": [facts(each) for each in known],
            "problems": [str(problem) for problem in own.problems],
        }
        say(json.dumps(told_all, indent=1, ensure_ascii=False))
    else:
        for line in measures_table(known[0], told) if family else table(known, told):
            say(line)
        for problem in () if family else own.problems:
            say(f"left out  {problem}")
    return 0


def draw_families(known: Sequence[Family], out: Path, *, paper: str, unit: Unit) -> list[str]:
    """Write the pages of a gallery and return what to say of them."""
    from app.document.gallery_pages import gallery, scale_words
    from app.document.paper import paper_named
    from app.exports.pdf import sheets_bytes
    from app.files.atomic import make_folder, write_atomically

    check_ending(out, (".pdf",))
    made = gallery(known, paper=paper_named(paper), day=datetime.date.today(), unit=unit)
    scales = list(dict.fromkeys(made.scales))
    scale = " and ".join(":".join(map(str, each)) for each in scales)
    make_folder(out.parent)
    write_atomically(out, sheets_bytes(made.pages, paper=made.paper, scale=scale))
    pages = "page" if len(made.pages) == 1 else "pages"
    drawn = "family" if len(known) == 1 else "families"
    return [
        f"{out}: {len(known)} {drawn} on {len(made.pages)} {pages} of {made.paper.name}, "
        f"{' and '.join(map(scale_words, scales))}"
    ]


def table(known: Sequence[Family], unit: Unit) -> list[str]:
    """Return a line for each family: its key, its name and its main sizes."""
    rows: list[tuple[str, ...]] = [("key", "name", "blade", "overall", "at the heel")]
    for family in known:
        sizes = sizes_of(family)
        lengths = (
            (None, None, None)
            if sizes is None
            else (sizes.blade_mm, sizes.overall_mm, sizes.heel_mm)
        )
        shown_lengths = ("-" if each is None else shown(each, unit) for each in lengths)
        rows.append((family.key, family.name, *shown_lengths))
    return [*_aligned(rows), "", "Measures and ranges of one: blankwright families FAMILY"]


def measures_table(family: Family, unit: Unit) -> list[str]:
    """Return the measures of one family with their ranges, and its sizes."""
    rows = [("measure", "usual", "range", "what it does")]
    for each in family.parameters:
        low, usual, high = (_value(v, each, unit) for v in (each.low, each.default, each.high))
        rows.append((each.key, usual, f"{low} to {high}", f"{each.label}. {each.help}"))
    lines = [f"{family.name} ({family.key})", " ".join(family.notes.split()), ""]
    lines += _aligned(rows) if family.parameters else ["it has no measures to change"]
    for size in family.sizes:
        units = {each.key: each for each in family.parameters}
        told = ", ".join(f"{key} {_value(v, units[key], unit)}" for key, v in size.values)
        lines.append(f"size “{size.name}”: {told or 'the usual values'}")
    return lines


def facts(family: Family) -> dict[str, Any]:
    """Return what a program may want to know of a family; lengths in mm, angles in degrees."""
    sizes = sizes_of(family)
    return {
        "key": family.key,
        "name": family.name,
        "own": family not in built_in_families(),
        "notes": " ".join(family.notes.split()),
        "parameters": [
            {
                "key": each.key,
                "label": each.label,
                "unit": each.unit,
                "default": each.default,
                "min": each.low,
                "max": each.high,
                "whole": each.whole,
                "help": each.help,
            }
            for each in family.parameters
        ],
        "sizes": [{"name": size.name, "values": dict(size.values)} for size in family.sizes],
        "usual": None if sizes is None else _sizes_facts(sizes),
    }


def sizes_of(family: Family) -> MainSizes | None:
    """Return the main sizes at a family's usual measures; None when these make no outline."""
    try:
        return main_sizes(family.outline())
    except ToolError:
        return None


def _sizes_facts(sizes: MainSizes) -> dict[str, float | None]:
    named = {
        "overall_mm": sizes.overall_mm,
        "blade_mm": sizes.blade_mm,
        "handle_mm": sizes.handle_mm,
        "heel_width_mm": sizes.heel_mm,
    }
    return {key: None if mm is None else round(mm, 3) for key, mm in named.items()}


def _value(value: float, parameter: Parameter, unit: Unit) -> str:
    if parameter.unit == "mm":
        return format_length(value, unit)
    return f"{value:g}°" if parameter.unit == "deg" else f"{value:g}"


def _aligned(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """Return rows as lines, each column as wide as its widest."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]

"""The commands that look after families of the maker's own, with their options."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from app.cli.outline_commands import Butt, Heel, Loop, Spine, Tip

family = typer.Typer(
    help="Families of your own: outlines kept under a name, with measures that change them.",
    rich_markup_mode=None,
)
size = typer.Typer(help="Named sets of a family's measures.", rich_markup_mode=None)
family.add_typer(size, name="size")

Known = Annotated[str, typer.Argument(metavar="FAMILY", help="Its name, its key or its file.")]
Own = Annotated[str, typer.Argument(metavar="FAMILY", help="One of your own, by name or key.")]
Name = Annotated[str, typer.Option(metavar="NAME", help="What to call it.")]
Notes = Annotated[str, typer.Option(metavar="TEXT", help="A few lines for whoever uses it.")]
Over = Annotated[
    bool, typer.Option("--replace", help="Write over one of your own that has this name.")
]
Values = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="NAME=VALUE", help="A measure: blade_length=90. Repeatable."),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print what was made as JSON.")]


@family.command("save")
def save_one(
    outline: Annotated[
        str, typer.Argument(metavar="OUTLINE", help="A .json, .dxf or .svg file, or a family.")
    ],
    name: Name,
    notes: Notes = "",
    values: Values = None,
    stretch: Annotated[
        list[str] | None,
        typer.Option(
            metavar="MEASURE=FROM:TO",
            help="Where blade_length or handle_length stretches (two x), or blade_width or "
            "handle_width (two y), counted from the heel: x toward the tip, y toward the spine. "
            "MEASURE=none leaves it out. Proposed without. Repeatable.",
        ),
    ] = None,
    as_drawn: Annotated[
        bool,
        typer.Option("--as-drawn", help="Take a family as it is drawn, too, and stretch that."),
    ] = False,
    unit: Annotated[
        str, typer.Option(metavar="UNIT", help="mm or in, of a drawing that names none.")
    ] = "",
    loop: Loop = 0,
    tip: Tip = "",
    butt: Butt = "",
    heel: Heel = "",
    spine: Spine = "",
    over: Over = False,
    as_json: AsJson = False,
) -> int:
    """Keep an outline as a family of your own, whose lengths and widths stretch."""
    from app.cli.family import AskedSave, run_save

    asked = AskedSave(
        outline=outline,
        name=name,
        notes=notes,
        values=tuple(values or ()),
        stretch=tuple(stretch or ()),
        as_drawn=as_drawn,
        unit=unit,
        loop=loop,
        tip=tip,
        butt=butt,
        heel=heel,
        spine=spine,
    )
    return run_save(asked, over=over, as_json=as_json)


@family.command("list")
def list_all(as_json: AsJson = False) -> int:
    """Show your own families, files that are none, and what lies in the trash."""
    from app.cli.family import run_list

    return run_list(as_json=as_json)


@family.command("import")
def import_one(
    file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="As export writes it.")],
    name: Annotated[str, typer.Option(metavar="NAME", help="Another name for it.")] = "",
    over: Over = False,
) -> int:
    """Keep a family that another maker wrote to a file."""
    from app.cli.family import run_import

    return run_import(file, name=name, over=over)


@family.command("export")
def export_one(
    one: Known,
    out: Annotated[Path, typer.Option(metavar="FILE.toml", help="File to write.")],
    over: Annotated[
        bool, typer.Option("--replace", help="Write over a file that has this name.")
    ] = False,
) -> int:
    """Write a family to a file, for another maker."""
    from app.cli.family import run_export

    return run_export(one, out=out, over=over)


@family.command("duplicate")
def duplicate_one(one: Known, name: Name, over: Over = False) -> int:
    """Make a copy of a family, to change it."""
    from app.cli.family import run_duplicate

    return run_duplicate(one, name=name, over=over)


@family.command("rename")
def rename_one(one: Own, name: Name, over: Over = False) -> int:
    """Give one of your own families another name."""
    from app.cli.family import run_rename

    return run_rename(one, name=name, over=over)


@family.command("remove")
def remove_one(one: Own) -> int:
    """Move one of your own families to the trash."""
    from app.cli.family import run_remove

    return run_remove(one)


@family.command("restore")
def restore_one(
    one: Annotated[str, typer.Argument(metavar="FAMILY", help="As the list names it.")],
    name: Annotated[str, typer.Option(metavar="NAME", help="Another name for it.")] = "",
    over: Over = False,
) -> int:
    """Take a family out of the trash."""
    from app.cli.family import run_restore

    return run_restore(one, name=name, over=over)


@family.command("set")
def set_one(
    one: Own,
    values: Values = None,
    ranges: Annotated[
        list[str] | None,
        typer.Option("--range", metavar="NAME=LOW:HIGH", help="Of a measure. Repeatable."),
    ] = None,
    notes: Annotated[
        str | None, typer.Option(metavar="TEXT", help="In place of its notes.")
    ] = None,
    as_json: AsJson = False,
) -> int:
    """Change the usual values, the ranges or the notes of one of your own families."""
    from app.cli.family import run_set

    return run_set(
        one,
        values=tuple(values or ()),
        ranges=tuple(ranges or ()),
        notes=notes,
        as_json=as_json,
    )


@size.command("add")
def add_size(
    one: Own,
    name: Annotated[str, typer.Argument(metavar="SIZE", help="What to call it, like small.")],
    values: Values = None,
    over: Annotated[
        bool, typer.Option("--replace", help="Write over a size that has this name.")
    ] = False,
) -> int:
    """Keep a set of measures by a name; those that are left out keep their usual values."""
    from app.cli.family import run_size_add

    return run_size_add(one, name, values=tuple(values or ()), over=over)


@size.command("remove")
def remove_size(
    one: Own,
    name: Annotated[str, typer.Argument(metavar="SIZE", help="Its name.")],
) -> int:
    """Forget a set of measures."""
    from app.cli.family import run_size_remove

    return run_size_remove(one, name)

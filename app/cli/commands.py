"""What the command line offers: each command with its options, and who does its work."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from app import __version__
from app.cli import family_commands, outline_commands, photo_commands
from app.cli.outline_commands import Loop

program = typer.Typer(
    name="blankwright",
    help="From a traced piece of steel to a 1:1 paper pattern of a knife that fits it. "
    "Without a command, or with a job or photo, the window opens.",
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def command_names(within: typer.Typer = program) -> set[str]:
    """Return what the commands are called: the program's, or those of a group."""
    called = ((each.name, each.callback) for each in within.registered_commands)
    alone = {name or callback.__name__ for name, callback in called if callback is not None}
    return alone | {str(group.name) for group in within.registered_groups}


def command_path(arguments: list[str]) -> list[str]:
    """Return the commands that what was typed begins with: a group, and those within it."""
    path: list[str] = []
    within: typer.Typer | None = program
    for word in arguments:
        if within is None or word not in command_names(within):
            break
        path.append(word)
        groups = {group.name: group.typer_instance for group in within.registered_groups}
        within = groups.get(word)
    return path


@program.callback(invoke_without_command=True)
def about(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
) -> None:
    """Answer what concerns the program as a whole."""
    if version:
        typer.echo(f"blankwright {__version__}")


@program.command()
def demo(
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder for the results.")] = Path(
        "demo"
    ),
) -> int:
    """Run the main job on a sample photo; no window needed."""
    from app.cli.demo import run_demo

    return run_demo(out)


@program.command()
def place(
    billet: Annotated[Path, typer.Argument(metavar="BILLET.json", help="As capture writes it.")],
    outline: Annotated[
        str, typer.Option(metavar="OUTLINE", help="A family, or a .json, .dxf, .svg or .toml file.")
    ],
    out: Annotated[Path, typer.Option(metavar="LAYOUT.json", help="File to write.")],
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--set", metavar="NAME=VALUE", help="Of the family: blade_length=90. Repeatable."
        ),
    ] = None,
    size: Annotated[
        str, typer.Option(metavar="NAME", help="One of the family's named sizes.")
    ] = "",
    margin: Annotated[str, typer.Option(metavar="LENGTH", help="Clearance to keep.")] = "1",
    no_mirror: Annotated[
        bool, typer.Option("--no-mirror", help="Keep the same face of the steel up.")
    ] = False,
    no_tuck: Annotated[
        bool,
        typer.Option("--no-tuck", help="Where it could slide with equal room, leave it there."),
    ] = False,
    seconds: Annotated[
        float, typer.Option(metavar="N", help="The longest time to look for a proof.")
    ] = 10.0,
    largest: Annotated[
        bool, typer.Option("--largest", help="Scale to the largest that keeps the margin.")
    ] = False,
    unit: Annotated[
        str, typer.Option(metavar="UNIT", help="mm or in, of a drawing that names none.")
    ] = "",
    loop: Loop = 0,
    advise: Annotated[
        bool, typer.Option("--advise", help="Where it does not fit, work out what must give.")
    ] = False,
    lock: Annotated[
        list[str] | None,
        typer.Option("--lock", metavar="NAME", help="A measure that stays. Repeatable."),
    ] = None,
) -> int:
    """Find the roomiest place for an outline on a billet."""
    from app.cli.place import Asked, run_place

    asked = Asked(
        billet=billet,
        outline=outline,
        size=size,
        values=tuple(values or ()),
        margin=margin,
        mirror=not no_mirror,
        tuck=not no_tuck,
        seconds=seconds,
        largest=largest,
        unit=unit,
        loop=loop,
        advise=advise,
        locked=tuple(lock or ()),
    )
    return run_place(asked, out=out)


@program.command()
def pattern(
    layout: Annotated[Path, typer.Argument(metavar="LAYOUT.json", help="As place writes it.")],
    out: Annotated[
        Path, typer.Option(metavar="PATTERN", help="A .pdf, .svg or .dxf file to write.")
    ],
    paper: Annotated[
        str, typer.Option(metavar="SIZE", help="letter, legal, tabloid, a5 to a2, or WxH.")
    ] = "letter",
    show_margin: Annotated[
        bool, typer.Option("--show-margin", help="Draw the margin line too.")
    ] = False,
    correct_x: Annotated[
        str,
        typer.Option(
            metavar="PRINTED/ASKED", help="Of the bar across, such as 99.6/100; PDF only."
        ),
    ] = "1",
    correct_y: Annotated[
        str, typer.Option(metavar="PRINTED/ASKED", help="The same for the upright bar.")
    ] = "1",
) -> int:
    """Draw a layout's 1:1 pattern."""
    from app.cli.pattern import run_pattern

    return run_pattern(
        layout, out=out, paper=paper, show_margin=show_margin, correct=(correct_x, correct_y)
    )


@program.command()
def contour(
    billet: Annotated[Path, typer.Argument(metavar="BILLET.json", help="As capture writes it.")],
    out: Annotated[
        Path,
        typer.Option(
            metavar="CONTOUR", help="A .dxf of the edge alone, or a .pdf or .svg with its bars."
        ),
    ],
    tolerance: Annotated[
        str, typer.Option(metavar="LENGTH", help="How far lines and arcs may lie from the edge.")
    ] = "0.1 mm",
    paper: Annotated[
        str,
        typer.Option(metavar="SIZE", help="Of a PDF: letter, legal, tabloid, a5 to a2, or WxH."),
    ] = "letter",
) -> int:
    """Draw a billet's edge as lines and arcs."""
    from app.cli.contour import run_contour

    return run_contour(billet, out=out, tolerance=tolerance, paper=paper)


@program.command()
def mat(
    out: Annotated[Path, typer.Option(metavar="MAT.pdf", help="File to write.")],
    paper: Annotated[
        str, typer.Option(metavar="SIZE", help="letter, a4, tabloid or a3.")
    ] = "letter",
) -> int:
    """Make a page to print and trace in, which measures a photo by itself."""
    from app.cli.mat import run_mat

    return run_mat(out, paper=paper)


@program.command()
def families(
    family: Annotated[
        str, typer.Argument(metavar="FAMILY", help="Show the measures of one; all without.")
    ] = "",
    out: Annotated[
        Path | None, typer.Option(metavar="SHEET.pdf", help="Draw them on pages, to scale.")
    ] = None,
    paper: Annotated[
        str, typer.Option(metavar="SIZE", help="Of the pages: letter, legal, a5 to a2, or WxH.")
    ] = "letter",
    unit: Annotated[str, typer.Option(metavar="UNIT", help="mm or in.")] = "mm",
    as_json: Annotated[
        bool, typer.Option("--json", help="Print names, measures, ranges and sizes as JSON.")
    ] = False,
) -> int:
    """List the families of outlines, or draw them with their main dimensions."""
    from app.cli.families import run_families

    return run_families(family, out=out, paper=paper, unit=unit, as_json=as_json)


program.command()(photo_commands.capture)
program.command()(photo_commands.smaller)
program.command()(outline_commands.outline)
program.add_typer(photo_commands.pens, name="pen")
program.add_typer(family_commands.family, name="family")

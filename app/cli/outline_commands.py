"""The command on outlines with its options."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Loop = Annotated[
    int,
    typer.Option(
        metavar="N",
        show_default=False,
        help="Of a drawing: the Nth largest closed line is the edge. By itself the largest, "
        "a page's frame apart.",
    ),
]

Tip = Annotated[
    str, typer.Option(metavar="X,Y", help="The tip, from the drawing's lower left corner.")
]
Butt = Annotated[
    str,
    typer.Option(metavar="X,Y", help="The butt; with --tip, too, x is turned from it to the tip."),
]
Heel = Annotated[str, typer.Option(metavar="X,Y", help="Where the edge meets the plunge.")]
Spine = Annotated[
    str, typer.Option(metavar="SIDE", help="left or right, looking from butt to tip.")
]


def outline(
    source: Annotated[
        str,
        typer.Argument(
            metavar="FAMILY|FILE",
            help="A family, or a .dxf, .svg, .json or .toml file; a BILLET.json is a traced knife.",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(metavar="OUTLINE", help="A .json, .dxf, .svg, or a family's .toml to write."),
    ] = None,
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--set", metavar="NAME=VALUE", help="Of the family: blade_length=90. Repeatable."
        ),
    ] = None,
    size: Annotated[
        str, typer.Option(metavar="NAME", help="One of the family's named sizes.")
    ] = "",
    unit: Annotated[
        str,
        typer.Option(
            metavar="UNIT", help="Of a drawing that names none: mm, in, cm, m, ft, px, px90 or pt."
        ),
    ] = "",
    loop: Loop = 0,
    tip: Annotated[
        str,
        typer.Option(
            metavar="X,Y",
            help="The tip, from the drawing's lower left corner; of a BILLET.json as in its file.",
        ),
    ] = "",
    butt: Butt = "",
    heel: Heel = "",
    spine: Spine = "",
    as_traced: Annotated[
        bool | None,
        typer.Option(
            "--as-traced/--true-size",
            help="Leave on, or take off, what a BILLET.json is likely too large; taken off "
            "without where thickness, pen or sizes were told.",
        ),
    ] = None,
    wheels: Annotated[
        list[str] | None,
        typer.Option(
            "--wheel",
            metavar="LENGTH",
            help="Across a wheel you have. Repeatable; else those you keep.",
        ),
    ] = None,
    name: Annotated[str, typer.Option(metavar="NAME", help="What to call it.")] = "",
    show: Annotated[
        str, typer.Option(metavar="UNIT", help="Of the sizes that are told, mm or in; JSON: mm.")
    ] = "mm",
    as_json: Annotated[bool, typer.Option("--json", help="Print what it is as JSON.")] = False,
) -> int:
    """Make an outline of a family, or take one from a drawing, and measure and convert it."""
    from app.cli.outline import AskedOutline, run_outline

    asked = AskedOutline(
        source=source,
        values=tuple(values or ()),
        size=size,
        unit=unit,
        loop=loop,
        tip=tip,
        butt=butt,
        heel=heel,
        spine=spine,
        as_traced=as_traced,
        wheels=tuple(wheels or ()),
        name=name,
        show=show,
        as_json=as_json,
    )
    return run_outline(asked, out=out)

"""The commands that measure photos, with their options, and who does their work."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

pens = typer.Typer(
    help="Pens whose stand-off from thick steel was measured once.",
    rich_markup_mode=None,
)

PhotoPath = Annotated[
    Path, typer.Argument(metavar="PHOTO", help="JPEG, PNG or HEIC photo of the sheet.")
]
References = Annotated[
    list[str] | None,
    typer.Option(
        metavar="LENGTH", help="Of the line drawn on the sheet: 100, 3in, 3-1/4 in. Repeatable."
    ),
]
Lines = Annotated[
    list[str] | None,
    typer.Option(
        metavar="X1,Y1,X2,Y2", help="Pixels of that line's ends; found by itself without."
    ),
]
Sheet = Annotated[
    str,
    typer.Option(
        metavar="SIZE", help="letter, legal, tabloid, a5 to a2, or WxH: use its edges too."
    ),
]
Rectangle = Annotated[str, typer.Option(metavar="WxH", help="Size of a drawn rectangle.")]
Cross = Annotated[
    str,
    typer.Option(
        metavar="AxB", help="Lengths of two drawn lines that cross, or meet, at right angles."
    ),
]
Mat = Annotated[bool, typer.Option("--mat", help="The sheet is the printed mat.")]
BarAcross = Annotated[
    str,
    typer.Option(metavar="LENGTH", help="What calipers read on the mat's bar across; with --mat."),
]
BarUp = Annotated[str, typer.Option(metavar="LENGTH", help="The same for its upright bar.")]
Inside = Annotated[
    str, typer.Option(metavar="X,Y", help="A pixel inside the piece; found by itself without.")
]
Edge = Annotated[
    str,
    typer.Option(metavar="SIDE", help="Side of the ink that is the steel: inner, middle, outer."),
]
Thickness = Annotated[
    str, typer.Option(metavar="LENGTH", help="Of the steel, measured with calipers.")
]


def capture(
    photo: PhotoPath,
    out: Annotated[
        Path | None, typer.Option(metavar="BILLET.json", help="The piece of steel, to write.")
    ] = None,
    outline: Annotated[
        Path | None,
        typer.Option(
            metavar="OUTLINE",
            help="To write, a .json, .dxf, .svg or .toml: the piece as a knife, as of one that was "
            "traced. Of a "
            "design drawn on paper, give --edge middle --pen-offset 0 too.",
        ),
    ] = None,
    tip: Annotated[
        str,
        typer.Option(
            metavar="X,Y",
            help="Pixel at the tip, for --outline; with mm behind, a place of the billet.",
        ),
    ] = "",
    butt: Annotated[str, typer.Option(metavar="X,Y", help="The same for the butt.")] = "",
    heel: Annotated[str, typer.Option(metavar="X,Y", help="The same where the edge ends.")] = "",
    spine: Annotated[
        str, typer.Option(metavar="SIDE", help="Looking from butt to tip: left or right.")
    ] = "",
    reference: References = None,
    line: Lines = None,
    sheet: Sheet = "",
    rectangle: Rectangle = "",
    cross: Cross = "",
    mat: Mat = False,
    bar_across: BarAcross = "",
    bar_up: BarUp = "",
    inside: Inside = "",
    edge: Edge = "inner",
    subject: Annotated[
        str, typer.Option(metavar="WHAT", help="What the photo shows: trace or steel.")
    ] = "trace",
    thickness: Thickness = "",
    size: Annotated[
        list[str] | None,
        typer.Option(
            metavar="WIDTH@X1,Y1,X2,Y2",
            help="What calipers read on the steel between two pixels of its edge; with mm behind, "
            "between two places of the billet. Repeatable.",
        ),
    ] = None,
    length: Annotated[
        str, typer.Option(metavar="LENGTH", help="Of the steel, end to end along its long side.")
    ] = "",
    width: Annotated[
        str,
        typer.Option(
            metavar="LENGTH",
            help="Across the steel at its widest, square to its length; use --size for a bent or "
            "askew piece.",
        ),
    ] = "",
    correct: Annotated[
        bool, typer.Option("--correct", help="Have those sizes correct the trace, all round.")
    ] = False,
    pen: Annotated[
        str, typer.Option(metavar="NAME", help="A pen that was measured: takes its offset off.")
    ] = "",
    pen_offset: Annotated[
        str, typer.Option(metavar="LENGTH", help="What to take off the trace all round.")
    ] = "",
    overlay: Annotated[
        Path | None, typer.Option(metavar="PICTURE", help="To write: shows what was understood.")
    ] = None,
) -> int:
    """Measure the piece of steel on a photo."""
    from app.cli.capture import Asked, run_capture
    from app.cli.traced_outline import AskedTrace

    asked = Asked(
        photo=photo,
        references=tuple(reference or ()),
        lines=tuple(line or ()),
        sheet=sheet,
        rectangle=rectangle,
        cross=cross,
        mat=mat,
        bar_across=bar_across,
        bar_up=bar_up,
        inside=inside,
        edge=edge,
        subject=subject,
        thickness=thickness,
        sizes=tuple(size or ()),
        length=length,
        width=width,
        correct=correct,
        pen=pen,
        pen_offset=pen_offset,
    )
    asked_outline = AskedTrace(out=outline, tip=tip, butt=butt, heel=heel, spine=spine)
    return run_capture(asked, out=out, overlay=overlay, outline=asked_outline)


@pens.command("measure")
def measure_pen(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What you call the pen.")],
    photo: PhotoPath,
    width: Annotated[
        str, typer.Option(metavar="LENGTH", help="Of the bar that was traced, by calipers.")
    ],
    thickness: Thickness = "",
    reference: References = None,
    line: Lines = None,
    sheet: Sheet = "",
    rectangle: Rectangle = "",
    cross: Cross = "",
    mat: Mat = False,
    bar_across: BarAcross = "",
    bar_up: BarUp = "",
    inside: Inside = "",
    edge: Edge = "inner",
) -> int:
    """Measure how far a pen stands off: trace a straight bar of known width with it once."""
    from app.cli.capture import Asked
    from app.cli.pen import run_measure

    asked = Asked(
        photo=photo,
        references=tuple(reference or ()),
        lines=tuple(line or ()),
        sheet=sheet,
        rectangle=rectangle,
        cross=cross,
        mat=mat,
        bar_across=bar_across,
        bar_up=bar_up,
        inside=inside,
        edge=edge,
        thickness=thickness,
    )
    return run_measure(name, asked, width=width)


@pens.command("list")
def list_pens() -> int:
    """Show the pens that were measured."""
    from app.cli.pen import run_list

    return run_list()


@pens.command("remove")
def remove_pen(
    name: Annotated[str, typer.Argument(metavar="NAME", help="As the list has it.")],
) -> int:
    """Forget a pen."""
    from app.cli.pen import run_remove

    return run_remove(name)


def smaller(
    first: Annotated[Path, typer.Argument(metavar="A.json", help="A trace of one face.")],
    second: Annotated[Path, typer.Argument(metavar="B.json", help="A trace of the other face.")],
    out: Annotated[Path, typer.Option(metavar="BILLET.json", help="File to write.")],
    turned: Annotated[
        str,
        typer.Option(
            metavar="ANSWER",
            help="Whether the piece was turned over for the second trace: yes, no, or auto.",
        ),
    ] = "auto",
) -> int:
    """Lay two traces of one piece on each other, and keep what both of them have."""
    from app.cli.smaller import run_smaller

    return run_smaller(first, second, out=out, turned=turned)

"""The command line: the same path as the window, for batches and checks.

Exit status: 0 done and it fits, 3 done and it does not fit, 2 bad input or usage, 1 a defect,
130 stopped with Ctrl-C.
"""

from __future__ import annotations

import os
import signal
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from threading import Event
from types import FrameType
from typing import Annotated

import typer

from app import __version__
from geometry.errors import InputError, ToolError

SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
BAD_INPUT, DEFECT, STOPPED = 2, 1, 130  # shells count an interrupt as 128 + 2

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


_interrupted = Event()


def main() -> None:
    """Run the command line and leave with its exit status."""
    signal.signal(signal.SIGINT, _interrupt)
    sys.stderr = sys.stderr or open(os.devnull, "w")  # noqa: SIM115  (closed: lives to the end)
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run one command; every mistake of input is one line on standard error.

    Parameters
    ----------
    arguments : list of str
        As typed, the program's name left out.

    Returns
    -------
    int
        The exit status.
    """
    try:
        if opens_window(arguments):
            return open_window(Path(arguments[0]) if arguments else None)
        status = program(arguments, standalone_mode=False)
        return int(status or 0)
    except typer.Abort:
        return _complain("stopped.")
    except typer.TyperException as error:  # a wrong option or a missing argument
        return _complain(f"{error.format_message()} Try: blankwright --help")
    except ToolError as error:
        return _complain(str(error))
    except KeyboardInterrupt:
        return STOPPED
    except Exception:  # noqa: BLE001  (the last net: say that it is our fault, and show where)
        if _interrupted.is_set():  # a library turned the interrupt into an error of its own
            return STOPPED
        traceback.print_exc()
        typer.echo("blankwright: this is a defect of the program; please report it.", err=True)
        return DEFECT


def open_window(file: Path | None) -> int:
    """Open the window, on a job or a photo; InputError where no window can be shown."""
    if sys.platform == "linux" and not any(os.environ.get(name) for name in SCREENS):
        raise InputError(
            "there is no screen to open a window on.",
            remedy="Use it from a desktop, or try: blankwright demo",
        )
    try:
        run_window = window_entry()
    except ModuleNotFoundError:
        raise
    except ImportError as error:  # a system library that Qt needs
        raise InputError(
            f"the window's libraries are not complete ({error}).",
            remedy="Install the packages that README.md lists under “The window”.",
        ) from error
    return run_window(file)


def window_entry() -> Callable[[Path | None], int]:
    """Return the window's main function; loads Qt."""
    from app.gui.window import main as run_window

    return run_window


def opens_window(arguments: list[str]) -> bool:
    """Return whether the arguments ask for the window: none, or one file and no command.

    A name without an ending that is no file is taken for a command that was mistyped.
    """
    if not arguments:
        return True
    if len(arguments) > 1 or arguments[0].startswith("-") or arguments[0] in command_names():
        return False
    return os.path.exists(arguments[0]) or Path(arguments[0]).suffix != ""


def command_names() -> set[str]:
    """Return what the commands are called."""
    called = ((command.name, command.callback) for command in program.registered_commands)
    return {name or callback.__name__ for name, callback in called if callback is not None}


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
def capture(
    photo: Annotated[
        Path, typer.Argument(metavar="PHOTO", help="JPEG, PNG or HEIC photo of the sheet.")
    ],
    out: Annotated[Path, typer.Option(metavar="BILLET.json", help="File to write.")],
    reference: Annotated[
        list[str] | None,
        typer.Option(
            metavar="LENGTH", help="Of the line drawn on the sheet: 100, 3in, 3-1/4 in. Repeatable."
        ),
    ] = None,
    line: Annotated[
        list[str] | None,
        typer.Option(
            metavar="X1,Y1,X2,Y2", help="Pixels of that line's ends; found by itself without."
        ),
    ] = None,
    sheet: Annotated[
        str,
        typer.Option(
            metavar="SIZE", help="letter, legal, tabloid, a5 to a2, or WxH: use its edges too."
        ),
    ] = "",
    rectangle: Annotated[str, typer.Option(metavar="WxH", help="Size of a drawn rectangle.")] = "",
    inside: Annotated[
        str, typer.Option(metavar="X,Y", help="A pixel inside the piece; found by itself without.")
    ] = "",
    edge: Annotated[
        str,
        typer.Option(
            metavar="SIDE", help="Side of the ink that is the steel: inner, middle, outer."
        ),
    ] = "inner",
    subject: Annotated[
        str, typer.Option(metavar="WHAT", help="What the photo shows: trace or steel.")
    ] = "trace",
    thickness: Annotated[
        str, typer.Option(metavar="LENGTH", help="Of the steel, measured with calipers.")
    ] = "",
    overlay: Annotated[
        Path | None, typer.Option(metavar="PICTURE", help="To write: shows what was understood.")
    ] = None,
) -> int:
    """Measure the piece of steel on a photo."""
    from app.cli.capture import Asked, run_capture

    asked = Asked(
        photo=photo,
        references=tuple(reference or ()),
        lines=tuple(line or ()),
        sheet=sheet,
        rectangle=rectangle,
        inside=inside,
        edge=edge,
        subject=subject,
        thickness=thickness,
    )
    return run_capture(asked, out=out, overlay=overlay)


@program.command()
def place(
    billet: Annotated[Path, typer.Argument(metavar="BILLET.json", help="As capture writes it.")],
    outline: Annotated[
        str, typer.Option(metavar="OUTLINE", help="A family, or a .json, .dxf or .svg file.")
    ],
    out: Annotated[Path, typer.Option(metavar="LAYOUT.json", help="File to write.")],
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--set", metavar="NAME=VALUE", help="Of the family: blade_length=90. Repeatable."
        ),
    ] = None,
    margin: Annotated[str, typer.Option(metavar="LENGTH", help="Clearance to keep.")] = "1",
    no_mirror: Annotated[
        bool, typer.Option("--no-mirror", help="Keep the same face of the steel up.")
    ] = False,
    largest: Annotated[
        bool, typer.Option("--largest", help="Scale to the largest that keeps the margin.")
    ] = False,
    unit: Annotated[
        str, typer.Option(metavar="UNIT", help="mm or in, of a drawing that names none.")
    ] = "",
) -> int:
    """Find the roomiest place for an outline on a billet."""
    from app.cli.place import Asked, run_place

    asked = Asked(
        billet=billet,
        outline=outline,
        values=tuple(values or ()),
        margin=margin,
        mirror=not no_mirror,
        largest=largest,
        unit=unit,
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


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    _interrupted.set()
    raise KeyboardInterrupt


def _complain(message: str) -> int:
    typer.echo(f"blankwright: {' '.join(message.split())}", err=True)
    return BAD_INPUT

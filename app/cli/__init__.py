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

import typer

from app.cli.commands import command_names, command_path, program
from app.cli.terminal import plain
from geometry.errors import InputError, ToolError

SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
BAD_INPUT, DEFECT, STOPPED = 2, 1, 130  # shells count an interrupt as 128 + 2

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
        return _complain(f"{error.format_message()} Try: {_help_for(arguments)}")
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


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    _interrupted.set()
    raise KeyboardInterrupt


def _help_for(arguments: list[str]) -> str:
    """Return the command that tells of the options of the one that was typed."""
    return " ".join(["blankwright", *command_path(arguments), "--help"])


def _complain(message: str) -> int:
    typer.echo(plain(f"blankwright: {' '.join(message.split())}"), err=True)
    return BAD_INPUT

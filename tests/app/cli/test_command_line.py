"""What is a command and what is a file, and how the program ends when nobody listens."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli import opens_window

ROOT = Path(__file__).resolve().parents[3]
COMMANDS = ("demo", "capture", "place", "pattern")  # those that README.md names
MAIN = [sys.executable, "-c", "from app.cli import main; main()"]


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_alone_opens_no_window(command: str) -> None:
    assert not opens_window([command])


def test_nothing_or_a_file_alone_opens_the_window(tmp_path: Path) -> None:
    (tmp_path / "photo").write_bytes(b"")
    assert opens_window([])
    assert opens_window([str(tmp_path / "photo")])
    assert opens_window(["a job of mine.blankwright"])
    assert not opens_window(["--version"])
    assert not opens_window(["sheet.jpg", "other.jpg"])


@pytest.mark.parametrize("words", [["capture"], ["place"], ["pattern"], ["captrue"], ["x" * 5000]])
def test_a_command_that_lacks_something_is_one_line_and_two(
    words: list[str], tmp_path: Path
) -> None:
    """In a process of its own: a window could not be opened here, and must not be tried."""
    done = ran(words, tmp_path)
    assert done.returncode == 2
    assert done.stderr.startswith("blankwright: ")
    assert done.stderr.count("\n") == 1


def ran(words: list[str], folder: Path, **more: object) -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith("QT_")}
    return subprocess.run(
        [*MAIN, *words],
        cwd=folder,
        env=environment | {"PYTHONPATH": str(ROOT)},
        **{"capture_output": True, "text": True, **more},  # type: ignore[call-overload]
    )

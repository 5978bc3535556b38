"""What is a command and what is a file, and how the program ends when nobody listens."""

import os
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from app.cli import opens_window, run

ROOT = Path(__file__).resolve().parents[3]
COMMANDS = (  # those that README.md names
    *("demo", "capture", "place", "pattern"),
    *("mat", "smaller", "contour", "pen measure", "outline"),
)
MAIN = [sys.executable, "-c", "from app.cli import main; main()"]


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_alone_opens_no_window(command: str) -> None:
    assert not opens_window(command.split())


def test_nothing_or_a_file_alone_opens_the_window(tmp_path: Path) -> None:
    (tmp_path / "photo").write_bytes(b"")
    assert opens_window([])
    assert opens_window([str(tmp_path / "photo")])
    assert opens_window(["a job of mine.blankwright"])
    assert not opens_window(["--version"])
    assert not opens_window(["sheet.jpg", "other.jpg"])


@pytest.mark.skipif(sys.platform != "linux", reason="other systems always have a screen")
def test_a_window_without_a_screen_is_one_line_and_two(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    for words in ([], ["sheet.jpg"]):
        assert run(words) == 2
        assert "no screen" in capsys.readouterr().err


def test_a_window_without_its_libraries_is_one_line_and_two(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def missing(*_: object) -> None:
        raise ImportError("libEGL.so.1: cannot open shared object file")

    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    monkeypatch.setattr("app.cli.window_entry", missing)
    assert run([]) == 2
    assert "libEGL.so.1" in capsys.readouterr().err


@pytest.mark.parametrize("command", COMMANDS)
def test_the_help_names_values_in_words_of_the_trade(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([*command.split(), "--help"]) == 0
    told = capsys.readouterr().out
    assert ("--width" if command == "pen measure" else "--out") in told
    options = "\n".join(line for line in told.splitlines() if line.lstrip().startswith("-"))
    for of_the_language in ("<str>", "list["):
        assert of_the_language not in options


@pytest.mark.parametrize(
    ("typed", "told"),
    [("pen", "blankwright pen --help"), ("pen measure x", "blankwright pen measure --help"),
     ("mat", "blankwright mat --help"), ("capture --wrong", "blankwright capture --help"),
     ("family size", "blankwright family size --help"),
     ("family size x --help", "blankwright family size --help"),
     ("family size add --wrong", "blankwright family size add --help"),
     ("family size family add", "blankwright family size --help")],
)  # fmt: skip
def test_what_is_missing_names_the_help_of_that_command(
    typed: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(typed.split()) == 2
    assert capsys.readouterr().err.rstrip().endswith(f"Try: {told}")


def test_a_command_is_one_though_a_file_has_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("pen", "mat", "capture"):
        (tmp_path / name).touch()
        assert not opens_window([name])


@pytest.mark.parametrize("words", [["capture"], ["place"], ["pattern"], ["captrue"], ["x" * 5000]])
def test_a_command_that_lacks_something_is_one_line_and_two(
    words: list[str], tmp_path: Path
) -> None:
    """In a process of its own: a window could not be opened here, and must not be tried."""
    done = ran(words, tmp_path)
    assert done.returncode == 2
    assert done.stderr.startswith("blankwright: ")
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="interrupts are sent otherwise there")
@pytest.mark.parametrize("caught", ["()", "KeyboardInterrupt"])
def test_stopping_is_no_defect_wherever_it_strikes(caught: str, tmp_path: Path) -> None:
    """128 + 2, as shells count it; numpy turns an interrupt of its loading into an ImportError."""
    script = f"""
import os, signal, sys
from app.cli import main
import importlib
def interrupted(out):
    try:
        os.kill(os.getpid(), signal.SIGINT)
    except {caught}:
        raise ImportError("failed to import") from None
importlib.import_module("app.cli.demo").run_demo = interrupted
sys.argv = ["blankwright", "demo", "--out", "demo"]
main()
"""
    done = subprocess.run(
        [sys.executable, "-c", script],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stderr) == (130, "")


def test_a_defect_of_ours_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(_out: Path) -> int:
        raise ZeroDivisionError

    monkeypatch.setattr(import_module("app.cli.demo"), "run_demo", broken)
    assert run(["demo"]) == 1
    assert "please report it" in capsys.readouterr().err


def test_an_error_is_the_only_line_where_no_person_watches(bar: Path) -> None:
    words = ["place", bar.name, "--outline", "neck_knife", "--out", "."]
    done = ran(words, bar.parent)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="pipes break otherwise there")
def test_a_reader_that_has_gone_changes_nothing(bar: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    words = ["place", bar.name, "--outline", "neck_knife", "--out", "layout.json"]
    done = ran(words, bar.parent, capture_output=False, stdout=writing, stderr=subprocess.PIPE)
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, "")
    assert (bar.parent / "layout.json").exists()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no full device here")
def test_words_that_cannot_be_printed_are_no_defect(bar: Path) -> None:
    words = ["place", bar.name, "--outline", "neck_knife", "--out", "layout.json"]
    with Path("/dev/full").open("w") as full:
        done = ran(words, bar.parent, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2
    assert "could not be printed" in done.stderr
    assert done.stderr.count("\n") == 1
    assert (bar.parent / "layout.json").exists()


@pytest.mark.skipif(os.name == "nt", reason="the shell is POSIX")
def test_standard_error_may_be_closed(bar: Path) -> None:
    words = [*MAIN, "place", bar.name, "--outline", "neck_knife", "--out", "layout.json"]
    closing = ["sh", "-c", 'exec "$@" 2>&-', "sh", *words]
    done = subprocess.run(
        closing, cwd=bar.parent, env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True
    )
    assert done.returncode == 0


def ran(words: list[str], folder: Path, **more: object) -> subprocess.CompletedProcess[str]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith("QT_")}
    return subprocess.run(
        [*MAIN, *words],
        cwd=folder,
        env=environment | {"PYTHONPATH": str(ROOT)},
        **{"capture_output": True, "text": True, **more},  # type: ignore[call-overload]
    )

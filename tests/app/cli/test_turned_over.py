"""A drawing that a guess turns over: that is told first, and how to have it the other way."""

from pathlib import Path

import pytest

from app.cli import run

PATH = "M0 0 L100 4 L110 0 C140 0 180 2 205 8 C190 22 160 34 110 34 L0 30 Z"


@pytest.fixture
def edge_on_top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A knife with a notch at its heel, its edge on the drawing's upper side."""
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    file = tmp_path / "knife.svg"
    size = 'width="220mm" height="40mm" viewBox="0 0 220 40"'
    file.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {size}><path d="{PATH}"/></svg>')
    return file


def notes(capsys: pytest.CaptureFixture[str]) -> list[str]:
    return [line for line in capsys.readouterr().out.splitlines() if line.startswith("note")]


def test_the_first_note_says_so(
    edge_on_top: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    family = str(tmp_path / "own.toml")
    for told in (["outline", "--out", family], ["family", "save", "--name", "Own"]):
        assert run([*told[:-2], str(edge_on_top), *told[-2:]]) == 0
        first = notes(capsys)[0]
        assert "turned over by itself" in first
        assert "--spine left" in first


def test_a_spine_that_is_told_turns_it_as_told(
    edge_on_top: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["outline", str(edge_on_top), "--spine", "left"]) == 0
    assert not any("turned over" in note for note in notes(capsys))

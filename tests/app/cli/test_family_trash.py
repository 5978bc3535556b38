"""blankwright family: what is passed on, renamed, written over, thrown away and taken back."""

import json
from pathlib import Path

import pytest

from app.cli import run
from app.files.outline_file import write_outline
from app.files.own_families import family_known, trashed_families
from geometry.family import family_named


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data" / "families"


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "traced.json"
    write_outline(family_named("drop point").outline(), path)
    return path


def test_pass_on_rename_throw_away_and_take_back(
    drawing: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["family", "save", str(drawing), "--name", "Elk"])
    sent = tmp_path / "sent" / "elk.toml"
    assert run(["family", "export", "elk", "--out", str(sent)]) == 0
    assert run(["family", "rename", "elk", "--name", "Moose"]) == 0
    assert run(["family", "import", str(sent)]) == 0
    assert run(["family", "duplicate", "moose", "--name", "Third"]) == 0
    assert run(["family", "remove", "third"]) == 0
    assert "blankwright family restore third" in capsys.readouterr().out
    assert run(["family", "restore", "third"]) == 0
    assert run(["family", "list", "--json"]) == 0
    told = json.loads(capsys.readouterr().out.partition("\n")[2])
    assert [each["key"] for each in told["families"]] == ["elk", "moose", "third"]
    assert told["trash"] == []


def test_a_taken_name_is_written_over_or_left_where_told(
    drawing: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("One", "Two"):
        assert run(["family", "save", str(drawing), "--name", name, "--notes", name]) == 0
    for asked in (["duplicate", "one", "--name", "Two"], ["rename", "one", "--name", "Two"]):
        assert run(["family", *asked]) == 2
        assert "write over it: --replace" in capsys.readouterr().err
        assert family_known("two").notes == "Two"
    assert run(["family", "duplicate", "one", "--name", "Two", "--replace"]) == 0
    assert family_known("two").notes == "One"
    assert run(["family", "set", "two", "--notes", "Second"]) == 0
    assert run(["family", "rename", "two", "--name", "One", "--replace"]) == 0
    assert family_known("one").notes == "Second"
    assert [path.name for path in folder.glob("*.toml")] == ["one.toml"]
    assert sorted(trashed_families()) == ["one", "two"]  # what was written over

    assert run(["family", "remove", "one"]) == 0
    assert run(["family", "save", str(drawing), "--name", "One"]) == 0
    assert run(["family", "restore", "one_2", "--name", "Old one"]) == 0
    assert family_known("old_one").notes == "Second"
    assert family_known("one").notes == ""
    assert run(["family", "remove", "old one"]) == 0
    capsys.readouterr()
    assert run(["family", "list"]) == 0
    assert "in the trash  old_one: Old one\n" in capsys.readouterr().out
    assert run(["family", "restore", "old_one", "--name", "One"]) == 2
    assert "--replace" in capsys.readouterr().err
    assert run(["family", "restore", "old_one", "--name", "One", "--replace"]) == 0
    assert family_known("one").notes == "Second"


def test_a_trash_that_cannot_be_read_hides_no_family(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["family", "duplicate", "neck_knife", "--name", "Mine"]) == 0
    (folder / "trash").write_text("a file")
    capsys.readouterr()
    assert run(["family", "list"]) == 0
    first, note = capsys.readouterr().out.splitlines()
    assert first == "mine: Mine"
    assert note.startswith(f"left out  {folder / 'trash'}: the trash cannot be read")
    assert note.endswith("Make it a folder that can be read, or move it away.")
    assert run(["family", "list", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [each["key"] for each in told["families"]] == ["mine"]
    assert (len(told["problems"]), told["trash"]) == (1, [])
    assert run(["family", "remove", "mine"]) == 2
    assert "Move away what is there in its place." in capsys.readouterr().err
    (folder / "trash").rename(folder / "elsewhere")  # as the notes say
    assert run(["family", "remove", "mine"]) == 0
    assert run(["family", "list"]) == 0
    assert "in the trash  mine: Mine" in capsys.readouterr().out

"""``blankwright outline`` and the wheels of the maker's grinder: told, or those that are kept."""

from pathlib import Path

import pytest

from app.cli import run
from app.files.data_folder import made_data_folder
from app.files.wheels_file import keep_wheels, wheels_path


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))


def lines(capsys: pytest.CaptureFixture[str], kind: str) -> list[str]:
    said = capsys.readouterr()
    assert not said.err
    return [line for line in said.out.splitlines() if line.startswith(kind)]


def wheel_lines(capsys: pytest.CaptureFixture[str]) -> list[str]:
    return lines(capsys, "wheels")


def test_without_any_told_the_kept_wheels_count(capsys: pytest.CaptureFixture[str]) -> None:
    """The neck knife's notch has a radius of 1.2 mm."""
    keep_wheels((25.0, 50.0))
    assert run(["outline", "neck_knife"]) == 0
    kept = wheel_lines(capsys)
    assert any("the smallest is 25 mm across" in line for line in kept)
    assert run(["outline", "neck_knife", "--wheel", "2mm"]) == 0
    assert not any("radius of 1.2" in line for line in wheel_lines(capsys))


def test_with_none_told_and_none_kept_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["outline", "neck_knife"]) == 0
    assert wheel_lines(capsys) == []


def test_kept_wheels_that_cannot_be_read_are_told_and_the_outline_made(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made_data_folder()
    wheels_path().write_text("{")
    assert run(["outline", "neck_knife", "--out", str(tmp_path / "neck.dxf")]) == 0
    assert any("wheels.json" in line for line in lines(capsys, "note"))
    assert (tmp_path / "neck.dxf").exists()

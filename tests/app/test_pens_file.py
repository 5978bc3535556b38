"""Pens are kept by name, in the person's own data folder, and nothing damaged is taken for one."""

import json
import sys
from pathlib import Path

import pytest

from app.files.data_folder import data_folder
from app.files.errors import FileError
from app.files.pens_file import (
    checked_name,
    forget_pen,
    keep_pen,
    kept_pens,
    pen_named,
    pens_path,
)
from calibration.pens import Pen
from geometry.errors import InputError

BIRO = Pen(name="biro", offset_mm=0.8, sigma_mm=0.1, thickness_mm=6.35)
FELT = Pen(name="felt", offset_mm=0.55, sigma_mm=0.125, edge="middle")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


def test_pens_come_back_as_they_were_kept() -> None:
    assert kept_pens() == ()
    assert not keep_pen(FELT)
    assert not keep_pen(BIRO)
    assert kept_pens() == (BIRO, FELT)
    assert pen_named(" felt ") == FELT


def test_a_pen_measured_again_replaces_itself() -> None:
    keep_pen(BIRO)
    again = Pen(name="biro", offset_mm=0.9)
    assert keep_pen(again)
    assert kept_pens() == (again,)


def test_a_forgotten_pen_is_gone_and_no_other() -> None:
    keep_pen(BIRO)
    keep_pen(FELT)
    forget_pen("biro")
    assert kept_pens() == (FELT,)
    with pytest.raises(InputError, match="Use one of felt"):
        forget_pen("biro")


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\x07b"])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="no name"):
        checked_name(name)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "not a list of pens"),
        (json.dumps({"pens_schema": 2}), "newer version"),
        (json.dumps({"pens": [{"name": "x", "offset_mm": "1", "sigma_mm": 0}]}), "offset_mm"),
        (json.dumps({"pens": [{"name": "x", "offset_mm": 99, "sigma_mm": 0}]}), "too large"),
        (
            json.dumps(
                {"pens": [{"name": "x", "offset_mm": 1, "sigma_mm": 0, "thickness_mm": -1}]}
            ),
            "thickness_mm",
        ),
    ],
)
def test_a_damaged_list_is_told_and_left_as_it_is(text: str, words: str) -> None:
    pens_path().parent.mkdir(parents=True)
    pens_path().write_text(text, encoding="utf-8")
    for attempt in (kept_pens, lambda: keep_pen(BIRO)):
        with pytest.raises(FileError, match=words) as caught:
            attempt()
        assert "\n" not in str(caught.value)
    assert pens_path().read_text(encoding="utf-8") == text


def test_a_folder_that_cannot_be_made_is_told(folder: Path) -> None:
    folder.write_text("a file", encoding="utf-8")
    with pytest.raises(FileError, match="cannot be made"):
        keep_pen(BIRO)


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="the base directory standard")
@pytest.mark.parametrize(
    ("told", "home"), [("/elsewhere", "/elsewhere"), ("relative", None), ("", None)]
)
def test_the_folder_follows_the_base_directory_standard(
    told: str, home: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """XDG Base Directory Specification 0.8: relative paths are to be ignored."""
    monkeypatch.delenv("BLANKWRIGHT_DATA")
    monkeypatch.setenv("XDG_DATA_HOME", told)
    base = Path(home) if home else Path.home() / ".local" / "share"
    assert data_folder() == base / "Blankwright"

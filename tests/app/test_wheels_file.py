"""The maker's wheels, typed and kept."""

from pathlib import Path

import pytest

from app.files.errors import FileError
from app.files.wheels_file import (
    keep_wheels,
    kept_wheels_mm,
    wheels_path,
    wheels_told,
    wheels_words,
)
from geometry.errors import InputError


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


def test_wheels_are_kept_sorted_and_once() -> None:
    assert kept_wheels_mm() == ()
    keep_wheels(wheels_told("8in, 25, 50 mm; 25"))
    assert kept_wheels_mm() == (25.0, 50.0, 203.2)  # 8 x 25.4
    keep_wheels(())
    assert kept_wheels_mm() == ()


def test_what_is_shown_is_read_again() -> None:
    for unit in ("mm", "in"):
        assert wheels_told(wheels_words((12.7, 50.8), unit), unit) == pytest.approx((12.7, 50.8))
    assert wheels_told("") == ()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("25, large", "is not a length"),
        ("0.5", "on no belt grinder"),
        ("2 m", "on no belt grinder"),
        (", ".join(str(d) for d in range(10, 40)), "30 wheels are more"),
    ],
)
def test_what_is_no_wheel_is_told(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        wheels_told(text)


def test_a_damaged_file_is_told(folder: Path) -> None:
    folder.mkdir()
    wheels_path().write_text('{"diameters_mm": [25, "x"]}')
    with pytest.raises(FileError, match="diameters_mm"):
        kept_wheels_mm()

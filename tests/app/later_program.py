"""A later version of the program, whose families were changed since."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.family import built_in_families, library


def install_later(
    monkeypatch: pytest.MonkeyPatch, root: Path, key: str, change: Callable[[str], str]
) -> None:
    """Let the program have another text of one of its families; none where it becomes empty."""
    folder = root / "families"
    shutil.copytree(Path(library.__file__).parents[1] / "families", folder)
    file = folder / f"{key}.toml"
    text = file.read_text(encoding="utf-8")
    changed = change(text)
    assert changed != text
    if changed:
        file.write_text(changed, encoding="utf-8")
    else:
        file.unlink()
    monkeypatch.setattr(library, "files", lambda _package: root)
    built_in_families.cache_clear()


def blade_of(*, usual: float, low: float, high: float) -> Callable[[str], str]:
    """Return the change of the drop point's blade from 95 mm, 60 to 150."""

    def change(text: str) -> str:
        old = "default = 95\nlow = 60\nhigh = 150"
        assert text.count(old) == 1
        return text.replace(old, f"default = {usual}\nlow = {low}\nhigh = {high}")

    return change

"""Drawings that others made for other purposes: their sizes, or a clear reason."""

from pathlib import Path

import pytest

from app.files.dxf_file import read_dxf as read_drawing
from geometry.errors import ToolError
from geometry.outline import Outline


def read_dxf(path: Path, *, unit: str | None = None) -> Outline:
    return read_drawing(path, unit=unit).outline


# Sizes in mm as the files' own README gives them, or computed apart from this program.
REAL = {
    "cadquery_vslot-2020_1.dxf": (20.0, 20.0),
    "lasersaur_job-mount-panels-v14.03.dxf": (488.0, 488.0),
    "skym_openscad_export.dxf": (40.0, 40.0),
    "skym_squareandcircle.dxf": (10.0, 10.0),
}


@pytest.mark.parametrize("name", REAL)
def test_real_drawings_have_their_size(shared: Path, name: str) -> None:
    outline = read_dxf(shared / "real" / "vector" / name, unit="mm")
    assert outline.bounds_mm[2:] == pytest.approx(REAL[name], abs=0.01)


def test_every_real_drawing_ends_in_an_outline_or_a_clear_line(shared: Path) -> None:
    said: dict[str, str] = {}
    read = 0
    for path in sorted((shared / "real" / "vector").glob("*.[dD][xX][fF]")):
        try:
            read_dxf(path, unit="mm").polygon()
            read += 1
        except ToolError as error:
            said[path.name] = str(error)
    assert all(name in line and "\n" not in line for name, line in said.items())
    assert read >= 10

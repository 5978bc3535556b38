"""Two knives drawn for tests of the command line, and what the command said of them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import ezdxf
import pytest

# A plain knife drawn from its butt at (300, 40), pointing left and down the sheet: 200 x 30 mm.
KNIFE = [(300, 40), (300, 70), (150, 70), (100, 55), (150, 40)]
HOLE = (280.0, 55.0, 3.0)
#: A level knife: 200 x 30, its edge along the bottom from a heel at (110, 0), tip at (200, 20).
LEVEL = [(0, 0), (95, 0), (95, 6), (110, 6), (110, 0), (170, 0), (200, 20), (160, 30), (0, 30)]


def drawing(folder: Path, units: int = 4, scale: float = 1.0) -> Path:
    document = ezdxf.new("R2000", units=units)
    space = document.modelspace()
    space.add_lwpolyline([(x * scale, y * scale) for x, y in KNIFE], close=True)
    space.add_circle((HOLE[0] * scale, HOLE[1] * scale), HOLE[2] * scale)
    space.add_line((0, 0), (50 * scale, 0))
    space.add_text("made for a test", dxfattribs={"insert": (120 * scale, 90 * scale)})
    document.saveas(folder / "knife.dxf")
    return folder / "knife.dxf"


def level_drawing(folder: Path) -> str:
    document = ezdxf.new("R2000", units=4)
    document.modelspace().add_lwpolyline(LEVEL, close=True)
    document.saveas(folder / "level.dxf")
    return str(folder / "level.dxf")


def told(capsys: pytest.CaptureFixture[str]) -> str:
    said = capsys.readouterr()
    assert not said.err
    return said.out


def as_json(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    facts = json.loads(told(capsys))
    assert isinstance(facts, dict)
    return facts

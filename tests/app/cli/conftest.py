"""A bar and a slab of steel in files, for the tests of the command line."""

import json
from pathlib import Path

import pytest

BAR = {"units": "mm", "outline": [[0, 0], [250, 0], [250, 45], [0, 45]], "thickness_mm": 4.0}
SLAB = {"units": "mm", "outline": [[0, 0], [40, 0], [40, 20], [0, 20]]}


@pytest.fixture
def bar(tmp_path: Path) -> Path:
    path = tmp_path / "bar.json"
    path.write_text(json.dumps(BAR), encoding="utf-8")
    return path


@pytest.fixture
def slab(tmp_path: Path) -> Path:
    path = tmp_path / "slab.json"
    path.write_text(json.dumps(SLAB), encoding="utf-8")
    return path

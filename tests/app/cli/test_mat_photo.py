"""The command line from a photo of the printed mat to a billet."""

import json
from pathlib import Path

import pytest
import shapely
from PIL import Image

from app.cli import run
from calibration.mat import mat_layout
from tests.calibration.mat_render import MatScene, off_mm, over, piece

PRINTED = (1.005, 0.996)  # of the asked length of 120 mm: 120.6 and 119.52


@pytest.fixture(scope="module")
def shown() -> MatScene:
    camera = over("letter", fill=0.76, tilt_deg=12.0, azimuth_deg=30.0, k1=-0.03)
    return MatScene(
        paper="letter", camera=camera, outline=piece(mat_layout("letter")), printed=PRINTED
    )


@pytest.fixture(scope="module")
def photo(shown: MatScene, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("mat") / "mat.jpg"
    Image.fromarray(shown.photo().rgb).save(path, quality=92)
    return path


def test_a_photo_of_the_mat_becomes_a_billet(
    shown: MatScene, photo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "billet.json"
    bars = ["--bar-across", "120.6", "--bar-up", "119.52"]
    assert run(["capture", str(photo), "--mat", *bars, "--out", str(out)]) == 0
    found = shapely.Polygon(json.loads(out.read_text(encoding="utf-8"))["outline"])
    assert shown.outline is not None
    assert sorted(off_mm(found, shown.outline))[-20] < 0.1
    assert "mat" in capsys.readouterr().out


def test_bars_that_nobody_measured_are_asked_for(
    photo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["capture", str(photo), "--mat", "--out", str(tmp_path / "b.json")]) == 0
    assert "Measure both with calipers" in capsys.readouterr().out


def test_a_bar_of_a_page_that_was_fitted_names_the_cause(
    photo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A Letter page in margins of 1/4 in is 203.2 / 215.9 of its size: 112.94 of 120 mm."""
    bars = ["--bar-across", "112.94", "--bar-up", "112.9"]
    assert run(["capture", str(photo), "--mat", *bars, "--out", str(tmp_path / "b.json")]) == 2
    assert "fitted inside margins of 1/4 in" in capsys.readouterr().err

"""From a photo straight to an outline on the command line."""

import json
import math
from pathlib import Path

import pytest
import shapely

from app.cli import run
from app.files.outline_file import read_outline
from geometry.outline import Outline
from tests.app.cli.test_capture_and_demo import best_overlap


def capture(photo: Path, *more: str) -> int:
    return run(["capture", str(photo), "--reference", "6in", "--sheet", "letter", *more])


def places(outline: Outline) -> dict[str, tuple[float, float]]:
    return {station.name: (station.x_mm, station.y_mm) for station in outline.stations}


def test_a_photo_becomes_an_outline_with_its_ends_where_they_are_pointed_at(
    samples: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The truth tells where the far ends of the traced piece are, in mm and in pixels."""
    photo, out, billet = samples / "forging.jpg", tmp_path / "o.json", tmp_path / "b.json"
    assert capture(photo, "--outline", str(out), "--out", str(billet)) == 0
    assert "from heel to tip" in capsys.readouterr().out
    proposed = read_outline(out)
    true = shapely.Polygon(json.loads(photo.with_suffix(".truth.json").read_text())["steel"])
    found = proposed.polygon()
    if best_overlap(found, true).hausdorff_distance(true) > 1.0:  # it may have been turned over
        found = shapely.transform(found, lambda points: points * (1, -1))
    assert best_overlap(found, true).hausdorff_distance(true) < 0.5

    measured = json.loads(billet.read_text())["outline"]
    far = max(
        ((a, b) for a in measured for b in measured), key=lambda pair: math.dist(pair[0], pair[1])
    )
    tip, butt = (f"{x:.3f},{y:.3f}mm" for x, y in far)
    assert capture(photo, "--outline", str(out), "--tip", tip, "--butt", butt) == 0
    forth = places(read_outline(out))
    assert math.dist(forth["tip"], forth["butt"]) == pytest.approx(math.dist(*far), abs=0.2)
    assert forth["tip"][0] > 0.0 > forth["butt"][0]
    assert forth["tip"][1] == pytest.approx(forth["butt"][1], abs=1e-6)  # x runs from one to other
    assert forth["heel"] == (0.0, 0.0)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ([], "no file to write was given"),
        (["--out", "b.json", "--tip", "1,2"], "those of an outline"),
        (["--outline", "o.json", "--tip", "one"], "is not 2 pixel coordinates"),
        (["--outline", "o.json", "--spine", "up"], "left, right"),
        (["--outline", "o.png"], "does not end in"),
        (["--outline", "x.json", "--out", "x.json"], "is another result too"),
    ],
)
def test_what_cannot_be_meant_is_refused_before_it_is_measured(
    samples: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    options: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert capture(samples / "forging.jpg", *options) == 2
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []

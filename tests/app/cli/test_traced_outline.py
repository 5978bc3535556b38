"""From a photo straight to an outline on the command line."""

import json
import math
from pathlib import Path

import pytest
import shapely

from app.cli import run
from app.files.billet_file import write_billet
from app.files.outline_choice import choice_and_notes
from app.files.outline_file import read_outline
from app.files.own_families import family_in_file
from geometry.billet import Billet
from geometry.error_budget import Budget, Part
from geometry.family import family_named
from geometry.outline import Outline
from geometry.pose import Pose
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
    said = capsys.readouterr().out
    assert "from heel to tip" in said
    assert "found by itself: tip x" in said
    assert "mm, on the piece; else give --tip X,Y and --butt X,Y in pixels of the photo, or" in said
    assert "the heel was not told; taken at x" in said
    assert said.count("mm too large all round") == 1
    assert "mm were left on all round, as neither thickness, pen nor a size" in said
    assert f"as place does, blankwright outline {billet} --true-size" in said
    references = [line for line in said.splitlines() if line.startswith("reference")]
    assert references
    assert all(line.endswith(" mm") for line in references)
    assert said.splitlines()[-2:] == [f"written   {billet}", f"written   {out}"]
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
    capsys.readouterr()
    assert capture(photo, "--outline", str(out), "--tip", tip, "--butt", butt) == 0
    assert "write the piece too, with --out BILLET.json: blankwright outline" in (
        capsys.readouterr().out
    )
    assert run(["outline", str(out), "--true-size"]) == 2
    assert "give the BILLET.json that capture --out writes" in capsys.readouterr().err
    forth = places(read_outline(out))
    assert math.dist(forth["tip"], forth["butt"]) == pytest.approx(math.dist(*far), abs=0.2)
    assert forth["tip"][0] > 0.0 > forth["butt"][0]
    assert forth["tip"][1] == pytest.approx(forth["butt"][1], abs=1e-6)  # x runs from one to other
    assert forth["heel"] == (0.0, 0.0)


@pytest.mark.parametrize("ending", ["json", "dxf", "svg", "toml"])
def test_a_measured_piece_becomes_an_outline_in_any_kind_of_file(
    tmp_path: Path, ending: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A piece that is the drop point, lying askew: it comes back in the outline frame."""
    true = family_named("drop point").outline()
    lies = Pose(x_mm=50.0, y_mm=-30.0, theta_rad=2.5, mirrored=True)
    piece, out = tmp_path / "piece.json", tmp_path / f"traced.{ending}"
    write_billet(piece, Billet(shape=lies.shape(true.polygon())))
    known = places(true)
    [(x, y)] = lies.points([known["tip"]]).tolist()
    assert run(["outline", str(piece), "--tip", f"{x:.2f},{y:.2f}", "--out", str(out)]) == 0
    assert "holes" in capsys.readouterr().out
    again = (
        family_in_file(out).outline()
        if ending == "toml"
        else choice_and_notes(str(out), "")[0].drawing
    )
    assert again is not None
    found = places(again)
    assert math.dist(found["tip"], found["heel"]) == pytest.approx(
        math.dist(known["tip"], known["heel"]), abs=0.15
    )
    assert found["heel"] == pytest.approx((0.0, 0.0), abs=0.01)
    assert again.area_mm2 == pytest.approx(true.area_mm2, rel=2e-3)
    sizes = sorted(hole.diameter_mm for hole in again.holes)
    assert sizes == pytest.approx(sorted(hole.diameter_mm for hole in true.holes), abs=0.02)


def test_a_photo_becomes_a_family_straight_away(samples: Path, tmp_path: Path) -> None:
    out = tmp_path / "my_spear.toml"
    assert capture(samples / "forging.jpg", "--outline", str(out)) == 0
    family = family_in_file(out)
    assert family.name == "my spear"
    assert "blade_length" in family.defaults
    assert family.outline().overall_length_mm == pytest.approx(231.0, abs=1.0)  # the sample's truth


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


def test_what_a_trace_is_too_large_is_told_and_taken_off_where_it_is_known(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A traced bar of 201.2 x 31.2: 0.6 mm all round of that is the pen's."""
    piece = tmp_path / "piece.json"
    for sigma_mm, width_mm, said in (
        (0.3, 200.0, "0.60 mm were taken off the trace all round, as place does"),
        (0.6, 201.2, "0.60 mm were left on all round, as neither thickness, pen nor a size"),
    ):
        budget = Budget(parts=(Part(name="pen", bias_mm=0.6, sigma_mm=sigma_mm),))
        write_billet(piece, Billet(shape=shapely.box(0, 0, 201.2, 31.2), budget=budget))
        assert run(["outline", str(piece)]) == 0
        words = capsys.readouterr().out
        assert said in words
        assert "likely 0.60 mm too large all round" in words
        assert "x 201.2" in words or "x 200.6" in words  # an end that was found, in the trace
        assert run(["outline", str(piece), "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        height_mm = width_mm - 170.0  # it lies by its corners, askew: the area tells its sizes
        assert facts["area_mm2"] == pytest.approx(width_mm * height_mm, abs=0.5)
        assert facts["traced"] == {
            "bias_mm": pytest.approx(0.6),
            "taken_off_mm": pytest.approx((201.2 - width_mm) / 2),
            "doubt_mm": pytest.approx(2 * sigma_mm),
        }
    assert run(["outline", str(piece), "--true-size", "--json"]) == 0
    area_mm2 = json.loads(capsys.readouterr().out)["area_mm2"]
    assert area_mm2 == pytest.approx(200.0 * 30.0, abs=0.5)
    assert run(["outline", "neck_knife", "--true-size"]) == 2
    assert "is a family" in capsys.readouterr().err

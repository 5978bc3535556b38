"""``blankwright outline`` of a drawing: imported, turned, and what is told of it."""

import math
from pathlib import Path

import pytest

from app.cli import run
from app.files.outline_file import read_outline
from app.files.own_families import family_in_file
from tests.app.cli.knife_drawings import as_json, drawing, level_drawing, told


def test_a_drawing_becomes_a_family_that_stretches(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "mine.toml"
    words = ["--tip", "0,15", "--butt", "200,15", "--name", "Mine"]
    assert run(["outline", str(drawing(tmp_path)), *words, "--out", str(out)]) == 0
    told(capsys)
    family = family_in_file(out)
    assert family.name == "Mine"
    assert family.parameters
    assert family.outline().overall_length_mm == pytest.approx(200, abs=0.01)


def test_a_drawing_is_imported_and_what_is_left_out_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its lower left corner is (100, 40): words at (120, 90) are at (20, 50) from there."""
    out = tmp_path / "knife.json"
    assert run(["outline", str(drawing(tmp_path)), "--out", str(out)]) == 0
    said = told(capsys)
    assert "outline   knife: 200.00 x 30.00 mm, 5 lines" in said
    assert "1 pin, 6 mm" in said
    assert "left out  words: x 20.0, y 50.0" in said
    assert "left out  open line beside the outline" in said
    outline = read_outline(out)
    assert outline.bounds_mm == pytest.approx((0, 0, 200, 30))
    (hole,) = outline.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((180, 15, 6))


def test_tip_butt_and_heel_turn_a_drawing_into_the_outline_frame(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Heel at (50, 30), above: turned half round, it is below; the butt is 150 to the left of it.

    The tip, at (0, 15), is 50 to the right of the heel and 15 above; the hole, at (180, 15),
    130 to the left and 15 above.
    """
    out = tmp_path / "knife.json"
    words = ["--tip", "0,15", "--butt", "200 mm, 15", "--heel", "50,30"]
    assert run(["outline", str(drawing(tmp_path)), *words, "--out", str(out), "--json"]) == 0
    facts = as_json(capsys)
    stations = {s["name"]: (s["x_mm"], s["y_mm"]) for s in facts["stations"]}
    assert stations["tip"] == pytest.approx((50, 15), abs=0.01)
    assert stations["heel"] == pytest.approx((0, 0), abs=0.01)
    assert stations["butt"][0] == pytest.approx(-150, abs=0.01)
    (hole,) = facts["holes"]
    assert (hole["x_mm"], hole["y_mm"]) == pytest.approx((-130, 15), abs=0.01)
    assert facts["area_mm2"] == pytest.approx(150 * 30 + 50 * 15 - math.pi * 9, abs=0.01)
    assert read_outline(out).bounds_mm == pytest.approx((-150, 0, 50, 30), abs=0.01)


def test_a_drawing_without_a_unit_is_asked_about_and_read_once_it_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """200 mm in inches is 7.874; drawn in metres it is 0.2."""
    path = drawing(tmp_path, units=0, scale=1 / 25.4)
    out = tmp_path / "knife.json"
    assert run(["outline", str(path), "--out", str(out)]) == 2
    said = capsys.readouterr()
    assert not said.out
    assert said.err.count("\n") == 1
    assert "200.00 x 30.00 mm if in inches" in said.err
    assert "in inches" in said.err.partition("By its size")[2]
    assert not out.exists()
    for unit in ("in", "inch"):
        assert run(["outline", str(path), "--unit", unit, "--out", str(out)]) == 0
        told(capsys)
        assert read_outline(out).bounds_mm == pytest.approx((0, 0, 200, 30), abs=1e-6)
    metres = drawing(tmp_path, units=0, scale=1e-3)
    assert run(["outline", str(metres)]) == 2
    assert "200.00 x 30.00 mm if in metres. By its size it is likely drawn in metres" in (
        capsys.readouterr().err
    )


@pytest.mark.parametrize("words", [["--heel", "110,0"], ["--tip", "200,20"]])
def test_a_drawing_is_not_turned_before_both_ends_are_told(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["outline", level_drawing(tmp_path), *words, "--json"]) == 0
    facts = as_json(capsys)
    assert (facts["width_mm"], facts["height_mm"]) == pytest.approx((200.0, 30.0))
    assert facts["measures"]["drop_of_the_tip_mm"] == pytest.approx(10.0)
    assert any("not turned: tip and butt were not both given" in n for n in facts["notes"])


def test_what_is_said_to_be_measured_once_it_is_told_is_measured_then(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, point = level_drawing(tmp_path), ["--tip", "200,20", "--heel", "110,0"]
    edge, blade = "edge and drop of the tip are not measured", "blade and handle are not measured"
    for words, promised in (([], True), (point, False)):
        assert run(["outline", path, *words, "--json"]) == 0
        facts = as_json(capsys)
        assert any(note.startswith(edge) for note in facts["notes"]) == promised
        assert any(note.startswith(blade) for note in facts["notes"])
        measured = {"edge_along_its_curve_mm", "drop_of_the_tip_mm"} & set(facts["measures"])
        assert len(measured) == (0 if promised else 2)
        assert "blade_mm" not in facts["measures"]


@pytest.mark.parametrize(
    ("spine", "turned"),
    [
        ("left", "; not turned: tip and butt were not both given"),
        ("right", ", its other face up so that the spine is on top; not turned: tip and butt were "
         "not both given"),
    ],
)  # fmt: skip
def test_how_a_drawing_was_moved_is_told_in_one_plain_sentence(
    spine: str, turned: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["outline", level_drawing(tmp_path), "--tip", "200,20", "--spine", spine, "--json"]
    assert run(words) == 0
    moved = f"moved into the outline frame, the heel at its origin{turned}"
    assert moved in as_json(capsys)["notes"]


@pytest.mark.parametrize(
    "words",
    [["families", "IT"], ["family", "export", "IT", "--out", "a.toml"], ["family", "remove", "IT"],
     ["family", "rename", "IT", "--name", "b"], ["family", "set", "IT", "--set", "a=1"]],
)  # fmt: skip
def test_a_drawing_for_a_family_is_called_one(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = level_drawing(tmp_path)
    assert run([path if word == "IT" else word for word in words]) == 2
    said = capsys.readouterr().err
    assert f"“{path}” is a drawing, and no family" in said
    assert f"blankwright family save {path} --name NAME" in said
    assert "kitchen_chef" not in said


def test_a_closed_line_is_chosen_by_its_number(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The hole of 6 mm, in inches."""
    path = str(drawing(tmp_path))
    assert run(["outline", path, "--loop", "2", "--unit", "in", "--json"]) == 0
    facts = as_json(capsys)
    assert (facts["width_mm"], facts["height_mm"]) == pytest.approx((152.4, 152.4), abs=0.05)


def test_what_was_found_by_itself_is_told_with_its_frame(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """From (0, 15) to (200, 20): the arc tangent of 5 / 200 is 1.43 degrees."""
    path = level_drawing(tmp_path)
    assert run(["outline", path]) == 0
    assert "edge and drop of the tip are not measured: give --tip" in told(capsys)
    assert run(["outline", path, "--tip", "200,20"]) == 0
    said = told(capsys)
    assert "found by itself: butt x 0.0, y 15.0 mm, counted from the drawing's lower left" in said
    assert "the heel was not told; taken at x 110.0, y 0.0 mm" in said
    assert "blade and handle are not measured" in said
    assert run(["outline", path, "--tip", "200,20", "--butt", "0,15", "--heel", "110,0"]) == 0
    said = told(capsys)
    assert "turned by -1.43 degrees" in said
    assert "not told" not in said
    assert run(["outline", path, "--tip", "140,30"]) == 0
    assert "the tip told lies 60.8 mm from the nearer of the two ends" in told(capsys)


def test_a_family_of_a_drawing_lies_in_the_outline_frame(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    path, out = level_drawing(tmp_path), tmp_path / "made.toml"
    assert run(["outline", path, "--out", str(out)]) == 0
    assert "the heel was not told; taken at x 110.0, y 0.0" in told(capsys)
    assert run(["family", "save", path, "--name", "Kept"]) == 0
    said = told(capsys)
    assert "the heel was not told; taken at x 110.0, y 0.0" in said
    assert "give --heel X,Y" in said
    assert run(["family", "save", path, "--name", "Told", "--heel", "120,0"]) == 0
    assert "the heel was not told" not in told(capsys)
    for family in (family_in_file(out), family_in_file(tmp_path / "data/families/kept.toml")):
        assert family.outline().bounds_mm == pytest.approx((-110.0, 0.0, 90.0, 30.0), abs=1e-6)

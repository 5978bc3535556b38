"""``blankwright outline``: each way of making, importing, turning and converting an outline."""

import json
import math
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely

from app.cli import run
from app.files.outline_choice import read_drawing
from app.files.outline_file import read_outline, write_outline
from app.files.own_families import family_in_file
from geometry.family import family_named
from tests.geometry.chains import hollow_bar

# A plain knife drawn from its butt at (300, 40), pointing left and down the sheet: 200 x 30 mm.
KNIFE = [(300, 40), (300, 70), (150, 70), (100, 55), (150, 40)]
HOLE = (280.0, 55.0, 3.0)


def drawing(folder: Path, units: int = 4, scale: float = 1.0) -> Path:
    document = ezdxf.new("R2000", units=units)
    space = document.modelspace()
    space.add_lwpolyline([(x * scale, y * scale) for x, y in KNIFE], close=True)
    space.add_circle((HOLE[0] * scale, HOLE[1] * scale), HOLE[2] * scale)
    space.add_line((0, 0), (50 * scale, 0))
    space.add_text("made for a test", dxfattribs={"insert": (120 * scale, 90 * scale)})
    document.saveas(folder / "knife.dxf")
    return folder / "knife.dxf"


def told(capsys: pytest.CaptureFixture[str]) -> str:
    said = capsys.readouterr()
    assert not said.err
    return said.out


def as_json(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    facts = json.loads(told(capsys))
    assert isinstance(facts, dict)
    return facts


def test_a_kink_hides_no_hollow_that_a_wheel_cannot_follow(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bar.json"
    write_outline(hollow_bar((20.0, 0.8), (2.0, 0.3), (30.0, 0.8)), path)
    assert run(["outline", str(path), "--wheel", "50mm"]) == 0
    said = [line for line in told(capsys).splitlines() if line.startswith("wheels")]
    assert len(said) == 2  # 50 mm across goes into the one of 30 mm
    assert "radius of 20.0 mm: none of your wheels" in said[0]
    assert "radius of 2.0 mm: none of your wheels" in said[1]


@pytest.mark.parametrize("ending", ["json", "dxf", "svg"])
def test_a_family_becomes_a_file_that_is_the_same_outline(
    tmp_path: Path, ending: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new" / f"neck.{ending}"
    words = ["--set", "blade_length=2 3/4in", "--wheel", "1in"]
    assert run(["outline", "neck_knife", *words, "--out", str(out)]) == 0
    said = told(capsys)
    assert "blade 69.85 mm" in said  # 2.75 x 25.4
    assert "3 lightening, 6 mm" in said
    assert "take a wheel of at most 2.4 mm" in said  # the notch's radius is 1.2
    expected = family_named("neck_knife").outline({"blade_length": 69.85})
    again = read_drawing(out).outline
    rings = (shapely.LinearRing(o.ring(1e-4)) for o in (expected, again))
    assert shapely.hausdorff_distance(*rings) < 0.01
    assert [hole.kind for hole in again.holes] == [hole.kind for hole in expected.holes]
    assert [mark.kind for mark in again.marks] == [mark.kind for mark in expected.marks]


def test_a_size_is_taken_and_changed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    family = family_named("neck_knife")
    size = family.sizes[0]
    out = tmp_path / "small.json"
    words = ["--size", size.name.upper(), "--set", "hole_count=2"]
    assert run(["outline", "neck_knife", *words, "--out", str(out)]) == 0
    told(capsys)
    assert read_outline(out) == family.outline({**dict(size.values), "hole_count": 2})


def test_a_file_is_converted_from_kind_to_kind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Family, DXF, SVG, JSON, family file and back: the edge moves by less than 0.01 mm in all."""
    start = family_named("full_tang_drop_point").outline()
    names = ["a.dxf", "b.svg", "c.json", "d.toml", "e.json"]
    source = "full_tang_drop_point"
    for name in names:
        out = str(tmp_path / name)
        assert run(["outline", source, "--out", out]) == 0
        source = out
    told(capsys)
    end = read_outline(tmp_path / "e.json")
    rings = (shapely.LinearRing(o.ring(1e-4)) for o in (start, end))
    assert shapely.hausdorff_distance(*rings) < 0.01
    assert len(end.holes) == len(start.holes)


def test_a_family_file_keeps_the_values_that_were_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "long_neck.toml"
    assert run(["outline", "neck_knife", "--set", "blade_length=75", "--out", str(out)]) == 0
    told(capsys)
    family = family_in_file(out)
    assert family.name == "long neck"
    assert family.defaults["blade_length"] == 75
    assert family.outline().blade_length_mm == pytest.approx(75)


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
    assert "left out  1 x words: x 20.0, y 50.0" in said
    assert "left out  1 x open line beside the outline" in said
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


def test_nothing_is_written_without_a_file_to_write(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["outline", "kitchen_chef", "--json"]) == 0
    facts = as_json(capsys)
    assert facts["measures"]["overall_mm"] == pytest.approx(facts["width_mm"], abs=0.02)
    assert not list(tmp_path.iterdir())


WRONG = [
    (["no_such_family"], "there is no family"),
    (["DXF", "--set", "blade_length=90"], "--set: a drawing has no values"),
    (["DXF", "--size", "small"], "--size: a drawing has no sizes"),
    (["DXF", "--tip", "4"], "--tip: “4” is no place"),
    (["DXF", "--butt", "4,q"], "--butt: “q” is not a length"),
    (["DXF", "--tip", "100,15", "--butt", "101,15"], "Choose the two ends|not at the shape"),
    (["DXF", "--spine", "up"], "--spine: “up” is not known"),
    (["DXF", "--out", "DXF"], "would be overwritten"),
    (["DXF", "--unit", "furlong"], "--unit: the unit “furlong” is not known"),
    (["JSON", "--unit", "mm"], "--unit: the file states its unit"),
    (["neck_knife", "--unit", "mm"], "--unit: “neck_knife” is a family"),
    (["neck_knife", "--loop", "2"], "--loop: “neck_knife” is a family"),
    (["JSON", "--loop", "1"], "is one outline already"),
    (["DXF", "--loop", "3"], "--loop: the drawing has no closed line number 3"),
    (["DXF", "--loop", "-1"], "--loop: the drawing has no closed line number -1"),
    (["neck_knife", "--tip", "0,0"], "--tip: “neck_knife” is a family"),
    (["neck_knife", "--size", "giant"], "--size: neck_knife has no size “giant”"),
    (["neck_knife", "--set", "wings=2"], "--set: “wings=2” sets nothing"),
    (["neck_knife", "--set", "blade_length=900"], "900 is out of range"),
    (["neck_knife", "--wheel", "-3"], "--wheel: “-3” must be more than zero"),
    (["neck_knife", "--out", "a.png"], "--out: a.png does not end in"),
    (["missing.svg"], "missing.svg: the file could not be read"),
    ([], "Missing argument"),
]


@pytest.mark.parametrize(("words", "said"), WRONG)
def test_a_wrong_option_is_one_clear_line(
    tmp_path: Path, words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    files = {"DXF": str(drawing(tmp_path)), "JSON": str(tmp_path / "a.json")}
    write_outline(family_named("neck_knife").outline(), tmp_path / "a.json")
    assert run(["outline", *(files.get(word, word) for word in words)]) == 2
    wrong = capsys.readouterr()
    assert not wrong.out
    assert wrong.err.count("\n") == 1
    assert any(part in wrong.err for part in said.split("|"))


#: A level knife: 200 x 30, its edge along the bottom from a heel at (110, 0), tip at (200, 20).
LEVEL = [(0, 0), (95, 0), (95, 6), (110, 6), (110, 0), (170, 0), (200, 20), (160, 30), (0, 30)]


def level_drawing(folder: Path) -> str:
    document = ezdxf.new("R2000", units=4)
    document.modelspace().add_lwpolyline(LEVEL, close=True)
    document.saveas(folder / "level.dxf")
    return str(folder / "level.dxf")


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
    assert "blankwright outline FILE --heel X,Y --out OUTLINE.json" in said
    for family in (family_in_file(out), family_in_file(tmp_path / "data/families/kept.toml")):
        assert family.outline().bounds_mm == pytest.approx((-110.0, 0.0, 90.0, 30.0), abs=1e-6)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("knife.jpg", "is a photo. Measure it: blankwright capture"),
        ("old.blankwright", "is a job. Open it in the window"),
        ("layout.json", "is a layout"),
        ("knife.step", "is a .step file. An outline is a family, or a .json, .dxf"),
    ],
)
def test_a_file_that_is_no_outline_is_named_for_what_it_is(
    name: str, said: str, tmp_path: Path, bar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / name
    path.write_text('{"layout_schema": 1}', encoding="utf-8")
    out = str(tmp_path / "out.json")
    for asked in (
        ["outline", str(path)],
        ["place", str(bar), "--outline", str(path), "--out", out],
        ["family", "save", str(path), "--name", "Mine"],
    ):
        assert run(asked) == 2
        assert said in capsys.readouterr().err


def test_the_command_says_that_the_file_was_written(
    tmp_path: Path, bar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "neck.dxf"
    assert run(["outline", "kitchen_utility", "--out", str(out)]) == 0
    assert told(capsys).splitlines()[-1] == f"written   {out}"
    layout = tmp_path / "layout.json"
    assert run(["place", str(bar), "--outline", "upswept skinner", "--out", str(layout)]) in (0, 3)
    assert told(capsys).splitlines()[-1] == f"written   {layout}"


def test_a_size_is_placed(
    tmp_path: Path, bar: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    assert run(["family", "duplicate", "upswept skinner", "--name", "Mine"]) == 0
    assert run(["family", "size", "add", "mine", "short", "--set", "blade_length=90"]) == 0
    layout = tmp_path / "layout.json"
    asked = ["place", str(bar), "--outline", "mine", "--out", str(layout)]
    assert run([*asked, "--size", "short"]) in (0, 3)
    assert json.loads(layout.read_text(encoding="utf-8"))["values"] == {"blade_length": 90.0}
    capsys.readouterr()
    assert run([*asked, "--size", "huge"]) == 2
    assert "--size: mine has no size “huge”" in capsys.readouterr().err

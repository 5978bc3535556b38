"""``blankwright outline``: a family or a file made, converted and refused."""

import json
from pathlib import Path

import pytest
import shapely

from app.cli import run
from app.files.outline_choice import read_drawing
from app.files.outline_file import read_outline, write_outline
from app.files.own_families import family_in_file
from geometry.family import family_named
from tests.app.cli.knife_drawings import as_json, drawing, told
from tests.geometry.chains import hollow_bar


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


def test_sizes_are_told_in_inches_where_asked(capsys: pytest.CaptureFixture[str]) -> None:
    sizes = ["--set", "blade_length=3.5 in", "--set", "pin_diameter=1/4 in"]
    assert run(["outline", "full_tang_drop_point", *sizes, "--show", "in"]) == 0
    said = told(capsys).splitlines()
    assert "measures  blade 3.500 in" in said
    assert "holes     2 pin, 1/4 in" in said
    assert not any(" mm" in line for line in said if line.startswith(("outline", "measures")))


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
    made = ["outline", "neck_knife", "--set", "blade_length=75", "--out", str(out)]
    assert run(made) == 0
    assert family_in_file(out).name == family_named("neck_knife").name
    assert run([*made, "--name", "Long neck"]) == 0
    told(capsys)
    assert run(["outline", str(out)]) == 0
    assert told(capsys).startswith("outline   Long neck: ")
    family = family_in_file(out)
    assert family.name == "Long neck"
    assert family.defaults["blade_length"] == 75
    assert family.outline().blade_length_mm == pytest.approx(75)


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
    (["kitchen_chf"], "Did you mean kitchen_chef? There are: boning_fillet,"),
    (["neck_knife", "--show", "cm"], "--show: “cm” is not known. Use one of mm, in"),
    (["smal neck knife"], "Did you mean neck_knife? There are"),
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

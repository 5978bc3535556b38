"""blankwright family, end to end: kept, changed, passed on, thrown away and used."""

import json
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from app.cli import run
from app.cli.terminal import say
from app.files.outline_file import write_outline
from app.files.own_families import family_known
from geometry.family import family_named


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path / "data" / "families"


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "traced.json"
    write_outline(family_named("drop point").outline(), path)
    return path


def test_a_drawing_is_kept_listed_and_used(
    drawing: Path, folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["family", "save", str(drawing), "--name", "Elk skinner", "--notes", "Mine."]) == 0
    said = capsys.readouterr().out
    assert f"kept “Elk skinner” in {folder / 'elk_skinner.toml'}; use it as elk_skinner" in said
    assert "blade_width" in said
    assert run(["family", "list"]) == 0
    assert capsys.readouterr().out == "elk_skinner: Elk skinner\n"
    assert run(["families", "--json"]) == 0
    known = {each["key"]: each for each in json.loads(capsys.readouterr().out)["families"]}
    assert known["elk_skinner"]["own"]
    assert not known["full_tang_drop_point"]["own"]
    billet = tmp_path / "billet.json"
    billet.write_text(
        json.dumps({"units": "mm", "outline": [[0, 0], [280, 0], [280, 60], [0, 60]]})
    )
    layout = tmp_path / "layout.json"
    asked = ["--outline", "elk skinner", "--set", "blade_length=4in", "--out", str(layout)]
    assert run(["place", str(billet), *asked]) == 0
    told = json.loads(layout.read_text(encoding="utf-8"))
    assert told["values"] == {"blade_length": 101.6}
    assert "[[piece]]" in told["family_text"]


def test_what_a_drawing_lacks_is_said_when_it_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A page that may be a plate, words, and the knife in it, chosen by its number."""
    document = ezdxf.new(units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (280, 0), (280, 200), (0, 200)], close=True)
    space.add_lwpolyline([(20, 50), (220, 50), (220, 70), (20, 80)], close=True)
    space.add_text("words", dxfattribs={"insert": (5, 5)})
    document.saveas(tmp_path / "page.dxf")
    save = ["family", "save", str(tmp_path / "page.dxf"), "--name"]
    assert run([*save, "Plate"]) == 0
    notes = [line for line in capsys.readouterr().out.splitlines() if line.startswith("note")]
    assert "turned over" in notes[0]  # a plate's edge may be on either side
    assert "it may be the page's frame round the piece" in notes[1]
    assert "--loop 2 takes the closed line of 200.0 x 30.0 mm" in notes[2]
    assert "left out of the drawing: words" in notes[3]
    assert run([*save, "Plate too", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["drawing_notes"]
    assert [f"note      {note}" for note in told] == notes
    assert run([*save, "Knife", "--loop", "2"]) == 0
    assert "may be the page's" not in capsys.readouterr().out
    assert np.ptp(family_known("knife").outline().ring(), axis=0) == pytest.approx((200, 30))


def test_a_tuned_family_keeps_its_measures_or_is_taken_as_drawn() -> None:
    tuned = ["--set", "belly=2.1", "--set", "blade_length=3 1/2in"]
    assert run(["family", "save", "drop point", "--name", "Tuned", *tuned]) == 0
    kept = family_known("tuned")
    assert kept.defaults["belly"] == 2.1
    assert kept.defaults["blade_length"] == pytest.approx(88.9)
    assert run(["family", "save", "drop point", "--name", "Drawn", "--as-drawn", *tuned]) == 0
    drawn = family_known("drawn")
    assert list(drawn.defaults) == ["blade_length", "handle_length", "blade_width", "handle_width"]
    assert drawn.outline().area_mm2 == pytest.approx(kept.outline().area_mm2, abs=1e-6)


def test_told_places_to_stretch_at(drawing: Path) -> None:
    told = ["--stretch", "blade_length=10:2in", "--stretch", "handle_width=none"]
    assert run(["family", "save", str(drawing), "--name", "Told", *told]) == 0
    family = family_known("told")
    at = family.profile.stretches[0].at
    assert (at.start_mm, at.end_mm) == (10, 50.8)
    assert "handle_width" not in family.defaults


def test_values_ranges_notes_and_sizes_are_changed(
    drawing: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["family", "save", str(drawing), "--name", "Elk"])
    asked = ["--set", "blade_length=160", "--range", "blade_length=90:170", "--notes", "Longer."]
    assert run(["family", "set", "elk", *asked]) == 0
    family = family_known("elk")
    assert family.notes == "Longer."
    [blade] = [each for each in family.parameters if each.key == "blade_length"]
    assert (blade.default, blade.low, blade.high) == (160.0, 90.0, 170.0)
    capsys.readouterr()
    assert run(["family", "size", "add", "elk", "Small", "--set", "blade_length=95"]) == 0
    assert capsys.readouterr().out == "“Elk” has the size “Small”: blade_length 95\n"
    assert run(["family", "set", "elk", "--range", "blade_length=100:170"]) == 2
    assert "the size “Small” has blade length 95, beyond that" in capsys.readouterr().err
    assert run(["family", "size", "remove", "elk", "small"]) == 0
    assert family_known("elk").sizes == ()
    assert run(["family", "set", "elk", "--set", "blade_length=150", "--json"]) == 0
    assert json.loads(capsys.readouterr().out.split("any more\n")[1])["key"] == "elk"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["save", "DRAWING", "--name", "drop point full-tang"], ""),
        (["save", "DRAWING", "--name", "Full-tang drop point"], "already. Choose another name"),
        (["save", "DRAWING", "--name", " "], "no name for a family"),
        (["save", "DRAWING", "--name", "A", "--set", "belly=2"], "a drawing has no values"),
        (["save", "DRAWING", "--name", "A", "--stretch", "blade_length"], "is not clear. Write"),
        (["save", "DRAWING", "--name", "A", "--stretch", "belly=1:9"], "no measure that stretches"),
        (["save", "nothing_such", "--name", "A"], "there is no family “nothing_such”"),
        (["import", "missing.toml"], "missing.toml"),
        (["export", "neck_knife", "--out", "a.json"], "does not end in .toml"),
        (["remove", "neck_knife"], "comes with the program, and stays as it is"),
        (["rename", "nothing_such", "--name", "A"], "there is no family"),
        (["set", "neck_knife", "--notes", "x"], "comes with the program"),
        (["set", "neck_knife"], "nothing to change was told"),
        (["restore", "elk"], "the trash has no family “elk”. It is empty"),
        (["size", "add", "neck_knife", "s"], "comes with the program"),
    ],
)
def test_what_cannot_be_done_is_one_clear_line(
    drawing: Path,
    arguments: list[str],
    message: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    status = run(["family", *(str(drawing) if a == "DRAWING" else a for a in arguments)])
    error = capsys.readouterr().err
    assert status == (2 if message else 0)
    assert message in error
    assert len(error.splitlines()) == (1 if message else 0)


def test_a_damaged_file_in_the_folder_is_named(
    drawing: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    run(["family", "save", str(drawing), "--name", "Elk"])
    (folder / "torn.toml").write_text("format = 2\nname = ", encoding="utf-8")
    capsys.readouterr()
    for command in (["family", "list"], ["families"]):
        assert run(command) == 0
        said = capsys.readouterr().out
        assert "torn.toml" in said
        assert "Elk" in said


@pytest.mark.parametrize("where", ["the data folder", "the families' folder"])
def test_the_families_that_come_along_need_no_folder(
    where: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = folder.parent if where == "the data folder" else folder
    wrong.parent.mkdir(parents=True, exist_ok=True)
    wrong.write_text("a file", encoding="utf-8")
    assert run(["outline", "full_tang_drop_point"]) == 0
    assert not capsys.readouterr().err
    for asked in (["families"], ["family", "list"]):
        assert run(asked) == 0
        said = capsys.readouterr()
        assert not said.err
        [note] = [line for line in said.out.splitlines() if line.startswith("left out")]
        assert str(folder) in note
        assert "name another one in BLANKWRIGHT_DATA" in note
    assert run(["outline", "elk_skinner"]) == 2  # it may lie in the folder that cannot be read
    assert "the folder of families cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("stretch", "said"),
    [
        # The drop point's handle ends at x -9 and its tip lies at x 86; its blade is 26 wide.
        ("blade_length=1000:2000", "its part of the outline reaches from x -9.0 to x 86.0 mm"),
        ("blade_length=-60:40", "its part of the outline reaches from x -9.0 to x 86.0 mm"),
        ("handle_length=-60:40", "its part of the outline reaches from x -122.0 to x -9.0 mm"),
        ("blade_width=100:200", "its part of the outline reaches from y 0.0 to y 26.0 mm"),
        ("blade_width=0:10", "would be no measure: at 8.0 mm it gives"),
        ("handle_width=0:20", "would be no measure: at 1"),
    ],
)
def test_places_that_give_no_measure_are_refused(
    stretch: str, said: str, drawing: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["family", "save", str(drawing), "--name", "Told", "--stretch", stretch]) == 2
    assert said in capsys.readouterr().err
    assert not list(folder.glob("*.toml"))


@pytest.mark.parametrize(
    "stretch", ["blade_length=60:10", "handle_length=-80:-20", "blade_width=0:26"]
)
def test_places_within_the_part_give_what_is_typed(stretch: str, drawing: Path) -> None:
    """Lengths run from the handle's front, 122 in front of the butt, to the tip or the butt."""
    assert run(["family", "save", str(drawing), "--name", "Told", "--stretch", stretch]) == 0
    family, key = family_known("told"), stretch.partition("=")[0]
    parameter = next(each for each in family.parameters if each.key == key)
    assert 0.0 < parameter.low < parameter.default < parameter.high
    for value in (parameter.low, parameter.high):
        outline = family.outline({key: value})
        front = max(x for m in outline.marks if m.kind == "handle front" for x, _ in m.points_mm)
        x0, _, x1, _ = outline.bounds_mm
        low, high = outline.sections_mm(np.linspace(1.0, x1 - 1.0, 300)).T
        made = {
            "blade_length": x1 - front,
            "handle_length": front - x0,
            "blade_width": float(np.max(high - low)),
        }[key]
        assert made == pytest.approx(value, abs=0.1)


def test_small_answers_of_the_families(
    drawing: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    none = [
        f"--stretch={key}_{way}=none" for key in ("blade", "handle") for way in ("length", "width")
    ]
    assert run(["family", "save", str(drawing), "--name", "Own drop", *none]) == 0
    assert run(["family", "save", str(drawing), "--name", "Drop my own"]) == 0
    assert run(["family", "size", "add", "drop_my_own", "usual"]) == 0
    capsys.readouterr()

    assert run(["outline", "own drop", "--set", "x=1"]) == 2
    assert "It has no measures to set." in capsys.readouterr().err
    assert run(["families", "own drop"]) == 0
    assert "it has no measures to change" in capsys.readouterr().out
    assert run(["outline", "drop own"]) == 2
    said = capsys.readouterr().err
    assert "more than one family “drop own”. Say which: drop_my_own, own_drop." in said
    assert run(["outline", "drop_my_own", "--set", "blade_lenght=90"]) == 2
    assert "Did you mean blade_length?" in capsys.readouterr().err
    assert run(["family", "set", "drop_my_own", "--range", "blade_length=70:5m"]) == 2
    assert "two lengths of at most 2000 mm" in capsys.readouterr().err
    assert run(["family", "set", "drop_my_own", "--range", "blade_length=-50:120"]) == 2
    assert "Give two lengths above zero" in capsys.readouterr().err
    assert run(["families", "drop_my_own"]) == 0
    assert "size “usual”: the usual values" in capsys.readouterr().out
    again = ["family", "size", "add", "drop_my_own", "Usual", "--set", "blade_length=90"]
    before = family_known("drop_my_own")
    assert run(again) == 2
    assert "has a size “Usual” already" in capsys.readouterr().err
    assert family_known("drop_my_own") == before
    assert run([*again, "--replace"]) == 0
    assert "has the size “Usual”, in place of the one that it had" in capsys.readouterr().out


def test_no_name_steers_the_terminal(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = "\u202eevil\x1b[2J"
    assert run(["outline", wrong]) == 2
    assert run(["family", "save", f"{tmp_path}/{wrong}.json", "--name", wrong]) == 2
    say(wrong)
    said = capsys.readouterr()
    assert (said.out + said.err).replace("\n", "").isprintable()
    assert r"\u202eevil\u001b[2J" in said.out

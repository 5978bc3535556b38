"""Families kept, passed on and pointed at: what they are called, and what is not written over."""

from pathlib import Path

import ezdxf
import pytest

from app.cli import run
from app.files.family_file import family_in_file
from app.files.own_families import family_known
from geometry.family import family_named


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path / "data" / "families"


@pytest.fixture
def bar(tmp_path: Path) -> str:
    """A bar of 200 x 30 with a point at its left end, in a drawing."""
    document = ezdxf.new(units=4)
    corners = [(10, 5), (200, 5), (200, 35), (20, 35), (0, 20)]
    document.modelspace().add_lwpolyline(corners, close=True)
    document.saveas(tmp_path / "bar.dxf")
    return str(tmp_path / "bar.dxf")


def test_export_writes_over_a_file_only_where_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sent = tmp_path / "sent.toml"
    export = ["family", "export", "neck_knife", "--out", str(sent)]
    assert run(export) == 0
    sent.write_text("another maker's", encoding="utf-8")
    assert run(export) == 2
    assert "is there already. Choose another name, or write over it: --replace" in (
        capsys.readouterr().err
    )
    assert sent.read_text(encoding="utf-8") == "another maker's"
    assert run([*export, "--replace"]) == 0
    assert family_in_file(sent).name == family_named("neck_knife").name


@pytest.mark.parametrize("done", [["save", "kitchen_chef"], ["duplicate", "kitchen_chef"]])
def test_a_name_that_another_family_is_used_by_is_told(
    done: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    other = (
        "note      kitchen_chef still means “Kitchen chef's knife”, which comes with the program"
    )
    assert run(["family", *done, "--name", "kitchen_chef"]) == 0
    assert other in capsys.readouterr().out.splitlines()
    assert family_known("kitchen_chef").name == "Kitchen chef's knife"
    assert run(["family", "rename", "kitchen_chef_2", "--name", "Elk"]) == 0
    assert "still means" not in capsys.readouterr().out
    assert run(["family", "rename", "elk", "--name", "kitchen_chef"]) == 0
    assert other in capsys.readouterr().out.splitlines()


def test_a_drawing_s_ends_are_told_when_it_is_kept(
    bar: str, capsys: pytest.CaptureFixture[str]
) -> None:
    save = ["family", "save", bar, "--name", "Bar"]
    ends = ["--tip", "0,15", "--butt", "200,15", "--heel", "3 in,0", "--spine", "right"]
    assert run([*save, *ends]) == 0
    assert "else give" not in capsys.readouterr().out
    stations = {s.name: (s.x_mm, s.y_mm) for s in family_known("bar").outline().stations}
    assert stations["tip"] == pytest.approx((76.2, 15.0), abs=0.01)  # 3 in from the heel
    assert stations["butt"][0] == pytest.approx(76.2 - 200.0, abs=0.01)
    assert run([*save, "--tip", "4", "--replace"]) == 2
    assert "--tip: “4” is no place" in capsys.readouterr().err
    assert run(["family", "save", "neck_knife", "--name", "Own neck", "--tip", "1,2"]) == 2
    assert "--tip: “neck_knife” is a family" in capsys.readouterr().err


def test_every_end_that_save_proposes_can_be_told_to_it(
    bar: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["family", "save", bar, "--name", "Bar"]) == 0
    said = capsys.readouterr().out
    assert run(["family", "save", "--help"]) == 0
    options = capsys.readouterr().out
    for end in ("--tip X,Y", "--butt X,Y", "--heel X,Y"):
        assert end in said
        assert " ".join(end.split()[:1]) in options


def test_a_value_that_is_none_names_its_measure(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["outline", "full_tang_drop_point", "--set", "handle_length="]) == 2
    assert "--set handle_length: “” is not a length" in capsys.readouterr().err
    assert run(["outline", "full_tang_drop_point", "--set", "pin_count=two"]) == 2
    assert "--set pin_count: “two” is not a number" in capsys.readouterr().err


def test_an_outline_is_imported_by_no_family_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "old2.json"
    assert run(["outline", "neck_knife", "--out", str(out)]) == 0
    capsys.readouterr()
    assert run(["family", "import", str(out)]) == 2
    said = capsys.readouterr().err
    assert "is an outline, and no family" in said
    assert f"blankwright family save {out} --name NAME" in said

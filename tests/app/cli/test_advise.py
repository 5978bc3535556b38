"""``place --advise``: what must give, on the screen and in the file."""

import json
from pathlib import Path

import pytest
import shapely
from shapely import Polygon

from app.cli import run
from app.files.layout_file import read_layout
from geometry.family import family_named

FAMILY = "full_tang_spear_point"


@pytest.fixture
def short_bar(tmp_path: Path) -> Path:
    # The spear point is 90 + 122 = 212 long and lies askew: too long for a mm all round.
    path = tmp_path / "short.json"
    path.write_text('{"units":"mm","outline":[[0,0],[208,0],[208,60],[0,60]],"holes":[]}')
    return path


def advised(bar: Path, outline: str | Path, *more: str) -> tuple[int, dict]:
    out = bar.parent / "layout.json"
    status = run(
        ["place", str(bar), "--outline", str(outline), "--out", str(out), "--advise", *more]
    )
    return status, json.loads(out.read_text(encoding="utf-8"))


def test_the_ways_are_told_and_written_and_each_fits(
    short_bar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, layout = advised(short_bar, FAMILY)
    assert status == 3
    assert layout["placement"]["clearance_mm"] < 1.0
    assert layout["advice"]
    family = family_named(FAMILY)
    steel = Polygon(layout["billet"]["outline"])
    for way in layout["advice"]:
        outline = family.outline(way["values"]).polygon(0.005)
        place = way["placement"]
        assert place["clearance_mm"] >= 1.0
        assert place["upper_bound_mm"] is None
        # a second method: turned and moved by shapely alone
        flip = -1.0 if place["mirrored"] else 1.0
        lying = shapely.affinity.scale(outline, 1.0, flip, origin=(0, 0))
        lying = shapely.affinity.rotate(lying, place["theta_deg"], origin=(0, 0))
        lying = shapely.affinity.translate(lying, place["x"], place["y"])
        assert steel.contains(lying)
        assert lying.distance(steel.exterior) >= 1.0 - 0.02  # within the chords
        assert way["next_values"].keys() == way["values"].keys()
    changes = [way["change"] for way in layout["advice"]]
    assert changes == sorted(changes)
    assert {"blade_length"} in [set(way["values"]) for way in layout["advice"]]
    told = capsys.readouterr().out
    assert "advice    blade length 100.0 -> " in told
    assert "advice    As it is, it fits with" in told
    assert read_layout(short_bar.parent / "layout.json").outline.family == FAMILY


def test_locked_measures_are_left(short_bar: Path) -> None:
    _, layout = advised(short_bar, FAMILY, "--lock", "blade_length", "--lock", "handle_butt")
    assert layout["advice"]
    for way in layout["advice"]:
        assert not {"blade_length", "handle_butt"} & way["values"].keys()


def test_a_lock_of_nothing_is_refused(
    short_bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = ["--out", str(short_bar.parent / "l.json")]
    family = ["place", str(short_bar), "--outline", FAMILY, *out]
    assert run([*family, "--advise", "--lock", "blade_lenght"]) == 2
    assert "Did you mean blade_length?" in capsys.readouterr().err
    assert run([*family, "--lock", "blade_length"]) == 2
    assert "--advise alone" in capsys.readouterr().err
    drawing = ["place", str(short_bar), "--outline", str(slab), *out]
    assert run([*drawing, "--advise", "--lock", "width"]) == 2
    assert "no measures" in capsys.readouterr().err
    assert run([*family, "--advise", "--largest"]) == 2
    assert "Leave one of them out" in capsys.readouterr().err


def test_a_drawing_is_told_its_largest_size(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # 40 x 20 with 15 mm in 45 across: 45 - 30 = 15 of its 20.
    status, layout = advised(bar, slab, "--margin", "15")
    assert status == 3
    [way] = layout["advice"]
    assert way["values"] == {}
    assert way["placement"]["scale"] == pytest.approx(0.75, rel=1e-3)
    assert way["placement"]["clearance_mm"] >= 15.0 - 1e-6
    told = capsys.readouterr().out
    assert "75.0 % of its size keeps the margin" in told or "74.9 % of its size" in told


def test_no_size_of_a_drawing_may_keep_the_margin(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Half of 45 is 22.5.
    status, layout = advised(bar, slab, "--margin", "25")
    assert (status, layout["advice"]) == (3, [])
    assert "No size of it keeps the margin." in capsys.readouterr().out


def test_what_fits_has_nothing_to_give(bar: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, layout = advised(bar, FAMILY)
    assert (status, layout["advice"], layout["piece_needed"]) == (0, [], None)
    assert "Nothing has to give" in capsys.readouterr().out


def test_where_nothing_helps_the_piece_that_would_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    stub = tmp_path / "stub.json"
    stub.write_text('{"units":"mm","outline":[[0,0],[90,0],[90,30],[0,30]],"holes":[]}')
    status, layout = advised(stub, FAMILY)
    assert (status, layout["advice"], layout["advice_complete"]) == (3, [], True)
    told = capsys.readouterr().out
    assert "No change of one measure or of two was found to help." in told
    grow_mm, (long_mm, wide_mm) = (layout["piece_needed"][key] for key in ("grow_mm", "bar_mm"))
    assert grow_mm == pytest.approx(1.0 - layout["placement"]["clearance_mm"])
    bar = tmp_path / "bar.json"
    ring = [[0, 0], [long_mm + 0.01, 0], [long_mm + 0.01, wide_mm + 0.01], [0, wide_mm + 0.01]]
    bar.write_text(json.dumps({"units": "mm", "outline": ring, "holes": []}))
    assert run(["place", str(bar), "--outline", FAMILY, "--out", str(tmp_path / "b.json")]) == 0

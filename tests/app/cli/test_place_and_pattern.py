"""The command line from a billet to a pattern, run as a person would."""

import json
import re
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf import path

from app.cli import run


def placed(bar: Path, outline: str | Path, *more: str) -> tuple[int, dict[str, object]]:
    out = bar.parent / "layout.json"
    out.unlink(missing_ok=True)
    status = run(["place", str(bar), "--outline", str(outline), "--out", str(out), *more])
    return status, json.loads(out.read_text(encoding="utf-8")) if out.exists() else {}


def test_a_slab_in_a_bar_has_half_the_difference_of_widths(bar: Path, slab: Path) -> None:
    status, layout = placed(bar, slab)
    found = layout["placement"]
    assert status == 0
    # The least-width argument: no pose of a 20 wide slab in a 45 wide bar has more than 12.5.
    assert found["clearance_mm"] == pytest.approx(12.5, abs=0.01)
    assert found["upper_bound_mm"] >= found["clearance_mm"] - 1e-6
    assert {"x", "y", "theta_deg", "mirrored", "scale", "proven"} <= set(found)


def test_in_a_bar_it_goes_to_one_end_unless_told_to_stay(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, tucked = placed(bar, slab)
    assert "tucked" in capsys.readouterr().out
    _, left = placed(bar, slab, "--no-tuck")
    assert "tucked" not in capsys.readouterr().out
    assert tucked["placement"]["x"] != pytest.approx(left["placement"]["x"], abs=1.0)
    for layout in (tucked, left):
        assert layout["placement"]["clearance_mm"] == pytest.approx(12.5, abs=0.002)
        assert layout["placement"]["proven"] is True


def test_a_time_that_cannot_be_is_refused(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert placed(bar, slab, "--seconds", "0")[0] == 2
    assert "0.1 to 3600" in capsys.readouterr().err


def test_what_cannot_fit_says_by_how_much_and_leaves_with_three(bar: Path, slab: Path) -> None:
    status, layout = placed(bar, slab, "--margin", "1/2 in")
    assert status == 3
    assert layout["placement"]["clearance_mm"] == pytest.approx(12.5, abs=0.01)
    assert layout["margin_mm"] == pytest.approx(12.7)


def test_where_no_place_holds_it_the_least_that_sticks_out_is_told(
    bar: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """46 mm of width in a bar of 45: half a millimetre sticks out on each side."""
    wide = tmp_path / "wide.json"
    corners = [[0, 0], [100, 0], [100, 46], [0, 46]]
    wide.write_text(json.dumps({"units": "mm", "outline": corners}), encoding="utf-8")
    assert placed(bar, wide)[0] == 3
    [limit] = [line for line in capsys.readouterr().out.splitlines() if line.startswith("limit")]
    assert "spares" not in limit
    least = re.search(r"it sticks out by at least (\d\.\d\d) mm wherever it lies", limit)
    assert least is not None
    assert 0.4 <= float(least[1]) <= 0.5


def test_what_a_trace_is_too_large_is_known_and_carried_on(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    billet = json.loads(bar.read_text())
    billet["measured"] = {
        "budget": [
            {"name": "hand", "bias_mm": 0.0, "sigma_mm": 0.1},
            {"name": "pen", "bias_mm": 0.5, "sigma_mm": 0.2},
        ]
    }
    bar.write_text(json.dumps(billet))
    status, layout = placed(bar, slab, "--margin", "12.2")
    assert status == 3
    assert layout["placement"]["clearance_mm"] == pytest.approx(12.5, abs=0.01)  # as measured
    assert layout["placement"]["taken_off_mm"] == 0.5
    assert layout["placement"]["upper_bound_mm"] == pytest.approx(12.5, abs=0.01)
    assert "0.5 mm too large as measured, all round: that is taken off" in capsys.readouterr().out
    assert layout["billet"]["measured"]["budget"] == billet["measured"]["budget"]
    assert layout["billet"]["outline"] == billet["outline"]  # as measured


def test_the_largest_slab_keeps_the_margin(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, layout = placed(bar, slab, "--largest", "--margin", "2.5")
    assert status == 0
    # 40 x 20 scaled by k lies along the bar: 20 k = 45 - 2 x 2.5 wide gives k = 2.
    assert layout["placement"]["scale"] == pytest.approx(2.0, abs=2e-3)
    assert layout["placement"]["upper_bound_scale"] == pytest.approx(2.0, abs=2e-3)
    assert "at no scale above 2.0" in capsys.readouterr().out


def test_a_family_is_set_by_name_in_any_unit(bar: Path) -> None:
    status, layout = placed(bar, "full_tang_drop_point", "--set", "blade_length=3 1/2 in")
    assert status == 0
    assert layout["values"]["blade_length"] == pytest.approx(88.9)
    xs = [x for x, _ in layout["outline"]["outline"]]
    # The blade counts from the handle, x from the plunge: a ricasso of 9 lies between.
    assert max(xs) == pytest.approx(88.9 - 9.0, abs=0.01)


def test_a_dxf_is_placed_as_its_rings_would_be(bar: Path) -> None:
    document = ezdxf.new(units=ezdxf.units.MM)
    document.modelspace().add_lwpolyline([(5, 5), (45, 5), (45, 25), (5, 25)], close=True)
    document.saveas(bar.parent / "slab.dxf")
    status, layout = placed(bar, bar.parent / "slab.dxf")
    assert status == 0
    assert layout["placement"]["clearance_mm"] == pytest.approx(12.5, abs=0.01)  # as the slab


def test_what_a_drawing_lacks_is_said_when_it_is_placed(
    bar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A page that may be a plate, words, and the knife in it, chosen by its number."""
    document = ezdxf.new(units=ezdxf.units.MM)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (180, 0), (180, 120), (0, 120)], close=True)
    space.add_lwpolyline([(20, 50), (160, 50), (160, 60), (20, 70)], close=True)
    space.add_text("words", dxfattribs={"insert": (5, 5)})
    document.saveas(bar.parent / "page.dxf")
    status, layout = placed(bar, bar.parent / "page.dxf")
    said = capsys.readouterr().out.splitlines()
    assert status == 3
    assert (
        "note      The outline is a rectangle of 180.0 x 120.0 mm; it may be the page's " in said[0]
    )
    assert said[1] == (
        "note      --loop 2 takes the closed line of 140.0 x 20.0 mm for the edge instead"
    )
    assert said[2].startswith("note      left out of the drawing: words")
    status, layout = placed(bar, bar.parent / "page.dxf", "--loop", "2")
    assert status == 0
    assert np.ptp(layout["outline"]["outline"], axis=0) == pytest.approx((140, 20))  # type: ignore[index]
    assert "may be the page's" not in capsys.readouterr().out


def test_a_dxf_of_an_open_line_is_one_line_and_two(
    bar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = ezdxf.new(units=ezdxf.units.MM)
    document.modelspace().add_lwpolyline([(0, 0), (90, 0), (90, 30), (0, 30)])
    document.saveas(bar.parent / "open.dxf")
    assert placed(bar, bar.parent / "open.dxf") == (2, {})
    error = capsys.readouterr().err.strip()
    assert "no closed outline in it: the line is open, its ends 30 mm apart" in error
    assert "\n" not in error


def test_a_layout_is_called_after_its_outline_and_its_steel(bar: Path, slab: Path) -> None:
    assert placed(bar, "neck_knife")[1]["name"] == "Small neck knife on bar"
    assert placed(bar, slab)[1]["name"] == "slab on bar"


def test_no_number_is_a_negative_zero(
    bar: Path, slab: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    placed(bar, slab)
    assert "-0.00" not in capsys.readouterr().out


@pytest.mark.parametrize("ending", ["pdf", "svg", "dxf"])
def test_a_layout_becomes_a_pattern(bar: Path, ending: str) -> None:
    placed(bar, "full_tang_drop_point")
    out = bar.parent / "made" / f"pattern.{ending}"
    assert run(["pattern", str(bar.parent / "layout.json"), "--out", str(out)]) == 0
    assert out.stat().st_size > 1000


@pytest.mark.parametrize(
    ("margin", "words"),
    [("12", ""), ("13", "Does not fit: 12.5 mm spare; you ask for 13.0 mm.")],
)
def test_a_pattern_of_what_does_not_fit_says_so(
    bar: Path, slab: Path, margin: str, words: str
) -> None:
    """A slab of 20 in a bar of 45 has 12.5 mm at most."""
    placed(bar, slab, "--margin", margin)
    out = bar.parent / "pattern.svg"
    assert run(["pattern", str(bar.parent / "layout.json"), "--out", str(out)]) == 0
    drawn = out.read_text(encoding="utf-8")
    assert ("Does not fit" in drawn) == bool(words)
    assert words in drawn


def test_the_drawn_profile_is_the_outline(bar: Path) -> None:
    placed(bar, "full_tang_drop_point")
    layout = bar.parent / "layout.json"
    outline = json.loads(layout.read_text(encoding="utf-8"))["outline"]["outline"]
    out = bar.parent / "pattern.dxf"
    assert run(["pattern", str(layout), "--out", str(out)]) == 0
    profiles = [
        shapely.Polygon([(v.x, v.y) for v in path.make_path(line).flattening(0.001)])
        for line in ezdxf.readfile(out).modelspace().query("LWPOLYLINE")
        if line.dxf.layer == "PROFILE"
    ]
    drawn, asked = max(profiles, key=lambda one: one.area), shapely.Polygon(outline)
    assert drawn.area == pytest.approx(asked.area, abs=0.01 * asked.length)  # the chord error
    assert drawn.length == pytest.approx(asked.length, rel=1e-4)


BAD = [
    (["place", "BAR", "--outline", "no_such_family", "--out", "OUT"], "full_tang_drop_point"),
    (["place", "absent.json", "--outline", "full_tang_drop_point", "--out", "OUT"], "no such file"),
    (["place", "BAR", "--outline", "absent.dxf", "--out", "OUT"], "absent.dxf"),
    (["place", "BAR", "--outline", "SLAB", "--out", "OUT", "--set", "a=1"], "no values to set"),
    (
        ["place", "BAR", "--outline", "full_tang_drop_point", "--out", "OUT", "--set", "x=1"],
        "blade_length",
    ),
    (
        [
            "place",
            "BAR",
            "--outline",
            "full_tang_drop_point",
            "--out",
            "OUT",
            "--set",
            "blade_length=9m",
        ],
        "lade",
    ),
    (["place", "BAR", "--outline", "SLAB", "--out", "OUT", "--margin", "-1"], "negative"),
    (["place", "BAR", "--outline", "SLAB", "--out", "OUT", "--margin", "3 furlongs"], "unit"),
    (["place", "BAR", "--outline", "SLAB"], "--out"),
    (["place", "BAR", "--outline", "SLAB", "--out", "OUT", "--wrong"], "--wrong"),
    (["pattern", "BAR", "--out", "p.pdf"], "not a layout"),
    (["unknown", "command"], "unknown"),
    (["place", "BAR", "--outline", "SLAB", "--out", "BAR"], "would be overwritten"),
    (["place", "BAR", "--outline", "SLAB", "--out", "SLAB"], "would be overwritten"),
    (["place", "BAR", "--outline", "SLAB", "--out", "OUT", "--unit", "furlong"], "Use mm or in"),
    (["place", "BAR", "--outline", "neck_knife", "--out", "OUT", "--set", "belly=x"], "like 2.4"),
]


@pytest.mark.parametrize(("arguments", "words"), BAD)
def test_bad_input_is_one_line_and_two(
    bar: Path,
    slab: Path,
    arguments: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    known = {"BAR": str(bar), "SLAB": str(slab), "OUT": str(bar.parent / "out.json")}
    assert run([known.get(word, word) for word in arguments]) == 2
    lines = [line for line in capsys.readouterr().err.splitlines() if line.startswith("blankwr")]
    assert len(lines) == 1
    assert words in lines[0]
    assert not (bar.parent / "out.json").exists()


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (["--paper", "napkin"], "napkin"),
        (["--correct-x", "1/0"], "PRINTED/ASKED"),
        (["--correct-x", "0.9407"], "Correction"),
        (["--out", "p.png"], ".pdf, .svg or .dxf"),
        (["--out", "p.svg", "--correct-x", "99.6/100"], "only a PDF"),
        (["--out", "p.dxf", "--paper", "napkin"], "napkin"),
    ],
)
def test_a_bad_pattern_option_is_one_line_and_two(
    bar: Path, more: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    placed(bar, "full_tang_drop_point")
    capsys.readouterr()
    layout = str(bar.parent / "layout.json")
    assert run(["pattern", layout, "--out", str(bar.parent / "p.pdf"), *more]) == 2
    error = capsys.readouterr().err.strip()
    assert words in error
    assert "\n" not in error


def test_a_correction_is_written_with_either_decimal_mark(bar: Path) -> None:
    placed(bar, "full_tang_drop_point")
    layout, made = str(bar.parent / "layout.json"), []
    for correction in ("99.6/100", "99,6/100"):
        out = bar.parent / "pattern.pdf"
        assert run(["pattern", layout, "--out", str(out), "--correct-x", correction]) == 0
        made.append(out.read_bytes())
    assert made[0] == made[1]


def test_an_unwritable_place_is_two_and_nothing_is_lost(
    bar: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    placed(bar, "full_tang_drop_point")
    (bar.parent / "file").write_text("kept", encoding="utf-8")
    out = bar.parent / "file" / "pattern.pdf"
    assert run(["pattern", str(bar.parent / "layout.json"), "--out", str(out)]) == 2
    assert (bar.parent / "file").read_text(encoding="utf-8") == "kept"


def test_the_version_and_the_help_are_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert run(["--help"]) == 0
    assert "capture" in capsys.readouterr().out

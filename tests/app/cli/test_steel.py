"""Calipers, pens and two traces on the command line."""

import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import ExifTags, Image

from app.cli import run
from app.files.billet_file import read_billet, write_billet
from geometry.billet import Billet
from geometry.calipers import length_of, width_of
from geometry.error_budget import Budget, Part
from tests.calibration.strokes_render import Sheet, box

KNOWN = ["--reference", "6in", "--sheet", "letter"]


@pytest.fixture(autouse=True)
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BLANKWRIGHT_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture(scope="module")
def bar_photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bar of 100 x 25.4 mm whose pen stood off by 0.5 mm, in a frame of 160 x 112 mm; 0.2 mm a
    pixel, the ink 6 px wide; by a phone's main lens, as its EXIF tells."""
    out = 2.5 + 3
    sheet = Sheet(900, 600).stroke(
        box(150 - out, 200 - out, 650 + out, 327 + out), width=6, closed=True
    )
    photo = sheet.stroke(box(50, 20, 850, 580), width=3, closed=True).photo()
    path = tmp_path_factory.mktemp("bar") / "bar.jpg"
    exif = Image.Exif()
    exif.get_ifd(ExifTags.IFD.Exif)[ExifTags.Base.FocalLengthIn35mmFilm] = 40
    Image.fromarray(np.asarray(photo.rgb)).save(path, exif=exif, quality=97, subsampling=0)
    return path


def read(path: Path) -> dict:
    return json.loads(path.read_text(encoding="utf-8"))


def shape(path: Path) -> shapely.Polygon:
    content = read(path)
    return shapely.Polygon(content["outline"], content["holes"])


def test_sizes_check_and_correct_the_sample(
    samples: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Measured at the outer side of its ink the trace is a pen's width too large; sizes of the
    true steel take that off."""
    steel = shapely.Polygon(read(samples / "forging.truth.json")["steel"])
    sizes = [
        f"--length={length_of(steel).value_mm:.1f}",
        f"--width={width_of(steel).value_mm:.2f}mm",
    ]
    plain, out = tmp_path / "plain.json", tmp_path / "corrected.json"
    options = [str(samples / "forging.jpg"), *KNOWN, "--edge", "outer", *sizes]
    assert run(["capture", *options, "--out", str(plain)]) == 0
    told = capsys.readouterr().out
    assert "too large, more than its doubt of" in told
    assert "have it corrected by them" in told
    assert "budget    together: 0." in told
    assert run(["capture", *options, "--correct", "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert "The trace was drawn in by 0." in told
    assert "they agree" in told
    mean_mm = (shape(out).area - steel.area) / steel.length
    assert abs(mean_mm) < 0.1
    assert (shape(plain).area - steel.area) / steel.length > 0.3
    measured = read(out)["measured"]
    assert measured["offset_taken_off_mm"] > 0.3
    assert len(measured["sizes"]) == 2
    assert {part["name"] for part in measured["budget"]} >= {"hand that led the pen"}
    assert run(["place", str(out), "--outline", "neck_knife", "--out", str(tmp_path / "l")]) in (
        0,
        3,
    )


def test_a_pen_is_measured_once_and_used_by_name(
    bar_photo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    frame = ["--rectangle", "160x112"]
    measure = ["pen", "measure", "blue biro", str(bar_photo), *frame, "--thickness", "6.35"]
    assert run([*measure, "--width", "1in"]) == 0
    told = capsys.readouterr().out
    assert "blue biro: traces 0." in told
    assert run(["pen", "list"]) == 0
    assert capsys.readouterr().out.startswith(told.splitlines()[0])
    out = tmp_path / "b.json"
    use = ["capture", str(bar_photo), *frame, "--out", str(out), "--pen", "blue biro"]
    assert run([*use, "--thickness", "6.35"]) == 0
    assert width_of(shape(out)).value_mm == pytest.approx(25.4, abs=0.15)
    capsys.readouterr()
    assert run([*use, "--thickness", "3.2"]) == 0
    assert "reckoned from 0.5" in capsys.readouterr().out
    assert read(out)["measured"]["offset_taken_off_mm"] < 0.45  # thinner steel, less stand-off
    assert run(["pen", "remove", "blue biro"]) == 0
    assert run(use) == 2
    assert "no pen “blue biro” was measured" in capsys.readouterr().err


def test_an_offset_may_be_told(bar_photo: Path, tmp_path: Path) -> None:
    out = tmp_path / "b.json"
    options = ["--rectangle", "160x112", "--pen-offset", "0.5", "--out", str(out)]
    assert run(["capture", str(bar_photo), *options]) == 0
    assert width_of(shape(out)).value_mm == pytest.approx(25.4, abs=0.15)


def test_a_width_is_read_between_pixels_or_places(
    bar_photo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "b.json"
    options = ["capture", str(bar_photo), "--rectangle", "160x112", "--out", str(out)]
    assert run([*options, "--size", "25.4@400,197,401,330"]) == 0
    (pixels,) = read(out)["measured"]["sizes"]
    _, low, _, high = shape(out).bounds
    left, _, right, _ = shape(out).bounds
    middle = (left + right) / 2
    places = f"--size=1in@{middle},{low},{middle},{high}mm"
    assert run([*options, places]) == 0
    (millimetres,) = read(out)["measured"]["sizes"]
    assert pixels["billet_mm"] == pytest.approx(26.4, abs=0.15)
    assert millimetres["billet_mm"] == pytest.approx(pixels["billet_mm"], abs=0.02)


BAD = [
    (["--size", "38.1"], "does not say where the jaws were"),
    (["--size", "38.1@1,2,3"], "--size"),
    (["--size", "wide@1,2,3,4"], "--size"),
    (["--size", "20@1,1,1,200"], "no steel between"),
    (["--length", "-3"], "--length"),
    (["--width", "0"], "--width"),
    (["--correct"], "no size to correct"),
    (["--width", "12mm", "--correct"], "is told as 12.00 mm, and the photo has 26.4"),
    (["--pen", "nobody's"], "no pen “nobody's” was measured"),
    (["--pen-offset", "thick"], "--pen-offset"),
    (["--pen-offset", "80"], "not 80.00 mm too large"),
    (["--pen", "a", "--pen-offset", "0.3"], "given twice"),
    (["--cross", "100"], "--cross"),
    (["--bar-up", "99.8"], "without the mat"),
    (["--mat", "--bar-across", "long"], "--bar-across"),
    (["--mat", "--bar-across", "9mm"], "Print again at 100 %"),
]


@pytest.mark.parametrize(("options", "words"), BAD)
def test_bad_sizes_and_pens_are_one_line_and_two(
    bar_photo: Path,
    tmp_path: Path,
    options: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "b.json"
    asked = ["capture", str(bar_photo), "--rectangle", "160x112", "--out", str(out), *options]
    assert run(asked) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert words in error
    assert not out.exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["pen", "wash", "a"], "wash"),
        (["pen", "measure", "", "x.jpg", "--width", "1in"], "no name for a pen"),
        (["pen", "measure", "a", "absent.jpg", "--width", "1in"], "could not be read"),
        (["pen", "measure", "a", "absent.jpg"], "--width"),
        (["pen", "remove", "a"], "no pen “a” was measured"),
    ],
)
def test_bad_pens_are_two(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    assert words in capsys.readouterr().err


def test_a_piece_that_is_no_bar_measures_no_pen(
    samples: Path, capsys: pytest.CaptureFixture[str], data_folder: Path
) -> None:
    measure = ["pen", "measure", "a", str(samples / "forging.jpg"), *KNOWN, "--width", "40"]
    assert run(measure) == 2
    assert "the trace is not that of a bar" in capsys.readouterr().err
    assert not data_folder.exists()


def piece(path: Path, ring: list[tuple[float, float]], sigma_mm: float = 0.1) -> Path:
    content = {"units": "mm", "outline": ring, "vertex_sigma_mm": [sigma_mm] * len(ring)}
    path.write_text(json.dumps(content), encoding="utf-8")
    return path


TOP = [(0, 0), (200, 0), (190, 36), (10, 42)]
BOTTOM = [(-x + 7.0, y - 3.0) for x, y in [(10, 43), (190, 37), (197, 0), (0, 0)]]  # turned over


def test_two_traces_leave_the_smaller(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = piece(tmp_path / "a.json", TOP), piece(tmp_path / "b.json", BOTTOM, 0.2)
    out = tmp_path / "both.json"
    assert run(["smaller", str(first), str(second), "--out", str(out)]) == 0
    told = capsys.readouterr().out
    assert "apart on average" in told
    assert "turned over between them" in told
    assert shapely.difference(shape(out), shapely.Polygon(TOP).buffer(0.03)).area < 0.1
    assert shape(out).area < shapely.Polygon(TOP).area - 20.0
    sigmas = read(out)["vertex_sigma_mm"]
    assert len(sigmas) == len(read(out)["outline"])
    assert min(sigmas) == pytest.approx(0.1, abs=0.01)
    assert max(sigmas) > 0.2
    assert any("kept" in note for note in read(out)["notes"])


def test_what_a_trace_is_likely_too_large_is_said_and_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second is known less well, and not known to be too large: the first's bias stays."""
    paths = []
    for name, bias_mm, sigma_mm in (("a", 0.8, 0.1), ("b", 0.0, 0.9)):
        part = Part(name="pen", bias_mm=bias_mm, sigma_mm=sigma_mm)
        first = Billet(
            shape=shapely.Polygon(TOP), vertex_sigma_mm=(0.1,) * 4, budget=Budget(parts=(part,))
        )
        paths.append(tmp_path / f"{name}.json")
        write_billet(paths[-1], first, ())
    out = tmp_path / "both.json"
    assert run(["smaller", *map(str, paths), "--out", str(out), "--turned", "no"]) == 0
    told = capsys.readouterr().out
    assert "trust     its edge: give or take 0.2" in told  # 2 x 0.1, and how the second lies
    assert "trust     likely 0.80 mm too large all round" in told
    assert read_billet(out).too_large_mm == pytest.approx(0.8)


def test_flaws_of_both_traces_stay_in_the_way(tmp_path: Path) -> None:
    """The second trace is the first one shifted by 30 mm: so are its flaws."""
    paths = []
    for name, shift, flaw_x in (("a", 0.0, 20.0), ("b", 30.0, 130.0)):
        path = piece(tmp_path / f"{name}.json", [(x + shift, y) for x, y in TOP])
        flaw = [[flaw_x, 10.0], [flaw_x + 10, 10.0], [flaw_x + 10, 15.0], [flaw_x, 15.0]]
        path.write_text(json.dumps({**read(path), "flaws": [flaw]}), encoding="utf-8")
        paths.append(str(path))
    out = tmp_path / "both.json"
    assert run(["smaller", *paths, "--out", str(out), "--turned", "no"]) == 0
    middles = [shapely.Polygon(flaw).centroid for flaw in read(out)["flaws"]]
    assert sorted(m.x for m in middles) == pytest.approx([25.0, 105.0], abs=0.05)


def test_a_plain_bar_is_said_to_fit_more_ways_than_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ring = [(0, 0), (200, 0), (200, 40), (0, 40)]
    first = piece(tmp_path / "a.json", ring)
    out = tmp_path / "both.json"
    options = [str(first), str(piece(tmp_path / "b.json", ring)), "--out", str(out)]
    assert run(["smaller", *options]) == 0
    assert "4 ways about as well, turned over or not" in capsys.readouterr().out
    assert run(["smaller", *options, "--turned", "yes"]) == 0
    assert "2 ways about as well: which end is which" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["a.json", "b.json", "--out", "a.json"], "would be overwritten"),
        (["a.json", "b.json", "--out", "c.json", "--turned", "maybe"], "--turned"),
        (["a.json", "b.json", "--out", "c.dxf"], "c.dxf does not end in .json"),
        (["a.json", "b.json", "--out", "."], "is a folder"),
        (["a.json", "absent.json", "--out", "c.json"], "could not be read"),
        (["a.json", "other.json", "--out", "c.json"], "not of one piece"),
    ],
)
def test_bad_traces_are_one_line_and_two(
    tmp_path: Path,
    options: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    piece(tmp_path / "a.json", TOP)
    piece(tmp_path / "b.json", BOTTOM)
    piece(tmp_path / "other.json", [(0, 0), (90, 0), (40, 80)])
    assert run(["smaller", *options]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert words in error
    assert not list(tmp_path.glob("c.*"))

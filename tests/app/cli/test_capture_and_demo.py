"""The command line from a photo to a billet, and the whole job on the sample."""

import json
import os
import subprocess
import sys
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from PIL import Image

from app.cli import run

ROOT = Path(__file__).resolve().parents[3]


def capture(photo: Path, out: Path, *more: str) -> int:
    return run(["capture", str(photo), "--out", str(out), *more])


def billet(out: Path) -> shapely.Polygon:
    content = json.loads(out.read_text(encoding="utf-8"))
    assert content["units"] == "mm"
    return shapely.Polygon(content["outline"], content["holes"])


def truth(photo: Path) -> shapely.Polygon:
    return shapely.Polygon(json.loads(photo.with_suffix(".truth.json").read_text())["steel"])


SAMPLES = [
    ("forging.jpg", ["--reference", "6in", "--sheet", "letter"]),
    ("trapezoid.jpg", ["--reference", "100", "--sheet", "A4"]),
    ("torn_corner.heic", ["--reference", "100 mm", "--reference", "50 mm", "--sheet", "a4"]),
]


@pytest.mark.parametrize(("name", "options"), SAMPLES)
def test_a_sample_measures_its_true_size(
    samples: Path, tmp_path: Path, name: str, options: list[str]
) -> None:
    """Turned or not, JPEG or HEIC: area and smallest box are the steel's, no mirror image."""
    out = tmp_path / "billet.json"
    assert capture(samples / name, out, *options) == 0
    found, true = billet(out), truth(samples / name)
    edge_mm = abs(found.area - true.area) / true.length  # mean shift of the edge
    assert edge_mm < 0.1
    fitted = best_overlap(found, true)
    assert fitted.hausdorff_distance(true) < 0.5
    assert (
        best_overlap(shapely.transform(found, lambda p: p * (1, -1)), true).hausdorff_distance(true)
        > 1.0
    )


def best_overlap(found: shapely.Polygon, true: shapely.Polygon) -> shapely.Polygon:
    """The found piece turned and moved onto the true one: principal axes, then a fine search."""
    from scipy.optimize import minimize

    def moved(p: np.ndarray) -> shapely.Polygon:
        cos, sin = np.cos(p[0]), np.sin(p[0])
        turn = np.array([[cos, sin], [-sin, cos]])
        centre = np.array(found.centroid.coords[0])
        return shapely.transform(found, lambda q: (q - centre) @ turn + p[1:])

    def apart(p: np.ndarray) -> float:
        return float(moved(p).symmetric_difference(true).area)

    target = true.centroid.coords[0]
    starts = [np.array([angle, *target]) for angle in np.arange(0, 2 * np.pi, np.pi / 18)]
    start = min(starts, key=apart)
    best = minimize(apart, start, method="Nelder-Mead", options={"xatol": 1e-4, "fatol": 1e-2})
    return moved(best.x)


def test_a_pointed_line_and_place_measure_the_same(samples: Path, tmp_path: Path) -> None:
    facts = json.loads((samples / "forging.truth.json").read_text())
    (x1, y1), (x2, y2) = facts["references"][0]["ends_px"]
    x, y = facts["seed_px"]
    one, two = tmp_path / "one.json", tmp_path / "two.json"
    common = ["--reference", "6in", "--sheet", "letter"]
    assert capture(samples / "forging.jpg", one, *common) == 0
    line, inside = f"{x1 + 2:.0f},{y1 - 2:.0f},{x2 - 2:.0f},{y2 + 2:.0f}", f"{x},{y}"
    pointed = [*common, "--line", line, "--inside", inside]
    assert capture(samples / "forging.jpg", two, *pointed) == 0
    assert billet(one).area == pytest.approx(billet(two).area, rel=1e-3)


def test_the_edges_of_the_ink_lie_a_line_width_apart(samples: Path, tmp_path: Path) -> None:
    pen_mm = json.loads((samples / "trapezoid.truth.json").read_text())["trace"]["pen_width_mm"]
    areas = {}
    for edge in ("inner", "middle", "outer"):
        out = tmp_path / f"{edge}.json"
        options = ["--reference", "100", "--sheet", "a4", "--edge", edge]
        assert capture(samples / "trapezoid.jpg", out, *options) == 0
        areas[edge] = billet(out)
    width_mm = (areas["outer"].area - areas["inner"].area) / areas["middle"].length
    assert width_mm == pytest.approx(pen_mm, abs=0.1)
    assert areas["inner"].area < areas["middle"].area < areas["outer"].area


def test_the_overlay_shows_the_piece(samples: Path, tmp_path: Path) -> None:
    picture = tmp_path / "seen.png"
    out = tmp_path / "b.json"
    options = ["--reference", "6in", "--sheet", "letter", "--overlay", str(picture)]
    assert capture(samples / "forging.jpg", out, *options) == 0
    shown = np.asarray(Image.open(picture).convert("RGB"), int)
    with Image.open(samples / "forging.jpg") as photo:
        full_width = photo.width
        bare = np.asarray(photo.resize((shown.shape[1], shown.shape[0])).convert("RGB"), int)
    marked = np.abs(shown - bare).max(axis=2) > 40
    truth = json.loads((samples / "forging.truth.json").read_text(encoding="utf-8"))
    to_px = cv2.getPerspectiveTransform(  # by the sheet's true corners
        np.float32(truth["sheet"]["corners_mm"]), np.float32(truth["sheet"]["corners_px"])
    )
    steel = cv2.perspectiveTransform(np.float64([truth["steel"]]), to_px)[0]
    scale = shown.shape[1] / full_width
    column, row = np.rint(steel * scale).astype(int).T
    near = cv2.dilate(marked.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    assert near[row, column].mean() > 0.98
    assert near.mean() < 0.3


@pytest.fixture
def bad_photos(tmp_path: Path, samples: Path) -> dict[str, Path]:
    photo = (samples / "forging.jpg").read_bytes()
    (tmp_path / "cut.jpg").write_bytes(photo[: len(photo) // 2])
    (tmp_path / "text.jpg").write_text("no picture", encoding="utf-8")
    (tmp_path / "empty.jpg").write_bytes(b"")
    Image.new("RGB", (1, 1)).save(tmp_path / "dot.png")
    Image.new("RGB", (1200, 900), (240, 240, 236)).save(tmp_path / "blank.png")
    Image.new("RGB", (1200, 900)).save(tmp_path / "black.png")
    return {path.stem: path for path in tmp_path.iterdir() if path.suffix in {".jpg", ".png"}} | {
        "absent": tmp_path / "absent.jpg",
        "folder": tmp_path,
    }


BAD = [
    ("absent", ["--reference", "100"], "Check the name and the folder"),
    ("folder", ["--reference", "100"], "is a directory"),
    ("cut", ["--reference", "100"], "damaged or cut short"),
    ("text", ["--reference", "100"], "not a picture"),
    ("empty", ["--reference", "100"], "the file is empty"),
    ("dot", ["--reference", "100"], "only 1 x 1 pixels"),
    ("blank", ["--reference", "100"], "all of one tone"),
    ("blank", ["--sheet", "a4"], "all of one tone"),
    ("black", ["--reference", "100"], "all black"),
    ("sample", [], "nothing of known size was given"),
    ("sample", ["--reference", "0"], "--reference: “0” must be more than zero"),
    ("sample", ["--reference", "-3in"], "must be more than zero"),
    ("sample", ["--reference", "3 furlongs"], "the unit “furlongs”"),
    ("sample", ["--reference", "6in", "--sheet", "napkin"], "no paper called 'napkin'"),
    ("sample", ["--reference", "6in", "--sheet", "0x4"], "--sheet: “0”"),
    ("sample", ["--reference", "6in", "--rectangle", "wide"], "--rectangle: “wide” is not a size"),
    ("sample", ["--reference", "6in", "--line", "1,2,3"], "--line: “1,2,3”"),
    ("sample", ["--line", "1,2,3,4"], "a line without its length"),
    ("sample", ["--reference", "6in", "--inside", "here"], "--inside: “here”"),
    ("sample", ["--reference", "6in", "--inside", "1e9,5"], "--inside: “1e9,5”"),
    ("sample", ["--reference", "6in", "--inside", "-50,5"], "lies outside the picture"),
    ("sample", ["--reference", "6in", "--edge", "left"], "--edge: “left”"),
    ("sample", ["--reference", "6in", "--subject", "wood"], "--subject: “wood”"),
    (
        "sample",
        ["--reference", "6in", "--thickness", "thin"],
        "--thickness: “thin” is not a length",
    ),
]


@pytest.mark.parametrize(("photo", "options", "words"), BAD)
def test_bad_input_is_one_line_and_two(
    bad_photos: dict[str, Path],
    samples: Path,
    tmp_path: Path,
    photo: str,
    options: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out = tmp_path / "out" / "billet.json"
    path = bad_photos.get(photo, samples / "forging.jpg")
    assert capture(path, out, *options) == 2
    error = capsys.readouterr().err
    lines = [line for line in error.splitlines() if line.startswith("blankwright:")]
    assert len(lines) == 1, error
    assert "Traceback" not in error
    assert words in lines[0]
    assert not out.exists()


def test_nothing_is_written_over_the_photo(
    samples: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo = tmp_path / "sheet.jpg"
    before = (samples / "forging.jpg").read_bytes()
    photo.write_bytes(before)
    told = ["--reference", "6in"]
    out = tmp_path / "billet.json"
    assert capture(photo, photo, *told) == 2
    assert capture(photo, out, *told, "--overlay", str(out)) == 2
    assert capsys.readouterr().err.count("Name the file so.") == 2
    assert capture(photo, out, *told, "--overlay", str(photo)) == 2
    assert "Give the result another name." in capsys.readouterr().err
    assert photo.read_bytes() == before
    assert not out.exists()


def test_the_demo_runs_without_a_screen(tmp_path: Path) -> None:
    """In a process of its own, where nothing Qt can be loaded."""
    blocker = tmp_path / "blocker" / "PySide6"
    blocker.mkdir(parents=True)
    (blocker / "__init__.py").write_text("raise ImportError('no Qt here')", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", "from app.cli import main; main()", "demo", "--out", "demo"],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": f"{blocker.parent}{os.pathsep}{ROOT}"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    made = {path.name for path in (tmp_path / "demo").iterdir()}
    assert {
        "billet.json",
        "layout.json",
        "overlay.jpg",
        "pattern.pdf",
        "pattern.svg",
        "pattern.dxf",
    } <= made
    for word in ("mm a pixel", "give or take", "spare", "1:1", "pattern.pdf"):
        assert word in done.stdout
    layout = json.loads((tmp_path / "demo" / "layout.json").read_text())
    assert layout["placement"]["clearance_mm"] > layout["margin_mm"]


def test_a_folder_that_cannot_be_made_is_two(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("kept", encoding="utf-8")
    assert run(["demo", "--out", str(tmp_path / "file" / "demo")]) == 2
    assert (tmp_path / "file").read_text(encoding="utf-8") == "kept"


def test_a_mistyped_length_is_told_by_the_papers_shape(
    samples: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The line of 6 in typed as 8 in makes a Letter sheet a third too large: 8 / 6."""
    assert capture(samples / "forging.jpg", tmp_path / "b.json", "--reference", "8in") == 0
    told = capsys.readouterr().out
    assert "shape of Letter at 1.33 times its size: check the length" in told

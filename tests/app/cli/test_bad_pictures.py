"""Bad pictures through the command line: one line that names the remedy, status 2, no file."""

import io
import json
import re
import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
import shapely
from PIL import Image

from app.cli import run
from tests.calibration.render import Camera, Scene, ruled_line, wavy_ring

CAMERA = Camera(size_px=(1200, 900), focal_px=900.0)
UPPER = wavy_ring((140.0, 165.0), 85.0, 22.0, width_mm=0.9)
LOWER = wavy_ring((140.0, 100.0), 80.0, 20.0, width_mm=0.9)
LINE = ruled_line((60.0, 45.0), (160.0, 45.0), width_mm=0.9)


def drawn(*marks) -> np.ndarray:
    return Scene(marks=list(marks), camera=CAMERA).photo().rgb


def png(rgb: np.ndarray) -> bytes:
    buffer = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(rgb)).save(buffer, "PNG", compress_level=1)
    return buffer.getvalue()


def huge() -> bytes:
    """Return a PNG that claims 60000 x 60000 pixels and holds none (ISO/IEC 15948, 11.2.2)."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + content))
        return struct.pack(">I", len(content)) + kind + content + check

    size = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    parts = chunk(b"IHDR", size), chunk(b"IDAT", b""), chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.fixture(scope="module")
def good() -> np.ndarray:
    return drawn(UPPER, *LINE)


@pytest.fixture(scope="module")
def pictures(good: np.ndarray) -> dict[str, bytes]:
    whole = png(good)
    return {
        "good": whole,
        "blank": png(drawn()),
        "bare": png(drawn(UPPER)),
        "line": png(drawn(*LINE)),
        "blurred": png(cv2.GaussianBlur(good, (0, 0), 20)),
        "off": png(drawn(wavy_ring((230.0, 140.0), 85.0, 25.0, width_mm=0.9), *LINE)),
        "black": png(np.zeros_like(good)),
        "dot": png(good[:1, :1]),
        "cut": whole[: len(whole) // 2],
        "text": b"the line is three inches long\n",
        "empty": b"",
        "huge": huge(),
    }


# the picture, what is told, what the line must say is wrong, and what it must advise
REFUSED = [
    ("blank", ["--reference", "100"], "no ink is seen", "dark pen"),
    ("bare", ["--reference", "100"], "no reference line", "--line X1,Y1,X2,Y2"),
    ("line", ["--reference", "100"], "no closed trace", "--inside X,Y"),
    ("blurred", ["--reference", "100", "--sheet", "letter"], "blurred", "hold still"),
    ("off", ["--reference", "100", "--sheet", "letter"], "runs off", "whole trace"),
    ("black", ["--sheet", "letter"], "all black", "even light"),
    ("dot", ["--reference", "100"], "only 1 x 1 pixels", "not a thumbnail"),
    ("cut", ["--reference", "100"], "damaged or cut short", "Copy it"),
    ("text", ["--reference", "100"], "not a picture", "Use a JPEG"),
    ("empty", ["--reference", "100"], "is empty", "Copy it"),
    ("huge", ["--reference", "100"], "more than 120 megapixels", "make it smaller"),
    ("good", ["--reference", "4"], "the length that was typed", "give its unit"),
    ("good", ["--reference", "4", "--sheet", "letter"], "measures 100.0 mm by the", "Check"),
    ("good", ["--sheet", "8.5x11"], "cannot be 8.5 mm", "8.5x11in"),
    ("good", ["--reference", "0.1mm"], "cannot be 0.1 mm", "give its unit"),
    ("good", ["--reference", "1e9"], "is not a length|unit .* not known", "Write it|Use mm"),
    ("good", ["--reference", "nan"], "is not a length", "Write it like"),
    ("good", ["--reference", "100", "--inside", "5,5"], "surrounds the pixel 5,5", "Point inside"),
    ("good", ["--reference", "100", "--inside", "5000,5"], "outside the picture", "upright"),
    ("good", ["--reference", "100", "--inside", "nan,5"], "not 2 pixel coordinates", "Write X,Y"),
]


@pytest.mark.parametrize(("picture", "options", "wrong", "remedy"), REFUSED)
def test_a_bad_picture_is_one_line_that_helps(
    pictures: dict[str, bytes],
    tmp_path: Path,
    picture: str,
    options: list[str],
    wrong: str,
    remedy: str,
    capfd: pytest.CaptureFixture[str],
) -> None:
    """The file descriptor is read, so that what a library prints would show too."""
    photo = tmp_path / "photo.png"
    photo.write_bytes(pictures[picture])
    out = tmp_path / "billet.json"
    assert run(["capture", str(photo), "--out", str(out), *options]) == 2
    printed, error = capfd.readouterr()
    (line,) = error.splitlines()
    assert line.startswith("blankwright: ")
    assert re.search(wrong, line)
    assert re.search(remedy, line.split(re.search(wrong, line).group(), 1)[1]), line
    assert printed == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["photo.png"]


def test_two_traces_are_told_and_either_can_be_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    photo, out = tmp_path / "two.png", tmp_path / "billet.json"
    photo.write_bytes(png(drawn(UPPER, LOWER, *LINE)))
    told = ["capture", str(photo), "--out", str(out), "--reference", "100"]
    assert run(told) == 0
    place = re.search(r"Another closed trace.*--inside (\d+,\d+)", capsys.readouterr().out)
    assert place is not None
    assert height_mm(out) == pytest.approx(inner_height_mm(UPPER), abs=0.3)
    assert run([*told, "--inside", place.group(1)]) == 0
    assert height_mm(out) == pytest.approx(inner_height_mm(LOWER), abs=0.3)


def height_mm(out: Path) -> float:
    outline = shapely.Polygon(json.loads(out.read_text(encoding="utf-8"))["outline"])
    _, low, _, high = outline.bounds
    return high - low


def inner_height_mm(mark) -> float:
    return float(np.ptp(np.array(mark.points_mm)[:, 1])) - mark.width_mm

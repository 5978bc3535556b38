"""DXF files that are damaged, cut off, or so full that reading them without bounds would hang."""

import itertools
import math
import time
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing as Document

from app.files.dxf_file import read_dxf
from app.files.errors import FileError
from app.files.strokes import Imported
from app.files.svg_file import read_svg

BAR = [(0.0, 0.0), (200.0, 0.0), (200.0, 30.0), (0.0, 30.0)]
WILD = [math.nan, math.inf, -math.inf, 1e30]


def in_mm() -> Document:
    return ezdxf.new("R2000", units=4)


def read(document: Document, folder: Path) -> Imported:
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf")


def bar(document: Document) -> None:
    document.modelspace().add_lwpolyline(BAR, close=True)


@pytest.mark.parametrize("wild", WILD)
def test_a_profile_with_a_wild_corner_never_gives_way_to_its_hole(
    tmp_path: Path, wild: float
) -> None:
    document = in_mm()
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (200, 0), (200, wild), (0, 30)], close=True)
    space.add_lwpolyline([(50, 5), (90, 5), (90, 25), (50, 25)], close=True)
    with pytest.raises(FileError, match=r"polyline near x 0\.0, y 0\.0 mm .* may be the profile"):
        read(document, tmp_path)


@pytest.mark.parametrize("wild", WILD)
def test_a_wild_hole_is_named_and_the_profile_kept(tmp_path: Path, wild: float) -> None:
    document = in_mm()
    bar(document)
    space = document.modelspace()
    space.add_lwpolyline([(50, 5), (90, 5), (90, wild), (50, 25)], close=True)
    imported = read(document, tmp_path)
    assert imported.outline.bounds_mm == (0, 0, 200, 30)
    assert [left.what for left in imported.left_out] == ["polyline with damaged numbers"]
    assert imported.left_out[0].at_mm == (50, 5)


def test_a_circle_and_a_line_without_end_are_named(tmp_path: Path) -> None:
    document = in_mm()
    bar(document)
    document.modelspace().add_circle((60, 15), 1e30)
    document.modelspace().add_line((-5, -5), (1e30, 0))
    imported = read(document, tmp_path)
    assert [left.what for left in imported.left_out] == [
        "circle with damaged numbers",
        "line with damaged numbers",
    ]


@pytest.mark.parametrize("bulge", [1e8, 1e12, 1e300])
def test_a_bulge_that_makes_an_endless_arc_does_not_hang(tmp_path: Path, bulge: float) -> None:
    document = in_mm()
    corners = [(x, y, bulge if x == y == 0 else 0.0) for x, y in BAR]
    document.modelspace().add_lwpolyline(corners, format="xyb", close=True)
    start = time.process_time()
    with pytest.raises(Exception, match=r"profile|no knife's size|crosses"):
        read(document, tmp_path)
    assert time.process_time() - start < 5


def test_a_scribble_is_refused_and_lines_drawn_over_and_over_are_one(tmp_path: Path) -> None:
    """1500 lines that all cross make a million crossings; 5000 equal ones once took minutes."""
    document = in_mm()
    space = document.modelspace()
    for turn in range(1500):
        x, y = 100 * math.cos(turn / 500), 100 * math.sin(turn / 500)
        space.add_line((-x, -y), (x, y))
    with pytest.raises(FileError, match="cross each other too often"):
        read(document, tmp_path)
    document = in_mm()
    for start, end in itertools.pairwise([*BAR, BAR[0]]):
        for number in range(1250):
            document.modelspace().add_line(*((start, end) if number % 2 else (end, start)))
    begun = time.process_time()
    imported = read(document, tmp_path)
    assert time.process_time() - begun < 10
    assert imported.outline.bounds_mm == (0, 0, 200, 30)
    assert len(imported.left_out) == 4 * 1249


def test_more_openings_than_any_piece_has_are_refused(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (400, 0), (400, 200), (0, 200)], close=True)
    for number in range(5001):
        space.add_circle((1 + number % 200 * 1.9, 1 + number // 200 * 1.9), 0.5)
    with pytest.raises(FileError, match="5001 closed lines inside"):
        read(document, tmp_path)


@pytest.mark.parametrize(
    "path", ["L200,nan L200,30", "L200,0 L200,Infinity", "L1e300,0 L200,30", "Lnan,nan"]
)
def test_a_path_with_a_wild_corner_is_refused_in_few_words(tmp_path: Path, path: str) -> None:
    drawing = tmp_path / "part.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="220mm" height="30mm" '
        f'viewBox="0 0 220 30"><path d="M0,0 {path} Z"/>'
        '<circle cx="100" cy="15" r="12"/></svg>'
    )
    with pytest.raises(FileError, match="may be the profile") as caught:
        read_svg(drawing)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("shift", [0.0, 1e3 / 7, 1e5 / 3])
def test_a_gap_of_just_a_tenth_is_closed_wherever_it_lies(tmp_path: Path, shift: float) -> None:
    def open_by(gap: float) -> Document:
        document = in_mm()
        corners = [(0, 0), (200, 0), (200, 30), (0, 30), (0, gap)]
        for (x0, y0), (x1, y1) in itertools.pairwise(corners):
            document.modelspace().add_line((x0 + shift, y0 + shift), (x1 + shift, y1 + shift))
        return document

    imported = read(open_by(0.1), tmp_path)
    assert imported.notes == ("1 gap of up to 0.100 mm closed.",)
    with pytest.raises(FileError, match=r"0\.12 mm apart.*gaps of up to 0\.1 mm are closed"):
        read(open_by(0.12), tmp_path)


def test_a_line_across_the_piece_and_things_drawn_twice_are_called_what_they_are(
    tmp_path: Path,
) -> None:
    document = in_mm()
    bar(document)
    bar(document)
    space = document.modelspace()
    space.add_line((100, 0), (100, 30))
    space.add_line((20, 0), (80, 0))
    for _ in range(2):
        space.add_circle((40, 15), 3)
    told = [left.what for left in read(document, tmp_path).left_out]
    assert sorted(told) == [
        "circle drawn twice", "line drawn twice", "open line inside", "polyline drawn twice",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("diameter", "kind"), [(0.4, "hole"), (2.0, "pin"), (6.0, "pin"), (10.0, "pin"), (20.0, "hole")]
)
def test_a_hole_is_a_pin_s_where_there_are_pins_of_its_size(
    tmp_path: Path, diameter: float, kind: str
) -> None:
    document = in_mm()
    bar(document)
    document.modelspace().add_circle((40, 15), diameter / 2)
    angles = [math.tau * step / 32 for step in range(32)]
    points = [(90 + diameter / 2 * math.cos(a), 15 + diameter / 2 * math.sin(a)) for a in angles]
    document.modelspace().add_lwpolyline(points, close=True)
    assert [hole.kind for hole in read(document, tmp_path).outline.holes] == [kind, kind]


BEHIND_THE_END = {
    "nothing": b"",
    "blank lines": b"\n" * 100,
    "the end of a tape": b"\x1a" + b"\0" * 200,
    "a comment": b"999\n"
    + b"written by hand, with a word or two on the day and the place " * 2
    + b"\n",
}


@pytest.mark.parametrize("kind", BEHIND_THE_END)
@pytest.mark.parametrize("line_end", [b"\n", b"\r\n"])
def test_a_whole_file_says_nothing_whatever_follows_its_end(
    tmp_path: Path, kind: str, line_end: bytes
) -> None:
    document = in_mm()
    bar(document)
    document.saveas(tmp_path / "part.dxf")
    data = (tmp_path / "part.dxf").read_bytes().replace(b"\r\n", b"\n") + BEHIND_THE_END[kind]
    (tmp_path / "part.dxf").write_bytes(data.replace(b"\n", line_end))
    imported = read_dxf(tmp_path / "part.dxf")
    assert imported.outline.bounds_mm == (0, 0, 200, 30)
    assert imported.notes == ()


@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_a_binary_file_ends_where_it_says_and_no_sooner(tmp_path: Path, version: str) -> None:
    document = ezdxf.new(version)
    bar(document) if version != "R12" else document.modelspace().add_polyline2d(BAR, close=True)
    document.modelspace().add_text("EOF")
    document.saveas(tmp_path / "part.dxf", fmt="bin")
    assert read_dxf(tmp_path / "part.dxf", unit="mm").notes == ()
    data = (tmp_path / "part.dxf").read_bytes()
    (tmp_path / "part.dxf").write_bytes(data[: data.index(b"EOF") + 4])
    with pytest.raises(FileError, match="ends too early"):
        read_dxf(tmp_path / "part.dxf", unit="mm")


def test_the_word_of_the_end_written_on_a_drawing_is_not_its_end(tmp_path: Path) -> None:
    document = in_mm()
    document.modelspace().add_text("EOF")
    bar(document)
    document.saveas(tmp_path / "whole.dxf")
    data = (tmp_path / "whole.dxf").read_bytes()
    (tmp_path / "cut.dxf").write_bytes(data[: data.index(b"EOF") + 4])
    with pytest.raises(FileError, match="ends too early"):
        read_dxf(tmp_path / "cut.dxf")


def test_a_file_cut_off_anywhere_says_so_and_never_makes_a_hole_the_profile(
    tmp_path: Path,
) -> None:
    document = in_mm()
    space = document.modelspace()
    space.add_circle((40, 15), 10)
    bar(document)
    document.saveas(tmp_path / "whole.dxf")
    data = (tmp_path / "whole.dxf").read_bytes()
    lines_end = data.index(b"ENDSEC", data.index(b"ENTITIES")) + len("ENDSEC\n")
    first_line = data.index(b"SECTION") + len("SECTION\n")
    cut = tmp_path / "cut.dxf"
    for length in range(first_line, lines_end, 97):
        cut.write_bytes(data[:length])
        with pytest.raises(FileError, match="ends too early") as caught:
            read_dxf(cut, unit="mm")
        assert caught.value.remedy
    for length in range(lines_end + 10, len(data) - 5, 997):
        cut.write_bytes(data[:length])
        imported = read_dxf(cut, unit="mm")
        assert imported.outline.bounds_mm == (0, 0, 200, 30)
        assert imported.notes[0].startswith("The file ends too early")
        assert not any("; 0 places" in note for note in imported.notes)
    assert read_dxf(tmp_path / "whole.dxf").notes == ()

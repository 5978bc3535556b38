"""Outlines from DXF files drawn in many ways: all the same L with a notch and a hole."""

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing as Document
from ezdxf.math import Matrix44

from app.document.drawing import Drawing, Polyline
from app.exports.dxf import write_dxf
from app.files.dxf_file import read_dxf as read_drawing
from app.files.errors import FileError
from geometry.errors import InputError, ToolError
from geometry.outline import Outline

# An L without any symmetry, its corner at the origin: 60 x 40, area 60*15 + 15*25 - 2*3 = 1269.
L_MM = [(0, 0), (30, 0), (30, 3), (32, 3), (32, 0), (60, 0), (60, 15), (15, 15), (15, 40), (0, 40)]
L_AREA = 1269.0
HOLE = (7.0, 30.0, 2.5)  # x, y, radius


def read_dxf(path: Path, *, unit: str | None = None) -> Outline:
    return read_drawing(path, unit=unit).outline


def same_as_l(outline: Outline, tolerance_mm: float = 1e-3) -> bool:
    edge = shapely.LinearRing(outline.ring(0.01))
    return bool(shapely.hausdorff_distance(edge, shapely.LinearRing(L_MM)) < tolerance_mm)


def in_mm(version: str = "R2000") -> Document:
    return ezdxf.new(version, units=4)


def saved(document: Document, folder: Path) -> Path:
    document.saveas(folder / "part.dxf")
    return folder / "part.dxf"


def add_l(space: object, dx: float = 0.0, dy: float = 0.0) -> None:
    space.add_lwpolyline([(x + dx, y + dy) for x, y in L_MM], close=True)  # type: ignore[attr-defined]
    space.add_circle((HOLE[0] + dx, HOLE[1] + dy), HOLE[2])  # type: ignore[attr-defined]


def test_a_closed_polyline_and_a_circle_are_outline_and_hole(tmp_path: Path) -> None:
    document = in_mm()
    add_l(document.modelspace(), 100.0, -20.0)
    document.modelspace().add_text("do not read me", height=500)
    outline = read_dxf(saved(document, tmp_path))
    assert same_as_l(outline)
    (hole,) = outline.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((7.0, 30.0, 5.0), abs=1e-3)
    assert outline.area_mm2 == pytest.approx(L_AREA - math.pi * 6.25, abs=0.01)
    assert outline.name == "part"


def test_inches_become_millimetres(tmp_path: Path) -> None:
    document = ezdxf.new("R2000", units=1)
    document.modelspace().add_lwpolyline([(0, 0), (8, 0), (8, 1.25), (0, 1)], close=True)
    assert read_dxf(saved(document, tmp_path)).bounds_mm == pytest.approx((0, 0, 203.2, 31.75))


def shuffled_soup(space: object, gap_mm: float = 0.0) -> None:
    ends = [*zip(L_MM, [*L_MM[1:], L_MM[0]], strict=True)]
    for number in (3, 7, 0, 9, 5, 1, 8, 2, 6, 4):
        start, end = ends[number]
        if number % 2:
            start, end = end, start
        if number == 7:
            start = (start[0], start[1] - gap_mm)  # the long side falls short of its corner
        space.add_line(start, end)  # type: ignore[attr-defined]


@pytest.mark.parametrize("gap_mm", [0.0, 0.0005, 0.03])
def test_loose_lines_are_chained_across_small_gaps(tmp_path: Path, gap_mm: float) -> None:
    document = in_mm()
    shuffled_soup(document.modelspace(), gap_mm)
    shuffled_soup(document.modelspace())  # and drawn twice
    assert same_as_l(read_dxf(saved(document, tmp_path)), 0.05)


def test_a_wide_gap_is_told_and_not_closed(tmp_path: Path) -> None:
    document = in_mm()
    shuffled_soup(document.modelspace(), 0.4)
    with pytest.raises(
        FileError,
        match=r"no closed outline.*0\.4 mm apart, at x 15\.00, y 39\.60 and x 15\.00, y 40\.00",
    ):
        read_dxf(saved(document, tmp_path))


def test_a_line_across_does_not_cut_the_outline_in_two(tmp_path: Path) -> None:
    document = in_mm()
    shuffled_soup(document.modelspace())
    document.modelspace().add_line((45, 0), (45, 15))
    document.modelspace().add_line((50, 5), (70, 5))
    assert same_as_l(read_dxf(saved(document, tmp_path)))


@pytest.mark.parametrize("quarters", [0, 1, 2, 3])
def test_a_mirrored_turned_block_is_read_as_it_is_seen(tmp_path: Path, quarters: int) -> None:
    """Mirroring in x, then turning: the expected points are computed by hand in the test."""
    document = in_mm()
    add_l(document.blocks.new("part"))
    document.modelspace().add_blockref(
        "part", (500, 300), dxfattribs={"xscale": -1, "rotation": 90.0 * quarters}
    )
    outline = read_dxf(saved(document, tmp_path))
    turn = [(1, 0, 0, 1), (0, -1, 1, 0), (-1, 0, 0, -1), (0, 1, -1, 0)][quarters]
    seen = np.array([(-turn[0] * x + turn[1] * y, -turn[2] * x + turn[3] * y) for x, y in L_MM])
    seen = seen - seen.min(axis=0)
    edge = shapely.LinearRing(outline.ring())
    assert shapely.hausdorff_distance(edge, shapely.LinearRing(seen)) < 1e-3
    assert len(outline.holes) == 1


def test_an_entity_mirrored_in_itself_is_read_as_it_is_seen(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    add_l(space)
    for entity in list(space):
        entity.transform(Matrix44.scale(-1, 1, 1))
    seen = np.array([(60 - x, y) for x, y in L_MM])
    edge = shapely.LinearRing(read_dxf(saved(document, tmp_path)).ring())
    assert shapely.hausdorff_distance(edge, shapely.LinearRing(seen)) < 1e-3


def test_bulges_and_arcs_are_true_arcs(tmp_path: Path) -> None:
    """A slot of 40 x 20: area 20*20 + pi*10^2; bulge 1 is half a circle (DXF reference)."""
    document = in_mm()
    slot = [(10, 0, 0), (30, 0, 1), (30, 20, 0), (10, 20, 1)]
    document.modelspace().add_lwpolyline(slot, format="xyb", close=True)
    bulged = read_dxf(saved(document, tmp_path))
    document = in_mm()
    space = document.modelspace()
    space.add_line((10, 0), (30, 0))
    space.add_line((10, 20), (30, 20))
    space.add_arc((30, 10), 10, -90, 90)
    space.add_arc((10, 10), 10, 90, 270)
    for outline in (bulged, read_dxf(saved(document, tmp_path))):
        assert outline.area_mm2 == pytest.approx(400 + 100 * math.pi, abs=0.3)
        assert outline.bounds_mm == pytest.approx((0, 0, 40, 20), abs=0.006)


def test_splines_ellipses_and_old_polylines_are_read(tmp_path: Path) -> None:
    document = in_mm("R12")
    document.modelspace().add_polyline2d(L_MM, close=True)
    assert same_as_l(read_dxf(saved(document, tmp_path), unit="mm"))
    document = in_mm()
    document.modelspace().add_ellipse((0, 0), (40, 0), 0.25)
    assert read_dxf(saved(document, tmp_path)).area_mm2 == pytest.approx(400 * math.pi, abs=0.6)
    document = in_mm()
    document.modelspace().add_lwpolyline([*L_MM, L_MM[0]])  # ends meet, flag not set
    assert same_as_l(read_dxf(saved(document, tmp_path)))


def test_round_loops_of_any_making_are_holes_and_others_cutouts(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (100, 0), (100, 40), (0, 40)], close=True)
    space.add_lwpolyline([(10, 20, 1), (16, 20, 1)], format="xyb", close=True)  # two halves
    space.add_arc((30, 20), 2, 0, 180)
    space.add_arc((30, 20), 2, 180, 360)
    space.add_lwpolyline([(50, 10), (60, 10), (60, 20), (50, 20)], close=True)
    space.add_circle((55, 15), 1)  # inside the cutout: air already
    space.add_circle((150, 20), 5)  # beside the part
    outline = read_dxf(saved(document, tmp_path))
    assert sorted(hole.diameter_mm for hole in outline.holes) == pytest.approx([4, 6], abs=1e-3)
    assert len(outline.cutouts) == 1


def test_a_pattern_of_ours_is_read_by_its_profile(
    tmp_path: Path, make_pattern: Callable[..., Drawing]
) -> None:
    """Not the billet, the bars or the words: the profile and its holes, within 0.01 mm."""
    drawing = make_pattern()
    write_dxf(drawing, tmp_path / "pattern.dxf")
    outline = read_dxf(tmp_path / "pattern.dxf")
    (profile,) = [i for i in drawing.items if isinstance(i, Polyline) and i.layer == "PROFILE"]
    points = np.array(profile.points_mm)
    points -= points.min(axis=0)
    edge = shapely.LinearRing(outline.ring())
    assert shapely.hausdorff_distance(edge, shapely.LinearRing(points)) < 0.01
    assert sorted(h.diameter_mm for h in outline.holes) == pytest.approx([3.175, 6.35], abs=1e-3)


def test_hidden_layers_are_passed_over(tmp_path: Path) -> None:
    document = in_mm()
    add_l(document.modelspace())
    document.layers.add("OFF").off()
    document.modelspace().add_circle((0, 0), 300, dxfattribs={"layer": "OFF"})
    assert same_as_l(read_dxf(saved(document, tmp_path)))


@pytest.mark.parametrize("version", ["R12", "R2000"])
def test_a_drawing_that_says_no_unit_is_asked_about(tmp_path: Path, version: str) -> None:
    """R12 has no header variable for it; R2000 with 0 says 'none'."""
    document = ezdxf.new(version, units=0)
    document.modelspace().add_polyline2d(L_MM, close=True)
    path = saved(document, tmp_path)
    with pytest.raises(InputError, match=r"60\.00 x 40\.00 mm.*1524\.0 x 1016\.0 mm.*--unit"):
        read_dxf(path)
    assert same_as_l(read_dxf(path, unit="mm"))
    assert read_dxf(path, unit="in").bounds_mm[2] == pytest.approx(1524.0)  # 60 x 25.4


def test_a_stated_unit_that_makes_no_knife_is_asked_about(tmp_path: Path) -> None:
    document = ezdxf.new("R2000", units=6)  # metres: the default of some libraries
    add_l(document.modelspace())
    path = saved(document, tmp_path)
    with pytest.raises(
        InputError, match=r"is 60\.00 x 40\.00 m,.*no knife.*60\.00 x 40\.00 mm if in mm"
    ):
        read_dxf(path)
    assert same_as_l(read_dxf(path, unit="mm"))


def test_an_edge_that_crosses_itself_is_said_with_the_place(tmp_path: Path) -> None:
    document = in_mm()
    document.modelspace().add_lwpolyline([(0, 0), (100, 40), (100, 0), (0, 40)], close=True)
    with pytest.raises(InputError, match=r"near x 50\.0, y 20\.0"):
        read_dxf(saved(document, tmp_path))


def test_a_drawing_in_space_is_refused(tmp_path: Path) -> None:
    document = in_mm()
    document.modelspace().add_polyline3d(
        [(0, 0, 0), (90, 0, 5), (90, 30, 9), (0, 30, 2)], close=True
    )
    with pytest.raises(FileError, match="drawing in space"):
        read_dxf(saved(document, tmp_path))


@pytest.mark.parametrize(
    "data",
    [b"", b"\x00\xff\x12" * 300, b"A shopping list\n", b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\nx\n",
     b"  0\nSECTION\n  2\nHEADER\n", b"AutoCAD Binary DXF\r\n\x1a\x00SECTION\x00\x01"],
)  # fmt: skip
def test_what_is_no_drawing_is_one_clear_line(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "bad.dxf"
    path.write_bytes(data)
    with pytest.raises(FileError, match=r"bad\.dxf") as caught:
        read_dxf(path)
    assert "\n" not in str(caught.value)


def test_a_drawing_cut_off_anywhere_ends_in_an_outline_or_a_clear_line(
    tmp_path: Path, make_pattern: Callable[..., Drawing], capfd: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "cut.dxf"
    write_dxf(make_pattern(), path)
    data = path.read_bytes()
    ends = {"outline": 0, "line": 0}
    whole_drawing = data.find(b"OBJECTS")  # the lines end before this section
    for length in (*(len(data) * part // 24 for part in range(1, 24)), whole_drawing):
        path.write_bytes(data[:length])
        try:
            read_dxf(path, unit="mm").polygon()
            ends["outline"] += 1
        except ToolError:
            ends["line"] += 1
    assert min(ends.values()) > 0
    assert capfd.readouterr() == ("", "")  # the reading library stays quiet


@pytest.mark.parametrize("far", [1e12, 1e15, 1e200])
def test_a_damaged_number_is_no_endless_work(tmp_path: Path, far: float) -> None:
    document = in_mm()
    space = document.modelspace()
    add_l(space)
    space.add_lwpolyline([(0, 0, 0.5), (far, 3, 0.5), (9, 9, 0)], format="xyb")
    space.add_arc((0, 0), far, 0, 90)
    space.add_open_spline([(0, 0), (far, 1), (far, far), (1, far)])
    space.add_line((0, 0), (far, far))
    assert same_as_l(read_dxf(saved(document, tmp_path)))


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="could not be read"):
        read_dxf(tmp_path / "none.dxf")

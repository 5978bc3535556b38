"""Outlines from SVG files drawn in many ways: an L with a notch that has no symmetry."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely

from app.document.drawing import Drawing, Polyline
from app.exports.svg import write_svg
from app.files.errors import FileError
from app.files.svg_file import read_svg as read_drawing
from geometry.errors import InputError, ToolError
from geometry.outline import Outline

# y down, as drawn; seen on screen the long leg lies at the top and the short one hangs at the left
L_DOWN = [
    (0, 0),
    (30, 0),
    (30, 3),
    (32, 3),
    (32, 0),
    (60, 0),
    (60, 15),
    (15, 15),
    (15, 40),
    (0, 40),
]
L_PATH = "M" + "L".join(f"{x} {y}" for x, y in L_DOWN) + "Z"
L_UP = [(x, 40 - y) for x, y in L_DOWN]
MM = 'width="100mm" height="80mm" viewBox="0 0 100 80"'


def read_svg(path: Path, *, unit: str | None = None) -> Outline:
    return read_drawing(path, unit=unit).outline


def written(folder: Path, body: str, frame: str = MM) -> Path:
    path = folder / "part.svg"
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {frame}>{body}</svg>', "utf-8")
    return path


def off_mm(outline: Outline, points: list[tuple[float, float]]) -> float:
    ring = np.array(points) - np.min(points, axis=0)
    return float(
        shapely.hausdorff_distance(shapely.LinearRing(outline.ring()), shapely.LinearRing(ring))
    )


def test_a_path_is_read_as_it_is_seen(tmp_path: Path) -> None:
    outline = read_svg(written(tmp_path, f'<path d="{L_PATH}"/><circle cx="7" cy="25" r="2"/>'))
    assert off_mm(outline, L_UP) < 1e-3
    (hole,) = outline.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((7, 15, 4), abs=1e-3)


@pytest.mark.parametrize(
    ("frame", "mm_per_unit"),
    [
        ('width="50mm" height="40mm" viewBox="0 0 100 80"', 0.5),
        ('width="10cm" height="8cm" viewBox="0 0 100 80"', 1.0),
        ('width="4in" height="3.2in" viewBox="10 20 100 80"', 1.016),  # 101.6 mm over 100
        ('width="288pt" height="230.4pt" viewBox="0 0 100 80"', 1.016),  # 72 pt to the inch
    ],
)
def test_a_physical_frame_is_believed(tmp_path: Path, frame: str, mm_per_unit: float) -> None:
    outline = read_svg(written(tmp_path, f'<path d="{L_PATH}"/>', frame))
    assert outline.bounds_mm[2:] == pytest.approx((60 * mm_per_unit, 40 * mm_per_unit), abs=1e-3)


@pytest.mark.parametrize(
    ("frame", "pixels"),
    [
        ("", (15.88, 16.93, 21.17)),
        ('width="100" height="80"', (15.88, 16.93, 21.17)),
        ('width="100%" height="100%"', (15.88, 16.93, 21.17)),
        ('width="400px" height="320px" viewBox="0 0 100 80"', (63.5, 67.73, 84.67)),
    ],
)
def test_pixels_are_asked_about(
    tmp_path: Path, frame: str, pixels: tuple[float, float, float]
) -> None:
    """60 units: 60 mm, 60 in = 1524 mm, or 60 px (at last 240) at 96, 90, 72 an inch."""
    path = written(tmp_path, f'<path d="{L_PATH}"/>', frame)
    with pytest.raises(InputError, match=r"60\.00 x 40\.00 mm.*1524\.0 .*--unit") as asked:
        read_svg(path)
    assert all(f"{length:.2f} x" in str(asked.value) for length in pixels)
    for unit, length in zip(("px", "px90", "pt"), pixels, strict=True):
        assert read_svg(path, unit=unit).bounds_mm[2] == pytest.approx(length, abs=0.006)
    assert off_mm(read_svg(path, unit="mm"), L_UP) < 1e-3
    assert read_svg(path, unit="in").bounds_mm[2] == pytest.approx(1524.0, abs=0.01)


def test_lengths_with_units_agree_with_the_unit_that_is_told(tmp_path: Path) -> None:
    path = written(tmp_path, '<rect x="1in" y="1in" width="44mm" height="22mm"/>', "")
    assert read_svg(path, unit="mm").bounds_mm[2:] == pytest.approx((44, 22), abs=1e-3)
    assert read_svg(path, unit="in").bounds_mm[2:] == pytest.approx((44, 22), abs=1e-3)


def test_transforms_and_use_are_followed(tmp_path: Path) -> None:
    """Mirrored in x by a use inside a turned group: points by hand, (x, y) -> (-y, -x) y down."""
    body = (
        f'<defs><path id="l" d="{L_PATH}"/></defs><g transform="translate(90 70) rotate(90)">'
        '<g transform="scale(-1 1)"><use href="#l"/></g></g>'
    )
    seen_down = [(-y, -x) for x, y in L_DOWN]
    assert off_mm(read_svg(written(tmp_path, body)), [(x, -y) for x, y in seen_down]) < 1e-3


def test_what_is_not_seen_is_not_read(tmp_path: Path) -> None:
    big = '<rect width="99" height="79"/>'
    body = (
        f'<path d="{L_PATH}"/><defs>{big}</defs><g style="display:none">{big}</g><g display="none">'
        f'{big}</g><g visibility="hidden">{big}</g><symbol id="s">{big}</symbol>'
        f'<clipPath id="c">{big}</clipPath><mask id="m">{big}</mask><text x="3" y="9">word</text>'
    )
    assert off_mm(read_svg(written(tmp_path, body)), L_UP) < 1e-3


def test_curves_keep_within_a_hundredth(tmp_path: Path) -> None:
    """A stadium 50 x 20 by arcs: area 30*20 + pi*100; and an ellipse: pi*25*10."""
    stadium = '<path d="M10 0H40A10 10 0 0 1 40 20H10A10 10 0 0 1 10 0Z"/>'
    area = read_svg(written(tmp_path, stadium)).area_mm2
    assert area == pytest.approx(600 + 100 * math.pi, abs=0.3)
    ellipse = '<ellipse cx="30" cy="20" rx="25" ry="10"/>'
    assert read_svg(written(tmp_path, ellipse)).area_mm2 == pytest.approx(250 * math.pi, abs=0.4)
    # a parabola over a chord of 60, control 30 high: area 2/3 * 60 * 15
    bow = '<path d="M0 0Q30 30 60 0Z"/>'
    assert read_svg(written(tmp_path, bow)).area_mm2 == pytest.approx(600, abs=0.3)


def test_loose_lines_are_chained(tmp_path: Path) -> None:
    ends = list(zip(L_DOWN, [*L_DOWN[1:], L_DOWN[0]], strict=True))
    body = "".join(
        f'<line x1="{a[0]}" y1="{a[1]}" x2="{b[0]}" y2="{b[1]}"/>' for a, b in reversed(ends)
    )
    assert off_mm(read_svg(written(tmp_path, body)), L_UP) < 1e-3


def test_a_pattern_of_ours_is_read_by_its_profile(
    tmp_path: Path, make_pattern: Callable[..., Drawing]
) -> None:
    drawing = make_pattern()
    write_svg(drawing, tmp_path / "pattern.svg")
    outline = read_svg(tmp_path / "pattern.svg")
    (profile,) = [i for i in drawing.items if isinstance(i, Polyline) and i.layer == "PROFILE"]
    assert off_mm(outline, list(profile.points_mm)) < 0.01
    assert sorted(h.diameter_mm for h in outline.holes) == pytest.approx([3.175, 6.35], abs=2e-3)


def test_a_small_knot_in_a_corner_is_cut_off_and_a_figure_of_eight_refused(tmp_path: Path) -> None:
    knot = '<path d="M0 0H60V30H0.1V30.1H0.2V29.9H0Z"/>'
    assert read_svg(written(tmp_path, knot)).polygon().area == pytest.approx(1800, abs=1)
    eight = '<path d="M0 0L60 40V0L0 40Z"/>'
    with pytest.raises(InputError, match=r"near x 30\.0, y 20\.0"):
        read_svg(written(tmp_path, eight))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_document_type_is_refused(tmp_path: Path, encoding: str) -> None:
    text = (
        f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE svg [<!ENTITY a "aaaa">'
        f'<!ENTITY b "&a;&a;">]><svg xmlns="http://www.w3.org/2000/svg" {MM}><text>&b;</text></svg>'
    )
    (tmp_path / "part.svg").write_bytes(text.encode(encoding))
    with pytest.raises(FileError, match="document type"):
        read_svg(tmp_path / "part.svg")


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00\x01\xff" * 99,
        b"a list",
        b"<html></html>",
        b"<svg",
        b'<?xml version="1.0" encoding="x"?><svg/>',
    ],
)
def test_what_is_no_svg_is_one_clear_line(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "part.svg").write_bytes(data)
    with pytest.raises(FileError, match=r"part\.svg: this is not an SVG") as caught:
        read_svg(tmp_path / "part.svg")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    "body", ["", "<text>hi</text>", '<path d="M0 0L50 0L50 30"/>', '<path d="M q"/>']
)
def test_nothing_closed_is_said(tmp_path: Path, body: str) -> None:
    with pytest.raises(FileError, match="outline"):
        read_svg(written(tmp_path, body))


def test_a_drawing_of_an_impossible_size_is_asked_about(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no knife"):
        read_svg(written(tmp_path, '<rect width="8" height="3"/>'))


def test_real_drawings_end_in_an_outline_or_a_clear_line(shared: Path) -> None:
    folder = shared / "real" / "vector"
    said: dict[str, str] = {}
    for path in sorted(folder.glob("*.svg")):
        try:
            read_svg(path).polygon()
        except ToolError as error:
            said[path.name] = str(error)
    assert all(name in line and "\n" not in line for name, line in said.items())
    assert {"boxes_ABox.svg", "boxes_BottleTag.svg"}.isdisjoint(said)
    # its twin in DXF is 488.0 x 488.0 mm: 90 px to the inch
    assert "488.00 x 488.00 mm if in pixels at 90" in said["lasersaur_job-mount-panels-v14.03.svg"]

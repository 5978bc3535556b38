"""DXF files as drawing programs write them: blocks, layers, pages, versions, traps."""

from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing as Document

from app.files.dxf_file import read_dxf
from app.files.errors import FileError
from tests.app.dxf_hands import BAR, SIDES, bar, in_mm, lines, read


def test_what_is_left_out_is_named_with_its_place(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    bar(space, [(x + 1000, y + 500) for x, y in BAR])
    space.add_text("steel", dxfattribs={"insert": (1010, 560)})
    space.add_mtext("more", dxfattribs={"insert": (1020, 570)})
    space.add_point((1003, 504))
    space.add_hatch().paths.add_polyline_path([(1000, 500), (1100, 500), (1100, 530)])
    space.add_circle((1200, 515), 8)
    space.add_line((1010, 510), (1030, 510))
    space.add_line((1110, 515), (1130, 515))
    told = read(document, tmp_path).told()
    assert told == [
        "words, 2 times: x 10.0, y 60.0; x 20.0, y 70.0",
        "point: x 3.0, y 4.0",
        "hatching",
        "closed circle beside the outline: x 200.0, y 15.0",
        "open line inside: x 20.0, y 10.0",
        "open line across the edge: x 120.0, y 15.0",
    ]


def test_layers_of_blocks_decide_what_is_hidden(tmp_path: Path) -> None:
    """On layer 0 of a block lies what its insert's layer shows; a frozen insert hides all."""
    document = in_mm()
    space = document.modelspace()
    bar(space)
    big = document.blocks.new("big")
    big.add_lwpolyline([(-50, -50), (300, -50), (300, 90), (-50, 90)], close=True)
    own = document.blocks.new("own")
    own.add_lwpolyline(
        [(-50, -50), (300, -50), (300, 90)], close=True, dxfattribs={"layer": "SHOWN"}
    )
    for name in ("OFF", "FROZEN", "SHOWN"):
        document.layers.add(name)
    document.layers.get("OFF").off()
    document.layers.get("FROZEN").freeze()
    space.add_blockref("big", (0, 0), dxfattribs={"layer": "OFF"})
    space.add_blockref("own", (0, 0), dxfattribs={"layer": "FROZEN"})
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600)
    assert [line.partition(":")[0] for line in found.told()] == ["2 things on a hidden layer"]


def bomb(document: Document) -> None:
    document.blocks.new("b0").add_point((0, 0))
    for number in range(1, 10):
        block = document.blocks.new(f"b{number}")
        for step in range(10):
            block.add_blockref(f"b{number - 1}", (step, 0))
    document.modelspace().add_blockref("b9", (0, 0))


def grid(document: Document) -> None:
    document.blocks.new("dot").add_point((0, 0))
    many = {"row_count": 30_000, "column_count": 30_000, "row_spacing": 1, "column_spacing": 1}
    document.modelspace().add_blockref("dot", (0, 0), dxfattribs=many)


def circle_of_blocks(document: Document) -> None:
    document.blocks.new("one").add_blockref("two", (1, 1))
    document.blocks.new("two").add_blockref("one", (1, 1))
    document.modelspace().add_blockref("one", (0, 0))


@pytest.mark.parametrize("trap", [bomb, grid, circle_of_blocks])
def test_a_file_made_to_hang_its_reader_is_refused(tmp_path: Path, trap: object) -> None:
    document = in_mm()
    bar(document.modelspace())
    trap(document)  # type: ignore[operator]
    with pytest.raises(FileError, match="too large") as refused:
        read(document, tmp_path)
    assert "\n" not in str(refused.value)


def test_binary_and_old_versions_are_read(tmp_path: Path) -> None:
    for version in ("R12", "R2000", "R2007", "R2018"):
        document = ezdxf.new(version, units=4)
        document.modelspace().add_polyline2d(BAR, close=True)
        document.saveas(tmp_path / "part.dxf", fmt="bin")
        assert read_dxf(tmp_path / "part.dxf", unit="mm").outline.area_mm2 == pytest.approx(3600)


def test_lines_on_a_page_for_printing_alone_are_said(tmp_path: Path) -> None:
    document = in_mm()
    bar(document.layout("Layout1"))
    with pytest.raises(FileError, match="page for printing"):
        read(document, tmp_path)


@pytest.mark.parametrize("closed", [True, False])
def test_a_drawing_far_from_its_origin_is_read_as_near_to_it(tmp_path: Path, closed: bool) -> None:
    """On the coordinates of a map, kilometres off; a number still has a millionth of a mm there."""
    x, y = 450_000.0, 5_200_000.0
    document = in_mm()
    space = document.modelspace()
    if closed:
        bar(space, [(a + x, b + y) for a, b in BAR])
    else:
        lines(space, [((a + x, b + y), (c + x, d + y)) for (a, b), (c, d) in SIDES])
    space.add_circle((x + 20, y + 15), 3)
    outline = read(document, tmp_path).outline
    assert outline.bounds_mm == pytest.approx((0, 0, 120, 30), abs=1e-3)
    (hole,) = outline.holes
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((20, 15, 6), abs=1e-3)


def test_a_front_view_standing_upright_is_said_to_be_one(tmp_path: Path) -> None:
    document = in_mm()
    for (x0, z0), (x1, z1) in SIDES:
        document.modelspace().add_line((x0, 0, z0), (x1, 0, z1))
    with pytest.raises(FileError, match="drawing in space"):
        read(document, tmp_path)

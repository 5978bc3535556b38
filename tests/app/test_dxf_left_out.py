"""Whatever a DXF holds is read or named with its count: nothing goes without a word."""

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing as Document
from ezdxf.xclip import XClip

from app.files.dxf_file import read_dxf
from app.files.strokes import Imported

BAR = [(0.0, 0.0), (120.0, 0.0), (120.0, 30.0), (0.0, 30.0)]


def read(document: Document, folder: Path) -> Imported:
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf")


def words_beside_a_block(document: Document) -> None:
    block = document.blocks.new("plate")
    block.add_circle((0, 0), 3)
    block.add_attdef("NAME", (1, 1))  # a form of words, shown where a block has words for it
    for x in (20, 60):
        insert = document.modelspace().add_blockref("plate", (x, 15))
        insert.add_attrib("NAME", "bolt", (x + 1, 16))


def words_beside_a_block_in_a_block(document: Document) -> None:
    words_beside_a_block(document)
    outer = document.blocks.new("outer")
    for insert in list(document.modelspace().query("INSERT")):
        document.modelspace().unlink_entity(insert)
        outer.add_entity(insert)
    document.modelspace().add_blockref("outer", (5, 0))


def constant_words(document: Document) -> None:
    block = document.blocks.new("plate")
    block.add_attdef("NAME", (1, 1), "steel").is_const = True
    document.modelspace().add_blockref("plate", (5, 5))
    document.modelspace().add_attdef("LOOSE", (1, 1))


def block_of_another_file(document: Document) -> None:
    document.add_xref_def("other.dxf", "other")
    document.modelspace().add_blockref("other", (0, 0))


def empty_blocks(document: Document) -> None:
    document.blocks.new("none")
    document.blocks.new("only forms").add_attdef("NAME", (1, 1))
    for name in ("none", "only forms", "never made"):
        document.modelspace().add_blockref(name, (9, 9))


def block_put_nowhere(document: Document) -> None:
    document.blocks.new("spare").add_circle((0, 0), 400)


def page(document: Document) -> None:
    document.layout("Layout1").add_lwpolyline([(0, 0), (500, 0), (500, 400)], close=True)
    document.layout("Layout1").add_text("title")


def no_length(document: Document) -> None:
    space = document.modelspace()
    space.add_line((5, 5), (5, 5))
    space.add_line((6, 5), (6.0005, 5))
    space.add_circle((9, 9), 0)
    space.add_lwpolyline([(3, 3), (3, 3)])
    space.add_spline()


def bodies_and_pictures(document: Document) -> None:
    space = document.modelspace()
    space.add_3dface([(0, 0, 0), (9, 0, 0), (9, 9, 4)])
    space.add_solid([(0, 0), (9, 0), (9, 9)])
    with space.add_mesh().edit_data() as mesh:
        mesh.vertices, mesh.faces = [(0, 0, 0), (9, 0, 0), (9, 9, 4)], [(0, 1, 2)]
    space.add_xline((0, 0), (1, 0))
    space.add_ray((0, 0), (1, 0))
    space.add_mline([(0, 0), (9, 0)])
    space.add_image(document.add_image_def("a.png", (9, 9)), (0, 0), (9, 9))
    space.add_wipeout([(0, 0), (9, 9)])
    space.add_underlay(document.add_underlay_def("a.pdf", "pdf", "1"), (0, 0))
    space.add_shape("X", (0, 0))
    space.add_helix(3, 1, 2)


def clipped_block(document: Document) -> None:
    document.blocks.new("plate").add_circle((0, 0), 3)
    insert = document.modelspace().add_blockref("plate", (20, 15))
    XClip(insert).set_block_clipping_path([(-1, -1), (1, 1)])


def a_kind_that_is_not_known(document: Document) -> None:
    document.modelspace().new_entity("ACAD_PROXY_ENTITY", {})


CASES: list[tuple[Callable[[Document], None], dict[str, int]]] = [
    (words_beside_a_block, {"words": 2}),
    (words_beside_a_block_in_a_block, {"words": 2}),
    (constant_words, {"words": 2}),
    (block_of_another_file, {"drawing of another file": 1}),
    (empty_blocks, {"empty block": 2, "block that is not there": 1}),
    (block_put_nowhere, {"block that is put nowhere": 1}),
    (page, {"thing on a page for printing": 2}),
    (no_length, {"line without length": 2, "circle without length": 1,
                 "polyline without length": 1, "spline without length": 1}),
    (bodies_and_pictures, {"face in space": 1, "filled face": 1, "mesh": 1, "construction line": 2,
                           "multiple line": 1, "picture": 1, "cover": 1, "page of another file": 1,
                           "sign of a font": 1, "helix": 1}),
    (clipped_block, {"clip path that is not followed": 1}),
    (a_kind_that_is_not_known, {"object of another program": 1}),
]  # fmt: skip


@pytest.mark.parametrize(("more", "told"), CASES)
def test_what_is_not_read_is_named_with_its_count(
    tmp_path: Path, more: Callable[[Document], None], told: dict[str, int]
) -> None:
    document = ezdxf.new("R2000", units=4)
    document.modelspace().add_lwpolyline(BAR, close=True)
    more(document)
    found = read(document, tmp_path)
    assert found.outline.bounds_mm == (0, 0, 120, 30)
    assert Counter(thing.what for thing in found.left_out) == told


def test_words_beside_a_block_are_named_where_they_stand(tmp_path: Path) -> None:
    document = ezdxf.new("R2000", units=4)
    document.modelspace().add_lwpolyline(BAR, close=True)
    words_beside_a_block_in_a_block(document)
    found = read(document, tmp_path)
    assert [thing.at_mm for thing in found.left_out] == [(26.0, 16.0), (66.0, 16.0)]
    assert len(found.outline.holes) == 2


@pytest.mark.parametrize("far", [1e12, 1e200, float("nan")])
def test_a_damaged_spline_that_may_be_the_profile_never_gives_way_to_its_hole(
    tmp_path: Path, far: float
) -> None:
    from app.files.errors import FileError

    document = ezdxf.new("R2000", units=4)
    space = document.modelspace()
    spline = space.add_spline(degree=3)
    spline.control_points = [(0, 0, 0), (200, 0, 0), (200, far, 0), (0, 30, 0), (0, 0, 0)]
    spline.knots = [0, 0, 0, 0, 1, 2, 2, 2, 2]
    space.add_lwpolyline([(50, 5), (90, 5), (90, 25), (50, 25)], close=True)
    with pytest.raises(FileError, match="may be the profile"):
        read(document, tmp_path)

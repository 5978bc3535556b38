"""A page's frame round a piece: taken off where it is one for sure, kept and doubted elsewhere."""

from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing as Document
from ezdxf.layouts import Modelspace

from app.files.drawing_units import UnitQuestion
from app.files.dxf_file import read_dxf
from app.files.outline_choice import choice_and_notes
from app.files.strokes import Imported
from app.files.svg_file import read_svg
from geometry.errors import InputError

KNIFE = [(30.0, 40.0), (230.0, 40.0), (230.0, 60.0), (30.0, 70.0)]  # 200 x 30 mm, a butt wider
ROUND = "round the piece was left out as the page's frame"
DOUBT = "it may be the page's frame round the piece"

Draw = Callable[[Modelspace], object]


def box(x: float, y: float, width: float, height: float) -> Draw:
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    return lambda space: space.add_lwpolyline(corners, close=True)


def box_of_lines(x: float, y: float, width: float, height: float) -> Draw:
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]

    def draw(space: Modelspace) -> None:
        for number, corner in enumerate(corners):
            space.add_line(corner, corners[number - 1])

    return draw


def circle(x: float, y: float, diameter: float) -> Draw:
    return lambda space: space.add_circle((x, y), diameter / 2)


def knife(x: float = 0.0, y: float = 0.0, scale: float = 1.0, *, hole: bool = True) -> Draw:
    def draw(space: Modelspace) -> None:
        space.add_lwpolyline([(x + scale * a, y + scale * b) for a, b in KNIFE], close=True)
        if hole:
            space.add_circle((x + scale * 60, y + scale * 52), 3 * scale)

    return draw


def cleaver(x: float, y: float) -> Draw:
    """A piece of 120 x 80 mm, less slender than other knives."""
    points = [(0, 55), (45, 55), (45, 0), (120, 0), (120, 80), (0, 80)]
    return lambda space: space.add_lwpolyline([(x + a, y + b) for a, b in points], close=True)


def slot(x: float, y: float, length: float, width: float) -> Draw:
    """A slot with round ends."""
    half = width / 2
    points = [(x + half, y, 0.0), (x + length - half, y, 1.0),
              (x + length - half, y + width, 0.0), (x + half, y + width, 1.0)]  # fmt: skip
    return lambda space: space.add_lwpolyline(points, format="xyb", close=True)


def letter_o(x: float, y: float, height: float) -> Draw:
    def draw(space: Modelspace) -> None:
        space.add_ellipse((x, y), (0, height / 2), 0.7)
        space.add_ellipse((x, y), (0, height / 3), 0.6)

    return draw


def letter_a(x: float, y: float, height: float) -> Draw:
    """An A, which turned half round is another letter, with its inside."""
    outer = [(0, 0), (0.3, 0), (0.4, 0.3), (0.6, 0.3), (0.7, 0), (1, 0), (0.6, 1), (0.4, 1)]
    inner = [(0.42, 0.45), (0.58, 0.45), (0.5, 0.75)]

    def draw(space: Modelspace) -> None:
        for points in (outer, inner):
            space.add_lwpolyline([(x + height * a, y + height * b) for a, b in points], close=True)

    return draw


def drawing(*parts: Draw, units: int = 4) -> Document:
    document = ezdxf.new("R2000", units=units)
    for part in parts:
        part(document.modelspace())
    return document


def read(document: Document, folder: Path, unit: str | None = None, loop: int = 0) -> Imported:
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf", unit=unit, loop=loop)


def size(imported: Imported) -> tuple[float, float]:
    x0, y0, x1, y1 = imported.outline.bounds_mm
    return x1 - x0, y1 - y0


@pytest.mark.parametrize("draw_frame", [box, box_of_lines])
@pytest.mark.parametrize(
    ("width", "height"),
    [(297, 210), (277, 180), (297, 420), (279.4, 215.9), (277, 190), (260, 150), (700, 500)],
)
def test_a_frame_round_a_piece_with_holes_is_left_out_with_a_note(
    tmp_path: Path, width: float, height: float, draw_frame: Callable[..., Draw]
) -> None:
    """Papers, frames on them with any margin, and a large sheet."""
    imported = read(drawing(draw_frame(0, 0, width, height), knife()), tmp_path)
    assert size(imported) == pytest.approx((200, 30))
    assert [hole.diameter_mm for hole in imported.outline.holes] == [6]
    assert imported.notes == (f"A rectangle of {width:.1f} x {height:.1f} mm {ROUND}.",)
    assert [(other.number, other.width_mm, other.height_mm) for other in imported.others] == [
        (1, pytest.approx(width), pytest.approx(height))
    ]


@pytest.mark.parametrize(
    "beside",
    [
        (box(10, 10, 277, 190),),  # a border within the sheet's edge
        (box(80, 70, 190, 100),),  # a title block larger than the piece
        (box(80, 100, 190, 80), letter_a(90, 110, 10)),  # with a letter in it
        (box(10, 10, 277, 190), box(187, 10, 100, 28)),
        (letter_a(250, 150, 12), letter_a(262, 150, 12)),
        (knife(10, 90, 0.6),),  # a smaller knife
    ],
)
def test_what_lies_in_a_frame_beside_a_piece_with_holes_changes_nothing(
    tmp_path: Path, beside: tuple[Draw, ...]
) -> None:
    imported = read(drawing(box(0, 0, 297, 210), *beside, knife(0, -20)), tmp_path)
    assert size(imported) == pytest.approx((200, 30))
    assert "left out as the page's frame" in imported.notes[0]
    assert len(imported.notes) == 1


def test_the_frames_of_a_page_are_counted(tmp_path: Path) -> None:
    imported = read(drawing(box(0, 0, 297, 210), box(10, 10, 277, 190), knife()), tmp_path)
    assert imported.notes == (
        "2 rectangles round the piece, the largest of 297.0 x 210.0 mm, were left out as the "
        "page's frame.",
    )


def test_the_larger_of_two_knives_in_a_frame_is_taken_though_it_has_no_holes(
    tmp_path: Path,
) -> None:
    parts = knife(0, 50, hole=False), knife(0, 0, 0.8)
    imported = read(drawing(box(0, 0, 297, 210), *parts), tmp_path)
    assert size(imported) == pytest.approx((200, 30))
    assert [left.what for left in imported.left_out if "beside" in left.what] == [
        "closed polyline beside the outline", "closed circle beside the outline",
    ]  # fmt: skip
    assert [other.number for other in imported.others] == [3, 1]


PLATES: list[tuple[tuple[float, float], tuple[Draw, ...]]] = [
    ((250, 40), (circle(20, 20, 6), circle(20, 20, 10), circle(60, 20, 6), circle(60, 20, 10))),
    ((250, 40), (letter_o(200, 20, 12), circle(30, 20, 6))),
    ((250, 40), (letter_a(200, 12, 12),)),
    ((200, 140), (letter_a(150, 12, 40),)),
    ((200, 140), (letter_o(100, 70, 100),)),
    ((200, 25), (box(90, 5, 60, 15), circle(100, 12, 4))),
    ((200, 25), (slot(90, 5, 60, 15), circle(100, 12, 4))),
    ((200, 140), (slot(20, 40, 160, 50), circle(100, 60, 4))),
    ((200, 50), (box(20, 10, 120, 30), box(22, 12, 116, 26), circle(180, 25, 6))),
    ((280, 200), (knife(), circle(10, 10, 6), circle(270, 190, 6))),  # engraved on a plate
    ((280, 200), tuple(knife(1.5 * i, 0.5 * i, 1 - 0.01 * i, hole=False) for i in range(5))),
    ((250, 100), (knife(),)),  # no page is so long
    ((280, 200), (knife(hole=False),)),  # a tray with room for a knife
    ((250, 40), tuple(box(2 * i, 2 * i, 250 - 4 * i, 40 - 4 * i) for i in range(1, 9))),
    ((280, 200), tuple(box(2 * i, 2 * i, 280 - 4 * i, 200 - 4 * i) for i in range(1, 40))),
    ((280, 200), (*(box(2 * i, 2 * i, 280 - 4 * i, 200 - 4 * i) for i in range(1, 13)), knife())),
    ((200, 140), (knife(100, 60, 0.15),)),  # a mark 30 mm long, with an eye
    ((297, 210), (box(10, 10, 277, 190), knife(hole=False))),
    ((277, 190), (box(80, 70, 190, 100), knife(0, -20, hole=False))),
]  # fmt: skip


@pytest.mark.parametrize(("sides", "parts"), PLATES)
def test_what_may_be_a_plate_is_never_taken_for_a_frame(
    tmp_path: Path, sides: tuple[float, float], parts: tuple[Draw, ...]
) -> None:
    imported = read(drawing(box(0, 0, *sides), *parts), tmp_path)
    assert size(imported) == pytest.approx(sides)
    assert len(imported.notes) <= 1
    assert bool(imported.notes) == bool(imported.others)


@pytest.mark.parametrize(
    ("sides", "parts", "other"),
    [
        ((297, 210), (knife(hole=False),), (200, 30)),
        ((277, 190), (knife(hole=False),), (200, 30)),  # 10 mm within a sheet
        ((250, 100), (knife(),), (200, 30)),
        ((297, 210), (box(10, 10, 277, 190), knife(hole=False)), (200, 30)),
        ((277, 190), (box(80, 70, 190, 100), knife(0, -20, hole=False)), (200, 30)),
        ((280, 200), (knife(), circle(10, 10, 6)), (200, 30)),
        ((200, 25), (box(90, 5, 60, 15), circle(100, 12, 4)), (60, 15)),
        ((297, 210), (box(8, 8, 160, 120), box(175, 8, 110, 190), cleaver(20, 20)), (120, 80)),
        ((280, 200), (cleaver(100, 60),), (120, 80)),
        ((280, 200), (*(box(2 * i, 2 * i, 280 - 4 * i, 200 - 4 * i) for i in range(1, 13)),
                      knife()), (200, 30)),
        ((300, 100), (box(20, 20, 220, 28), circle(40, 34, 6)), (220, 28)),  # a bar as a knife
    ],
)  # fmt: skip
def test_what_may_be_a_frame_is_doubted_and_the_piece_in_it_offered(
    tmp_path: Path,
    sides: tuple[float, float],
    parts: tuple[Draw, ...],
    other: tuple[float, float],
) -> None:
    document = drawing(box(0, 0, *sides), *parts)
    imported = read(document, tmp_path)
    assert size(imported) == pytest.approx(sides)
    assert imported.notes == (
        f"The outline is a rectangle of {sides[0]:.1f} x {sides[1]:.1f} mm; {DOUBT}.",
    )
    offered = imported.others[0]
    assert (offered.width_mm, offered.height_mm) == pytest.approx(other)
    chosen = read(document, tmp_path, loop=offered.number)
    assert size(chosen) == pytest.approx(other)
    assert not chosen.notes
    assert not chosen.others


@pytest.mark.parametrize(
    "parts",
    [
        (box(0, 0, 250, 40), circle(20, 20, 6)),  # a plate with a hole
        (box(0, 0, 120, 100), circle(60, 50, 60), circle(60, 50, 20)),
        (box(0, 0, 120, 100), box(30, 20, 60, 50)),  # with a window no knife is as wide as
        (knife(),),
    ],
)  # fmt: skip
def test_nothing_is_said_of_what_is_no_frame(tmp_path: Path, parts: tuple[Draw, ...]) -> None:
    imported = read(drawing(*parts), tmp_path)
    assert not imported.notes
    assert not imported.others


def test_what_lies_outside_of_a_rectangle_makes_it_no_frame_for_sure(tmp_path: Path) -> None:
    imported = read(drawing(box(0, 0, 297, 210), knife(), knife(300, 0)), tmp_path)
    assert size(imported) == pytest.approx((297, 210))
    assert DOUBT in imported.notes[0]


def test_a_loop_is_taken_by_its_number(tmp_path: Path) -> None:
    document = drawing(box(0, 0, 297, 210), knife())
    sizes = [size(read(document, tmp_path, "mm", number)) for number in (1, 2, 3)]
    assert sizes == [pytest.approx(pair, abs=0.01) for pair in ((297, 210), (200, 30), (6, 6))]
    with pytest.raises(InputError, match="no closed line number 4") as caught:
        read(document, tmp_path, loop=4)
    assert "to 3 for the smallest" in str(caught.value)


def test_a_loop_of_what_is_one_outline_is_refused(tmp_path: Path) -> None:
    for text in ("neck_knife", str(tmp_path / "mine.json")):
        with pytest.raises(InputError, match="one outline already") as caught:
            choice_and_notes(text, loop=2)
        assert caught.value.where == "--loop"


@pytest.mark.parametrize(("told", "mm"), [("mm", 1.0), ("in", 25.4), ("cm", 10.0), ("m", 1000.0)])
@pytest.mark.parametrize("side", [1e-3, 0.0393700787, 1.0, 40.0])
def test_the_sizes_that_are_asked_about_are_those_that_each_answer_gives(
    tmp_path: Path, told: str, mm: float, side: float
) -> None:
    """A page and a knife in it, drawn as small as metres make them and larger than in mm."""

    def scaled(document: Document) -> Document:
        for entity in document.modelspace():
            entity.scale_uniform(side)
        return document

    document = scaled(drawing(box(0, 0, 297, 210), knife(), units=0))
    with pytest.raises(UnitQuestion) as asked:
        read(document, tmp_path)
    assert asked.value.sizes[told] == pytest.approx((200 * side * mm, 30 * side * mm), rel=1e-6)
    if 20 < 200 * side * mm < 10_000:  # else it is no knife, or refused
        answered = read(document, tmp_path, unit=told)
        assert size(answered) == pytest.approx(asked.value.sizes[told], rel=1e-6)


@pytest.mark.parametrize("unit", ["px", "px90", "pt", "mm"])
def test_the_sizes_of_an_svg_are_those_that_each_answer_gives(tmp_path: Path, unit: str) -> None:
    body = (
        '<rect x="20" y="20" width="600" height="400"/>'
        '<path d="M60 200 L560 200 L500 260 L60 265 Z"/><circle cx="100" cy="230" r="10"/>'
    )
    path = tmp_path / "part.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 700 500">'
        f'<g fill="none" stroke="black">{body}</g></svg>'
    )
    with pytest.raises(UnitQuestion) as asked:
        read_svg(path)
    answered = read_svg(path, unit=unit)
    assert size(answered) == pytest.approx(asked.value.sizes[unit], rel=1e-6)
    assert ROUND in answered.notes[0]


def test_a_thousand_rectangles_within_each_other_are_one_note(tmp_path: Path) -> None:
    parts = [box(1.8 * i, 1.8 * i, 9_000 - 3.6 * i, 4_000 - 3.6 * i) for i in range(1000)]
    imported = read(drawing(*parts), tmp_path, unit="mm")
    assert size(imported) == pytest.approx((9_000, 4_000))
    assert len([note for note in imported.notes if DOUBT in note]) == 1


def test_lines_close_to_each_other_are_one_note_of_each_kind(tmp_path: Path) -> None:
    """0.2 mm apart: five of them lie within 1 mm of the edge, ten within 2."""
    close = [box(0.2 * i, 0.2 * i, 300 - 0.4 * i, 200 - 0.4 * i) for i in range(400)]
    notes = read(drawing(*close), tmp_path).notes
    assert notes[0] == "The edge is drawn as 6 lines up to 1.00 mm apart; the outer one counts."
    assert "a frame of 1.20 mm at most" in notes[1]
    assert len(notes) == 2

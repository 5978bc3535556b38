"""Frames that are no level rectangle, and stock that the piece touches: kept, and doubted."""

import math
from pathlib import Path

import numpy as np
import pytest
from ezdxf.layouts import Modelspace
from shapely import Polygon

from app.files.strokes import Imported
from geometry.family import Family, built_in_families
from geometry.plane import Point
from tests.app.test_doubled_edge import largest, ring_of
from tests.app.test_page_frames import Draw, box, circle, drawing, knife, letter_a, read, size, slot

DOUBT = "it may be a frame round the piece"
PIECE = (200.0, 30.0)


def ring(points: list[Point]) -> Draw:
    return lambda space: space.add_lwpolyline(points, close=True)


def turned(degrees: float) -> Draw:
    """A frame of 277 x 190 mm that was scanned askew."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    corners = [(-138.5, -95), (138.5, -95), (138.5, 95), (-138.5, 95)]
    return ring([(130 + cos * x - sin * y, 55 + sin * x + cos * y) for x, y in corners])


def rounded(x: float, y: float, width: float, height: float, radius: float) -> Draw:
    bulge = math.tan(math.pi / 8)  # of a quarter circle
    right, top = x + width, y + height
    points = [
        (x + radius, y, 0.0), (right - radius, y, bulge), (right, y + radius, 0.0),
        (right, top - radius, bulge), (right - radius, top, 0.0), (x + radius, top, bulge),
        (x, top - radius, 0.0), (x, y + radius, bulge),
    ]  # fmt: skip
    return lambda space: space.add_lwpolyline(points, format="xyb", close=True)


def wobbling(most: float) -> Draw:
    """A frame drawn by hand: four sides that stray from straight."""
    rng = np.random.default_rng(5)
    corners = np.array([(-10, -40), (270, -40), (270, 150), (-10, 150)], dtype=float)
    shares = np.linspace(0, 1, 20, endpoint=False)[:, None]
    sides = [a + shares * (b - a) for a, b in zip(corners, np.roll(corners, -1, 0), strict=True)]
    places = np.vstack(sides) + rng.uniform(-most, most, (80, 2))
    return ring([(x, y) for x, y in places.tolist()])


def oval(space: Modelspace) -> None:
    space.add_ellipse((130, 55), (150, 0), 0.7)


FRAMES: dict[str, Draw] = {
    "round corners": rounded(0, 0, 277, 190, 3),
    "chamfered": ring([(5, 0), (272, 0), (277, 5), (277, 185), (272, 190), (5, 190), (0, 185),
                       (0, 5)]),
    "one corner nicked": ring([(0, 0), (277, 0), (277, 187), (274, 190), (0, 190)]),
    **{f"askew by {angle}": turned(angle) for angle in (0.05, 0.2, 3.0, 30.0)},
    "no right angles": ring([(0, 0), (297, 0), (280, 210), (0, 210)]),
    "by hand": wobbling(0.3),
    "by an unsteady hand": wobbling(2.0),
    "oval": oval,
    "guide circle": circle(130, 55, 290),
}  # fmt: skip


def offered(imported: Imported) -> list[tuple[float, float]]:
    return [(other.width_mm, other.height_mm) for other in imported.others]


@pytest.mark.parametrize("name", FRAMES)
@pytest.mark.parametrize("hole", [True, False])
def test_a_frame_of_any_shape_is_doubted_and_the_piece_in_it_offered(
    tmp_path: Path, name: str, hole: bool
) -> None:
    document = drawing(FRAMES[name], knife(hole=hole))
    imported = read(document, tmp_path)
    assert size(imported)[0] > 270  # kept, so that nothing is lost without a question
    (note,) = imported.notes
    assert DOUBT in note
    assert f"{size(imported)[0]:.1f} x {size(imported)[1]:.1f} mm" in note
    assert offered(imported) == [pytest.approx(PIECE)]
    chosen = read(document, tmp_path, loop=imported.others[0].number)
    assert size(chosen) == pytest.approx(PIECE)
    assert len(chosen.outline.holes) == hole
    assert not chosen.notes


def test_frames_in_each_other_are_doubted_once(tmp_path: Path) -> None:
    parts = rounded(0, 0, 297, 210, 4), rounded(10, 10, 277, 190, 4), knife(0, 20)
    imported = read(drawing(*parts), tmp_path)
    assert [DOUBT in note for note in imported.notes] == [True]
    assert offered(imported) == [pytest.approx(PIECE)]


@pytest.mark.parametrize(
    ("stock", "said"),
    [
        (box(30, 40, 200, 30), "a rectangle of 200.0 x 30.0 mm"),  # the box of the knife
        (box(28, 38, 202, 34), "a rectangle of 202.0 x 34.0 mm"),  # which its tip touches
        (rounded(20, 20, 210, 100, 3), "the largest closed line, 210.0 x 100.0 mm"),
    ],
)
def test_stock_that_the_piece_touches_is_doubted(tmp_path: Path, stock: Draw, said: str) -> None:
    document = drawing(stock, knife())
    imported = read(document, tmp_path)
    assert said in imported.notes[0]
    assert offered(imported) == [pytest.approx(PIECE)]
    assert size(read(document, tmp_path, loop=2)) == pytest.approx(PIECE)


@pytest.mark.parametrize("stock", [box(30, 35, 197, 32), rounded(25, 35, 202, 32, 3)])
def test_stock_that_a_piece_with_holes_reaches_out_of_is_doubted(
    tmp_path: Path, stock: Draw
) -> None:
    """Its tip by 3 mm, the corner of its butt by 3: the rest of its outline lies within."""
    document = drawing(stock, knife())
    imported = read(document, tmp_path)
    assert "frame round the piece" in imported.notes[0]
    assert offered(imported) == [pytest.approx(PIECE)]


@pytest.mark.parametrize("frame", [box(0, 0, 841, 594), rounded(0, 0, 841, 594, 5)])
@pytest.mark.parametrize("beside", [(), (knife(300, 300, 0.4, hole=False),)])
def test_a_short_knife_on_a_large_sheet_is_found_by_its_two_holes(
    tmp_path: Path, frame: Draw, beside: tuple[Draw, ...]
) -> None:
    """A knife of 100 mm is an eighth of the sheet; without holes it may be a mark."""
    holes = circle(130, 87, 3), circle(140, 87, 4)
    parts = knife(100, 60, 0.5, hole=False), *holes
    imported = read(drawing(frame, *parts, *beside), tmp_path)
    assert "frame round the piece" in imported.notes[0]
    assert offered(imported) == [pytest.approx((100, 15))]


def test_a_bar_with_a_slanted_end_in_a_frame_is_doubted(tmp_path: Path) -> None:
    """Turned half round it is nearly itself, as a slot is; but it has a hole."""
    bar = ring([(40, 40), (230, 40), (240, 60), (40, 60)])
    frame = rounded(0, 0, 280, 190, 5)
    imported = read(drawing(frame, bar, circle(55, 50, 6)), tmp_path)
    assert DOUBT in imported.notes[0]
    assert offered(imported) == [pytest.approx((200, 20))]
    assert not read(drawing(frame, bar), tmp_path).others


def test_what_is_written_on_a_knife_is_no_piece(tmp_path: Path) -> None:
    """A long window in its handle, a letter, a line along its edge that touches it, a hole."""
    window = ring([(40, 46), (100, 47), (90, 62), (40, 64)])
    bevel = ring([(120, 40), (230, 40), (230, 48), (130, 46)])
    parts = knife(hole=False), window, bevel, letter_a(150, 50, 8), circle(35, 54, 3)
    imported = read(drawing(*parts), tmp_path)
    assert size(imported) == pytest.approx(PIECE)
    assert not imported.others


def test_steel_with_holes_in_an_opening_of_a_knife_is_doubted(tmp_path: Path) -> None:
    """A handle's scale with its pins drawn on the knife: no opening can hold them."""
    scale = ring([(40, 44), (120, 44), (110, 62), (40, 64)])
    imported = read(drawing(knife(hole=False), scale, circle(60, 52, 5)), tmp_path)
    assert size(imported) == pytest.approx(PIECE)
    assert DOUBT in imported.notes[0]
    assert offered(imported) == [pytest.approx((80, 20))]


PLATES: dict[str, tuple[Draw, ...]] = {
    "drilled": (rounded(0, 0, 250, 100, 5), *(circle(20 * i, 50, 6) for i in range(1, 12))),
    "countersunk": (rounded(0, 0, 250, 40, 5), circle(60, 20, 6), circle(60, 20, 10)),
    "slotted": (rounded(0, 0, 250, 60, 5), slot(40, 20, 120, 12), slot(40, 40, 120, 8)),
    "a window": (rounded(0, 0, 250, 60, 5), box(40, 10, 150, 40)),
    "a round one with a window": (circle(100, 100, 200), box(50, 60, 100, 80)),
    "lettered": (rounded(0, 0, 200, 140, 5), letter_a(150, 12, 40), letter_a(20, 12, 30)),
    "a small mark": (rounded(0, 0, 200, 140, 5), knife(100, 60, 0.15)),
    "drawn with a pen": (rounded(0, 0, 250, 60, 5), rounded(0.5, 0.5, 249, 59, 4.5),
                         circle(40, 30, 6)),
    "a bar drawn with a pen": (box(0, 0, 250, 40), box(0.5, 0.5, 249, 39), circle(40, 20, 6)),
    "a wide window": (rounded(0, 0, 250, 60, 5), ring([(8, 8), (240, 8), (200, 52), (8, 52)])),
}  # fmt: skip


@pytest.mark.parametrize("name", PLATES)
def test_a_plate_with_openings_is_not_doubted(tmp_path: Path, name: str) -> None:
    imported = read(drawing(*PLATES[name]), tmp_path)
    assert not imported.others
    assert not any("frame" in note for note in imported.notes)


FAMILIES = built_in_families()


@pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])
@pytest.mark.parametrize("is_drawn_twice", [True, False])
def test_a_family_s_shape_is_not_doubted_and_one_in_a_frame_is(
    tmp_path: Path, family: Family, is_drawn_twice: bool
) -> None:
    """Drawn with a pen of 0.8 mm as two lines too."""
    outline = family.outline()
    edge = Polygon(outline.ring())
    x0, y0, x1, y1 = outline.bounds_mm
    holes = [circle(hole.x_mm, hole.y_mm, hole.diameter_mm) for hole in outline.holes]
    sides = [edge, largest(edge.buffer(-0.8))] if is_drawn_twice else [edge]
    lines = [*(ring(ring_of(side)) for side in sides), *holes]
    imported = read(drawing(*lines), tmp_path)
    assert not imported.others
    middle, reach = ((x0 + x1) / 2, (y0 + y1) / 2), 1.1 * math.hypot(x1 - x0, y1 - y0)
    framed = read(drawing(circle(*middle, reach), *lines), tmp_path)
    assert DOUBT in framed.notes[0]
    assert offered(framed)[0] == pytest.approx((x1 - x0, y1 - y0), abs=0.02)

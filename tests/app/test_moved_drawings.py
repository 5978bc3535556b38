"""Outlines that this program wrote and another one moved, turned or stretched since."""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from ezdxf.math import Matrix44
from shapely import Polygon

from app.exports.outline_dxf import write_outline_dxf
from app.exports.outline_svg import write_outline_svg
from app.files.dxf_file import read_dxf
from app.files.strokes import Imported
from app.files.svg_file import read_svg
from app.files.told_places import off_the_edge
from geometry.curves import Arc, Cubic, Line
from geometry.features import Hole, Mark, Station
from geometry.outline import Outline

KNIFE = Outline(
    name="trial",
    chain=(
        Line(start=(-80.0, 0.0), end=(0.0, 0.0)),
        Cubic(start=(0.0, 0.0), control1=(40.0, -4.0), control2=(80.0, 0.0), end=(100.0, 24.0)),
        Line(start=(100.0, 24.0), end=(-80.0, 24.0)),
        Arc(start=(-80.0, 24.0), end=(-80.0, 0.0), sweep_rad=math.pi),
    ),
    holes=tuple(Hole(x_mm=x, y_mm=12.0, diameter_mm=6.0) for x in (-20.0, -60.0)),
    marks=(Mark(kind="plunge line", points_mm=((0.0, 0.0), (2.0, 24.0))),),
    stations=(
        Station(name="tip", x_mm=100.0, y_mm=24.0),
        Station(name="heel", x_mm=0.0, y_mm=0.0),
        Station(name="butt", x_mm=-92.0, y_mm=12.0),
    ),
)
# how it is moved in the drawing's frame: x, y -> a x + c y + e, b x + d y + f
MOVES = {
    "aside": (1, 0, 0, 1, 300, 40),
    "a little": (1, 0, 0, 1, 0, 0.2),
    "a quarter turn": (0, 1, -1, 0, 0, 0),
    "half a turn": (-1, 0, 0, -1, 0, 0),
    "mirrored": (1, 0, 0, -1, 0, 0),
    "larger": (1.1, 0, 0, 1.1, 0, 0),
}


def moved_dxf(folder: Path, move: tuple[float, ...]) -> Imported:
    write_outline_dxf(KNIFE, folder / "part.dxf")
    document = ezdxf.readfile(folder / "part.dxf")
    a, b, c, d, e, f = move
    for entity in document.modelspace():
        entity.transform(Matrix44([a, b, 0, 0, c, d, 0, 0, 0, 0, 1, 0, e, f, 0, 1]))  # type: ignore[attr-defined]
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf")


def moved_svg(folder: Path, move: tuple[float, ...]) -> Imported:
    """Y runs down there, so that what turns or moves up does the other way round."""
    write_outline_svg(KNIFE, folder / "part.svg")
    text = (folder / "part.svg").read_text("utf-8")
    a, b, c, d, e, f = move
    matrix = f'transform="matrix({a} {-b} {-c} {d} {e} {-f})" '
    (folder / "part.svg").write_text(text.replace("<g ", f"<g {matrix}"), "utf-8")
    return read_svg(folder / "part.svg")


@pytest.mark.parametrize("way", [moved_dxf, moved_svg])
def test_what_lies_where_it_was_written_is_in_its_frame(
    tmp_path: Path, way: Callable[..., Imported]
) -> None:
    found = way(tmp_path, (1, 0, 0, 1, 0, 0))
    assert {station.name for station in found.outline.stations} == {"tip", "heel", "butt"}
    assert found.outline.bounds_mm == pytest.approx(KNIFE.bounds_mm, abs=0.01)
    assert not found.notes
    assert not found.left_out


@pytest.mark.parametrize("way", [moved_dxf, moved_svg])
@pytest.mark.parametrize("move", MOVES)
def test_what_was_moved_since_is_read_as_any_other_drawing(
    tmp_path: Path, way: Callable[..., Imported], move: str
) -> None:
    """Its lower left corner at the origin, its lines beside their steel, no tip nor butt."""
    found = way(tmp_path, MOVES[move])
    outline, (a, b, c, d, _, _) = found.outline, MOVES[move]
    assert not outline.stations
    assert outline.bounds_mm[:2] == pytest.approx((0, 0), abs=0.01)
    assert outline.area_mm2 == pytest.approx(KNIFE.area_mm2 * abs(a * d - b * c), rel=1e-6)
    assert re.search("moved, turned or stretched", " ".join(found.notes))
    (front, *_), places = outline.holes, outline.marks[0].points_mm
    # from the front hole to the plunge line's foot it is (20, -12) in the outline frame
    expected = (front.x_mm + 20 * a - 12 * c, front.y_mm + 20 * b - 12 * d)
    assert places[0] == pytest.approx(expected, abs=1e-3)


def test_an_edge_that_was_edited_in_its_place_stays_in_its_frame(tmp_path: Path) -> None:
    """A hole is moved and a corner of the back cut; the rest lies where it lay."""
    write_outline_dxf(KNIFE, tmp_path / "part.dxf")
    document = ezdxf.readfile(tmp_path / "part.dxf")
    document.modelspace().query("CIRCLE")[0].translate(0, 2, 0)  # type: ignore[attr-defined]
    document.saveas(tmp_path / "part.dxf")
    found = read_dxf(tmp_path / "part.dxf")
    assert len(found.outline.stations) == 3
    assert sorted(hole.y_mm for hole in found.outline.holes) == pytest.approx([12, 14])


MANY_HOLES = replace(
    KNIFE, holes=tuple(Hole(x_mm=-15 - 9 * i, y_mm=12, diameter_mm=5) for i in range(6))
)
EDGE_MOVED = (3.0, -2.0)  # mm, and the rest left where it was


def edge_moved_dxf(folder: Path, outline: Outline, *, tells: bool = True) -> Imported:
    """The edge moved by itself; one of an older file does not tell where it lay."""
    write_outline_dxf(outline, folder / "part.dxf")
    document = ezdxf.readfile(folder / "part.dxf")
    for entity in document.modelspace().query('*[layer=="PROFILE"]'):
        entity.translate(*EDGE_MOVED, 0)  # type: ignore[attr-defined]
    for entity in () if tells else document.modelspace().query("CIRCLE LWPOLYLINE SPLINE"):
        tags = entity.get_xdata("BLANKWRIGHT")
        entity.set_xdata("BLANKWRIGHT", [tag for tag in tags if tag.code == 1000][:2])
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf")


def edge_moved_svg(folder: Path, outline: Outline, *, tells: bool = True) -> Imported:
    write_outline_svg(outline, folder / "part.svg")
    text = (folder / "part.svg").read_text("utf-8")
    move = f'transform="translate({EDGE_MOVED[0]} {-EDGE_MOVED[1]})"'
    text = re.sub('(<g [^>]*id="PROFILE")', rf"\1 {move}", text)
    assert move in text
    text = text if tells else re.sub(' data-at="[^"]*"', "", text)
    (folder / "part.svg").write_text(text, "utf-8")
    return read_svg(folder / "part.svg")


@pytest.mark.parametrize("way", [edge_moved_dxf, edge_moved_svg])
@pytest.mark.parametrize("outline", [KNIFE, MANY_HOLES], ids=["two holes", "six holes"])
def test_an_edge_that_was_moved_by_itself_is_known_however_many_holes_stay(
    tmp_path: Path, way: Callable[..., Imported], outline: Outline
) -> None:
    found = way(tmp_path, outline)
    assert not found.outline.stations
    assert found.outline.bounds_mm[:2] == pytest.approx((0, 0), abs=0.01)
    assert re.search("moved, turned or stretched", " ".join(found.notes))


@pytest.mark.parametrize("way", [edge_moved_dxf, edge_moved_svg])
def test_a_tip_that_lies_off_the_edge_is_told(tmp_path: Path, way: Callable[..., Imported]) -> None:
    """An older file is believed; its edge lies by (3, -2) mm beside its stations.

    The heel is 2 mm over the edge's level line, and the butt 3 mm aside of a half circle's side;
    the tip lies over the edge's back, which is level and 2 mm lower.
    """
    found = way(tmp_path, MANY_HOLES, tells=False)
    assert len(found.outline.stations) == 3
    (note,) = found.notes
    assert note.startswith("The drawing's tip, heel and butt lie up to ")
    far = re.search("([0-9.]+) mm off its edge", note)
    assert far
    assert 2.0 <= float(far[1]) <= math.hypot(*EDGE_MOVED)


def test_one_place_off_the_edge_is_named_and_a_handle_s_front_may_lie_in_the_steel() -> None:
    bar = Polygon([(0, 0), (100, 0), (100, 20), (0, 20)])
    places = {"tip": (103.0, 24.0), "heel": (50.0, 0.2), "handle front": (40.0, 10.0)}
    stations = [Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in places.items()]
    (note,) = off_the_edge(stations, bar)
    assert "tip lies 5.00 mm off" in note  # 3, 4, 5
    assert off_the_edge(stations[1:], bar) == ()


@pytest.mark.parametrize("word", ["at", "data-at"])
def test_an_older_file_that_tells_no_places_is_believed(tmp_path: Path, word: str) -> None:
    if word == "at":
        write_outline_dxf(KNIFE, tmp_path / "part.dxf")
        document = ezdxf.readfile(tmp_path / "part.dxf")
        for entity in document.modelspace().query("CIRCLE LWPOLYLINE SPLINE"):
            tags = entity.get_xdata("BLANKWRIGHT")
            entity.set_xdata("BLANKWRIGHT", [tag for tag in tags if tag.code == 1000][:2])
        document.saveas(tmp_path / "part.dxf")
        found = read_dxf(tmp_path / "part.dxf")
    else:
        write_outline_svg(KNIFE, tmp_path / "part.svg")
        text = (tmp_path / "part.svg").read_text("utf-8")
        (tmp_path / "part.svg").write_text(re.sub(' data-at="[^"]*"', "", text), "utf-8")
        found = read_svg(tmp_path / "part.svg")
    assert len(found.outline.stations) == 3
    assert found.outline.bounds_mm == pytest.approx(KNIFE.bounds_mm, abs=0.01)

"""Windows that take most of a plate are openings; the two sides of a drawn line are one edge."""

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from shapely import Polygon

from app.files.doubled_edge import MARKER_MM, PEN_MM, apart_mm
from app.files.dxf_file import read_dxf
from app.files.strokes import Imported
from geometry.plane import Point


def read(folder: Path, *rings: list[Point], loose: bool = False) -> Imported:
    document = ezdxf.new("R2000", units=4)
    for ring in rings:
        if loose:
            for start, end in zip(ring, [*ring[1:], ring[0]], strict=True):
                document.modelspace().add_line(start, end)
        else:
            document.modelspace().add_lwpolyline(ring, close=True)
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf")


def plate(rng: np.random.Generator) -> list[Point]:
    """A plate of 60 to 250 mm with 4 to 12 corners, pointed ones among them."""
    count = int(rng.integers(4, 13))
    turns = (np.arange(count) + rng.uniform(0.2, 0.8, count)) * (2 * math.pi / count)
    long, wide = rng.uniform(60, 250) / 2, rng.uniform(40, 90) / 2
    return [(long * math.cos(turn), wide * math.sin(turn)) for turn in turns]


def ring_of(shape: shapely.Geometry) -> list[Point]:
    assert isinstance(shape, Polygon)
    return [(x, y) for x, y in shapely.get_coordinates(shape.exterior)[:-1].tolist()]


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("loose", [False, True])
def test_a_window_is_kept_however_large(tmp_path: Path, seed: int, loose: bool) -> None:
    """The frame left is 2.1 to 6 mm wide: up to 95 % of the plate are open."""
    rng = np.random.default_rng(seed)
    edge = plate(rng)
    web = rng.uniform(2.1, 6.0)
    window = Polygon(edge).buffer(-web, join_style="mitre")
    found = read(tmp_path, edge, ring_of(window), loose=loose)
    assert found.outline.area_mm2 == pytest.approx(Polygon(edge).area - window.area, rel=1e-3)
    assert not found.notes
    assert not found.left_out


@pytest.mark.parametrize("seed", range(30))
@pytest.mark.parametrize("loose", [False, True])
def test_the_two_sides_of_a_pen_s_line_are_one_edge(tmp_path: Path, seed: int, loose: bool) -> None:
    """Lines 0.1 to 0.7 mm wide, pens of ISO 128, with round corners as a round pen draws them.

    The inner side of a corner of 90 degrees lies the root of two farther off: 0.99 mm.
    """
    rng = np.random.default_rng(seed)
    edge = Polygon(plate(rng)).buffer(-3).buffer(3)
    pen = rng.uniform(0.1, 0.7)
    inner = edge.buffer(-pen)
    found = read(tmp_path, ring_of(edge), ring_of(inner), loose=loose)
    assert found.outline.area_mm2 == pytest.approx(edge.area, rel=1e-3)
    assert [line.partition(":")[0].partition(" x ")[2] for line in found.told()] == [
        f"{'line' if loose else 'polyline'} drawn twice"
    ]
    assert any("drawn as two lines up to" in note for note in found.notes)


def test_openings_within_a_doubled_edge_stay(tmp_path: Path) -> None:
    """120 x 30 again 0.5 mm inside: its corners are 0.71 mm off; a window of 80 x 10 within."""
    bar: list[Point] = [(0, 0), (120, 0), (120, 30), (0, 30)]
    again: list[Point] = [(0.5, 0.5), (119.5, 0.5), (119.5, 29.5), (0.5, 29.5)]
    window: list[Point] = [(20, 10), (100, 10), (100, 20), (20, 20)]
    found = read(tmp_path, bar, again, window)
    assert found.outline.area_mm2 == pytest.approx(3600 - 800)
    assert [thing.what for thing in found.left_out] == ["polyline drawn twice"]
    told = "The edge is drawn as two lines up to 0.71 mm apart; the outer one counts."
    assert told in found.notes


def test_a_frame_as_narrow_as_a_marker_s_line_is_kept_and_doubted(tmp_path: Path) -> None:
    bar: list[Point] = [(0, 0), (120, 0), (120, 30), (0, 30)]
    window: list[Point] = [(1, 1), (119, 1), (119, 29), (1, 29)]
    found = read(tmp_path, bar, window)
    assert found.outline.area_mm2 == pytest.approx(3600 - 118 * 28)
    assert any("frame of at most 1.41 mm" in note for note in found.notes)  # the root of 2


def test_lines_are_apart_where_they_are_farthest_from_each_other() -> None:
    """A window near three sides and far from the fourth; and a bay that only one line has."""
    bar = Polygon([(0, 0), (120, 0), (120, 30), (0, 30)])
    assert apart_mm(bar, Polygon([(0.3, 0.3), (90, 0.3), (90, 29.7), (0.3, 29.7)])) > 30
    bay = Polygon([(0.4, 0.4), (119.6, 0.4), (119.6, 29.6), (70, 29.6), (60, 20), (50, 29.6),
                   (0.4, 29.6)])  # fmt: skip
    assert apart_mm(bar, bay) == pytest.approx(10.0, abs=0.01)
    assert PEN_MM < MARKER_MM

"""Windows that take most of a plate are openings; the two sides of a drawn line are one edge."""

import math
import re
from pathlib import Path
from typing import Literal

import ezdxf
import numpy as np
import pytest
import shapely
from shapely import Polygon

from app.files.doubled_edge import MARKER_MM, PEN_MM, apart_mm
from app.files.dxf_file import read_dxf
from app.files.strokes import Imported
from geometry.family import Family, built_in_families
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
    """Lines 0.1 to 1.0 mm wide, pens of ISO 128, with round corners as a round pen draws them."""
    rng = np.random.default_rng(seed)
    edge = Polygon(plate(rng)).buffer(-3).buffer(3)
    pen = rng.uniform(0.1, 1.0)
    inner = edge.buffer(-pen)
    found = read(tmp_path, ring_of(edge), ring_of(inner), loose=loose)
    assert found.outline.area_mm2 == pytest.approx(edge.area, rel=1e-3)
    twice = {f"{'line' if loose else 'polyline'} drawn twice"}
    assert {thing.what for thing in found.left_out} == twice
    assert any("drawn as two lines up to" in note for note in found.notes)


def test_openings_within_a_doubled_edge_stay(tmp_path: Path) -> None:
    """120 x 30 again 0.5 mm inside, a window of 80 x 10 within."""
    bar: list[Point] = [(0, 0), (120, 0), (120, 30), (0, 30)]
    again: list[Point] = [(0.5, 0.5), (119.5, 0.5), (119.5, 29.5), (0.5, 29.5)]
    window: list[Point] = [(20, 10), (100, 10), (100, 20), (20, 20)]
    found = read(tmp_path, bar, again, window)
    assert found.outline.area_mm2 == pytest.approx(3600 - 800)
    assert [thing.what for thing in found.left_out] == ["polyline drawn twice"]
    told = "The edge is drawn as two lines up to 0.50 mm apart; the outer one counts."
    assert told in found.notes


@pytest.mark.parametrize("rim", [1.2, 1.5, 1.9])
def test_a_frame_as_narrow_as_a_marker_s_line_is_kept_and_doubted(
    tmp_path: Path, rim: float
) -> None:
    bar: list[Point] = [(0, 0), (120, 0), (120, 30), (0, 30)]
    window: list[Point] = [(rim, rim), (120 - rim, rim), (120 - rim, 30 - rim), (rim, 30 - rim)]
    found = read(tmp_path, bar, window)
    assert found.outline.area_mm2 == pytest.approx(3600 - (120 - 2 * rim) * (30 - 2 * rim))
    assert any(f"a frame of {rim:.2f} mm at most" in note for note in found.notes)


def test_lines_are_apart_where_they_are_farthest_from_each_other() -> None:
    """A window near three sides, 15 mm off halfway up the fourth; a bay that only one line has."""
    bar = Polygon([(0, 0), (120, 0), (120, 30), (0, 30)])
    short = Polygon([(0.3, 0.3), (90, 0.3), (90, 29.7), (0.3, 29.7)])
    assert apart_mm(bar, short) == pytest.approx(15.0, abs=0.25)
    bay = Polygon([(0.4, 0.4), (119.6, 0.4), (119.6, 29.6), (70, 29.6), (60, 20), (50, 29.6),
                   (0.4, 29.6)])  # fmt: skip
    assert apart_mm(bar, bay) == pytest.approx(10.0, abs=0.01)
    assert PEN_MM < MARKER_MM


def test_a_corner_that_points_inward_has_its_mitre() -> None:
    """At the foot of a V of 60 degrees the inner side of a pen's line is 1 / sin 30 = 2 pens off.

    As deep a bay that is no mitre, and one where the edge is straight, are farther off.
    """
    notched = Polygon([(0, 0), (120, 0), (120, 30), (60 + 8, 30), (60, 30 - 8 * math.sqrt(3)),
                       (60 - 8, 30), (0, 30)])  # fmt: skip
    inner = notched.buffer(-0.5, join_style="mitre")
    assert isinstance(inner, Polygon)
    foot = min(math.dist((60, 30 - 8 * math.sqrt(3)), place) for place in ring_of(inner))
    assert foot == pytest.approx(1.0, abs=1e-6)
    assert apart_mm(notched, inner) == pytest.approx(0.5, abs=1e-6)
    corner_mm = math.hypot(1, 30 - 8 * math.sqrt(3) - 14.1)  # of the bay, from the V's foot
    assert apart_mm(notched, box_less(inner, 59, 14.1, 61)) == pytest.approx(corner_mm, abs=1e-6)
    assert apart_mm(notched, box_less(inner, 20, 28.4, 24)) == pytest.approx(1.6, abs=0.01)


def box_less(shape: Polygon, x0: float, y0: float, x1: float) -> Polygon:
    """Return a shape without what lies between two places of x and above one of y."""
    less = shape.difference(shapely.box(x0, y0, x1, 100))
    assert isinstance(less, Polygon)
    return less


FAMILIES = built_in_families()


@pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])
@pytest.mark.parametrize("join", ["round", "mitre"])
@pytest.mark.parametrize("pen", [0.2, 0.5, 0.8, 1.0])
def test_a_knife_whose_edge_is_a_pen_s_line_is_a_knife(
    tmp_path: Path, family: Family, join: Literal["round", "mitre"], pen: float
) -> None:
    """Its tips too, into which the inner side does not follow the outer one: no wire frame."""
    drawn = Polygon(family.outline().ring())
    outer, inner = (
        drawn.buffer(side, join_style=join, mitre_limit=4.0) for side in (pen / 2, -pen / 2)
    )
    found = read(tmp_path, ring_of(outer), ring_of(inner))
    assert found.outline.area_mm2 == pytest.approx(Polygon(ring_of(outer)).area, rel=1e-6)
    assert [thing.what for thing in found.left_out] == ["polyline drawn twice"]
    (note,) = found.notes
    assert re.fullmatch(rf"The edge is drawn as two lines up to {pen}\d mm .* counts\.", note)


@pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])
@pytest.mark.parametrize("pen", [0.5, 1.0])
def test_a_pen_s_line_that_was_traced_from_a_scan_is_one_edge(family: Family, pen: float) -> None:
    """Both sides stray by half a dot at 250 to the inch, and ink fills the tips."""
    rng = np.random.default_rng(3)
    drawn = Polygon(family.outline().ring())

    def traced(side: shapely.Geometry) -> Polygon:
        places = shapely.get_coordinates(largest(side).exterior.segmentize(0.3))[:-1]
        return largest(Polygon(places + rng.uniform(-0.05, 0.05, places.shape)).buffer(0))

    inner = drawn.buffer(-pen / 2, join_style="mitre", mitre_limit=4.0)
    outer, filled = traced(drawn.buffer(pen / 2)), traced(inner.buffer(-0.2).buffer(0.2))
    assert apart_mm(outer, filled) == pytest.approx(pen, abs=0.02)


@pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])
@pytest.mark.parametrize("rim", [1.5, 2.5])
def test_a_knife_that_is_a_frame_of_steel_stays_one(
    tmp_path: Path, family: Family, rim: float
) -> None:
    """Doubted where a marker's line is as wide as its rim."""
    edge = Polygon(family.outline().ring())
    window = Polygon(ring_of(largest(edge.buffer(-rim, join_style="mitre", mitre_limit=4.0))))
    found = read(tmp_path, ring_of(edge), ring_of(window))
    assert found.outline.area_mm2 == pytest.approx(edge.area - window.area, rel=1e-3)
    assert any("leaves a frame of 1.5" in note for note in found.notes) == (rim < 2)


def largest(shape: shapely.Geometry) -> Polygon:
    parts = shapely.get_parts(shape)
    return Polygon(parts[int(shapely.area(parts).argmax())])

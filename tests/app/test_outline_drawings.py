"""An outline by itself as DXF, SVG and JSON comes back: edge, holes, marks, stations and name."""

import math
from collections.abc import Callable
from pathlib import Path

import ezdxf
import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
import svgelements
from hypothesis import HealthCheck, given, settings

from app.exports.outline_dxf import write_outline_dxf
from app.exports.outline_svg import write_outline_svg
from app.files.outline_choice import read_drawing
from app.files.outline_file import write_outline
from geometry.curves import Arc, Cubic, Line
from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.outline import Hole, Mark, Outline, Station

WRITERS: dict[str, Callable[[Outline, Path], None]] = {
    "dxf": write_outline_dxf,
    "svg": write_outline_svg,
    "json": write_outline,
}
WITHIN_MM = 0.01  # what a round trip may cost
FAMILIES = built_in_families()


def box(x: float, y: float, width: float, height: float) -> tuple[Line, ...]:
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    return tuple(
        Line(start=start, end=end)
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True)
    )


@pytest.mark.parametrize("kind", WRITERS)
def test_a_plate_of_ours_is_never_doubted_as_a_page(kind: str, tmp_path: Path) -> None:
    plate = Outline(name="plate", chain=box(-200, -10, 297, 210), cutouts=(box(-150, 40, 160, 30),))
    WRITERS[kind](plate, tmp_path / f"plate.{kind}")
    read = read_drawing(tmp_path / f"plate.{kind}")
    assert read.outline.bounds_mm == pytest.approx((-200, -10, 97, 200))
    assert not read.notes
    assert not read.others


def with_everything() -> Outline:
    """Each kind of piece, a slot with an arc, a slot of one closed curve, all kinds of places."""
    corner = (-30.1, -4.2)
    slot = [(10.0, 5.0), (20.0, 5.0)]
    return Outline(
        name="Нож “Ω” <1> & 2",
        chain=(
            Line(start=corner, end=(50.3, -4.2)),
            Arc(start=(50.3, -4.2), end=(50.3, 20.2), sweep_rad=1.5 * math.pi),
            Cubic(start=(50.3, 20.2), control1=(30, 25), control2=(20, 25), end=(0, 21)),
            Line(start=(0, 21), end=(-10, 20)),
            Cubic(start=(-10, 20), control1=(-20, 18), control2=(-31, 10), end=corner),
        ),
        holes=(
            Hole(x_mm=30.1, y_mm=10.0, diameter_mm=4.7625, kind="bolt"),
            Hole(x_mm=40.0, y_mm=8.0, diameter_mm=6.35, kind="tube"),
        ),
        cutouts=(
            (
                Line(start=slot[0], end=slot[1]),
                Arc(start=slot[1], end=(20.0, 8.0), sweep_rad=math.pi),
                Line(start=(20.0, 8.0), end=(10.0, 8.0)),
                Arc(start=(10.0, 8.0), end=slot[0], sweep_rad=math.pi),
            ),
        ),
        marks=(
            Mark(kind="plunge line", points_mm=((1 / 3, 0.0), (1 / 3, 20.0))),
            Mark(kind="bevel line", points_mm=((0.0, 12.0), (20.0, 13.0), (40.0, 11.5))),
        ),
        stations=(
            Station(name="tip", x_mm=62.5 + 12.2 * math.sqrt(2), y_mm=8.0),  # of the arc
            Station(name="butt", x_mm=-30, y_mm=0),
        ),
    )


def drawn(family: Family, data: st.DataObject) -> Outline | None:
    """An outline of random values in the ranges; None where a constraint says why not."""
    values = {
        p.key: data.draw(
            st.integers(int(p.low), int(p.high)).map(float) if p.whole else st.floats(p.low, p.high)
        )
        for p in family.parameters
    }
    try:
        return family.outline(values)
    except InputError:
        return None


def apart_mm(one: Outline, other: Outline) -> float:
    """The greatest distance between the edges, and between all that is inside them."""
    rings = [shapely.LinearRing(outline.ring(1e-4)) for outline in (one, other)]
    found = [float(shapely.hausdorff_distance(*rings))]
    pairs = [
        ((a.x_mm, a.y_mm), (b.x_mm, b.y_mm)) for a, b in zip(one.holes, other.holes, strict=True)
    ]
    pairs += [
        ((a.x_mm, a.y_mm), (b.x_mm, b.y_mm))
        for a, b in zip(one.stations, other.stations, strict=True)
    ]
    for a, b in zip(one.marks, other.marks, strict=True):
        pairs += zip(a.points_mm, b.points_mm, strict=True)
    found += [math.dist(a, b) for a, b in pairs]
    found += [
        abs(a.diameter_mm - b.diameter_mm) for a, b in zip(one.holes, other.holes, strict=True)
    ]
    cutouts = [shapely.union_all([shapely.Polygon(r) for r in holes_of(o)]) for o in (one, other)]
    if one.cutouts or other.cutouts:
        found.append(float(shapely.hausdorff_distance(*cutouts)))
    return max(found)


def holes_of(outline: Outline) -> list[np.ndarray]:
    return [shapely.get_coordinates(ring) for ring in outline.polygon(1e-3).interiors]


def names_of(outline: Outline) -> list[list[str]]:
    return [
        [outline.name],
        [hole.kind for hole in outline.holes],
        [mark.kind for mark in outline.marks],
        [station.name for station in outline.stations],
    ]


def pieces_of(outline: Outline) -> list[str]:
    """Return the kinds of its pieces; a piece shorter than drawings are sure of is none."""
    return [type(piece).__name__ for piece in outline.chain if piece.length_mm > WITHIN_MM]


@pytest.mark.parametrize("ending", WRITERS)
def test_everything_comes_back(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"other.{ending}"
    outline = with_everything()
    WRITERS[ending](outline, path)
    again = read_drawing(path)
    assert names_of(again.outline) == names_of(outline)
    assert pieces_of(again.outline) == pieces_of(outline)
    assert apart_mm(again.outline, outline) < WITHIN_MM
    assert len(again.outline.cutouts) == 1
    assert not again.left_out
    assert not again.notes


@pytest.mark.parametrize("ending", WRITERS)
@pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.key)
def test_every_family_comes_back(tmp_path: Path, family: Family, ending: str) -> None:
    path = tmp_path / f"outline.{ending}"
    for outline in (family.outline(), *(family.outline(dict(s.values)) for s in family.sizes)):
        WRITERS[ending](outline, path)
        again = read_drawing(path).outline
        assert names_of(again) == names_of(outline)
        assert pieces_of(again) == pieces_of(outline)
        assert apart_mm(again, outline) < WITHIN_MM
        if ending == "json":
            assert again == outline


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(family=st.sampled_from(FAMILIES), data=st.data())
def test_random_values_come_back(tmp_path: Path, family: Family, data: st.DataObject) -> None:
    outline = drawn(family, data)
    if outline is None:
        return
    for ending, write in WRITERS.items():
        path = tmp_path / f"outline.{ending}"
        write(outline, path)
        again = read_drawing(path).outline
        assert names_of(again) == names_of(outline)
        assert pieces_of(again) == pieces_of(outline)
        assert apart_mm(again, outline) < (WITHIN_MM if ending != "json" else 1e-12)


def test_the_dxf_is_in_millimetres_and_sound(tmp_path: Path) -> None:
    """Read by the library alone: its unit, its layers, its splines on the points of the curve."""
    path = tmp_path / "outline.dxf"
    write_outline_dxf(with_everything(), path)
    document = ezdxf.readfile(path)
    assert document.units == ezdxf.units.MM
    audit = document.audit()
    assert not audit.errors
    assert not audit.fixes
    space = document.modelspace()
    assert {entity.dxf.layer for entity in space} == {"PROFILE", "HOLES", "MARKS", "STATIONS"}
    splines = space.query("SPLINE")
    assert len(splines) == 2
    middle = splines[0].construction_tool().point(0.5)
    # a cubic's middle: (start + 3 control1 + 3 control2 + end) / 8
    assert (middle.x, middle.y) == pytest.approx(((50.3 + 90 + 60) / 8, (20.2 + 75 + 75 + 21) / 8))


def test_the_svg_is_at_true_size_for_another_reader(tmp_path: Path) -> None:
    path = tmp_path / "outline.svg"
    outline = with_everything()
    write_outline_svg(outline, path)
    parsed = svgelements.SVG.parse(str(path), ppi=96, reify=True)
    (profile,) = [
        item
        for group in parsed
        if isinstance(group, svgelements.Group) and group.values.get("id") == "PROFILE"
        for item in group
    ]
    left, top, right, bottom = profile.bbox()
    x0, y0, x1, y1 = outline.bounds_mm
    assert (right - left) * 25.4 / 96 == pytest.approx(x1 - x0, abs=0.02)
    assert (bottom - top) * 25.4 / 96 == pytest.approx(y1 - y0, abs=0.02)

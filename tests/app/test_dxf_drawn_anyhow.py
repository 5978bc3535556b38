"""DXF files as drawing programs write them: units, curves, blocks, gaps, doublings, traps."""

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.document import Drawing as Document
from ezdxf.math import rational_bspline_from_arc
from scipy.interpolate import BSpline

from app.files.drawing_units import UnitQuestion
from app.files.dxf_file import read_dxf
from app.files.errors import FileError
from app.files.strokes import Imported
from geometry.curves import Arc, Cubic, Line
from geometry.errors import InputError
from geometry.outline import Outline

BAR = [(0.0, 0.0), (120.0, 0.0), (120.0, 30.0), (0.0, 30.0)]
SIDES = [*zip(BAR, [*BAR[1:], BAR[0]], strict=True)]
# Millimetres in a unit of $INSUNITS, by the DXF reference's list and these definitions: inch, foot,
# mile 25.4, 304.8, 1 609 344; micro-inch and mil a millionth and thousandth of an inch; yard three
# feet; the metre's powers; astronomical unit 149 597 870 700 m (IAU 2012); light year
# 9 460 730 472 580 800 m; parsec 648 000 / pi astronomical units; US survey foot 1200 / 3937 m.
SURVEY_FT = 1_200_000 / 3937
MM_PER_CODE = {
    1: 25.4, 2: 304.8, 3: 1_609_344, 4: 1, 5: 10, 6: 1000, 7: 1e6, 8: 25.4e-6, 9: 25.4e-3,
    10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3, 14: 100, 15: 1e4, 16: 1e5, 17: 1e12,
    18: 149_597_870_700e3, 19: 9_460_730_472_580_800e3, 20: 648_000 / math.pi * 149_597_870_700e3,
    21: SURVEY_FT, 22: SURVEY_FT / 12, 23: 3 * SURVEY_FT, 24: 5280 * SURVEY_FT,
}  # fmt: skip


def in_mm() -> Document:
    return ezdxf.new("R2000", units=4)


def read(document: Document, folder: Path, unit: str | None = None) -> Imported:
    document.saveas(folder / "part.dxf")
    return read_dxf(folder / "part.dxf", unit=unit)


def bar(space: object, points: list[tuple[float, float]] = BAR) -> None:
    space.add_lwpolyline(points, close=True)  # type: ignore[attr-defined]


def lines(space: object, pairs: list[tuple[tuple[float, float], tuple[float, float]]]) -> None:
    for start, end in pairs:
        space.add_line(start, end)  # type: ignore[attr-defined]


def off_edge_mm(outline: Outline, points: np.ndarray) -> float:
    """How far points lie from an outline's edge at most, both moved to their lower left corner."""
    edge = shapely.LinearRing(outline.ring(1e-5))
    return float(shapely.distance(edge, shapely.points(points)).max())


@pytest.mark.parametrize("code", MM_PER_CODE)
def test_every_unit_that_a_file_can_state_is_known(tmp_path: Path, code: int) -> None:
    document = ezdxf.new("R2000", units=code)
    document.header["$INSUNITS"] = code
    bar(document.modelspace(), [(x / MM_PER_CODE[code], y / MM_PER_CODE[code]) for x, y in BAR])
    outline = read(document, tmp_path).outline
    assert outline.bounds_mm == pytest.approx((0, 0, 120, 30), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("code", MM_PER_CODE)
def test_a_stated_unit_that_cannot_be_is_asked_about(tmp_path: Path, code: int) -> None:
    """120 of anything but mm, cm and dm is no knife; an inch makes 3 m of it."""
    document = ezdxf.new("R2000", units=code)
    document.header["$INSUNITS"] = code
    bar(document.modelspace())
    if code in (4, 5):
        assert read(document, tmp_path).outline.bounds_mm[2] == pytest.approx(
            120 * (1, 10)[code - 4]
        )
        return
    with pytest.raises(UnitQuestion, match="no knife's size") as asked:
        read(document, tmp_path)
    assert "\n" not in str(asked.value)
    assert asked.value.sizes["mm"] == pytest.approx((120, 30), rel=1e-6)
    assert asked.value.likely[0] == "mm"
    assert read(document, tmp_path, "mm").outline.bounds_mm[2] == pytest.approx(120)


def test_a_unit_is_proposed_by_size(tmp_path: Path) -> None:
    """0.3 long: 300 mm if metres; 12 long: 305 mm if inches, or 120 mm if centimetres."""
    for length, likely in ((300.0, "mm"), (0.3, "m"), (12.0, "in")):
        document = ezdxf.new("R2000", units=0)
        document.header["$MEASUREMENT"] = 0
        bar(document.modelspace(), [(0, 0), (length, 0), (length, length / 8), (0, length / 8)])
        with pytest.raises(UnitQuestion) as asked:
            read(document, tmp_path)
        assert asked.value.likely[0] == likely


def test_inches_stated_beside_metric_dashes_are_doubted_where_they_make_a_sword(
    tmp_path: Path,
) -> None:
    """40 inches are 1016 mm: credible in an imperial drawing, doubted in a metric one."""
    for metric in (0, 1):
        document = ezdxf.new("R2000", units=1)
        document.header["$MEASUREMENT"] = metric
        bar(document.modelspace(), [(0, 0), (40, 0), (40, 8), (0, 8)])
        if metric:
            with pytest.raises(UnitQuestion, match="inches"):
                read(document, tmp_path)
        else:
            assert read(document, tmp_path).outline.bounds_mm[2] == pytest.approx(1016)


def test_a_spline_with_wrapped_knots_is_the_curve_that_scipy_draws(tmp_path: Path) -> None:
    """Closed and uniform: its knots are not repeated at the ends, so part of them is outside."""
    corners = np.array([(0, 0), (60, -5), (120, 0), (125, 25), (60, 35), (-5, 20)], float)
    wrapped = np.vstack([corners, corners[:3]])
    knots = np.arange(len(wrapped) + 4, dtype=float)
    document = in_mm()
    spline = document.modelspace().add_spline(degree=3)
    spline.control_points = [(x, y, 0) for x, y in wrapped]
    spline.knots = knots.tolist()
    true = BSpline(knots, wrapped, 3)(np.linspace(3, len(wrapped), 400))
    outline = read(document, tmp_path).outline
    fine = BSpline(knots, wrapped, 3)(np.linspace(3, len(wrapped), 100_000))
    assert off_edge_mm(outline, true - fine.min(axis=0)) < 1e-3
    assert all(isinstance(piece, Cubic) for piece in outline.chain)
    assert len(outline.chain) == len(corners)  # a cubic between two knots is one cubic


@pytest.mark.parametrize("degree", [1, 2, 4, 5])
def test_splines_of_any_degree_are_followed(tmp_path: Path, degree: int) -> None:
    points = np.array([(0, 0), (30, 25), (60, 30), (90, 10), (110, 25), (120, 0)], float)
    document = in_mm()
    space = document.modelspace()
    spline = space.add_open_spline([(x, y, 0) for x, y in points], degree=degree)
    space.add_line((120, 0), (0, 0))
    true = BSpline(np.array(spline.knots), points, degree)(np.linspace(0, spline.knots[-1], 500))
    assert off_edge_mm(read(document, tmp_path).outline, true) < 1e-3


def test_a_rational_spline_is_the_circle_that_it_is(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    spline = space.add_spline()
    spline.apply_construction_tool(rational_bspline_from_arc((0, 0), 30, 0, 180))
    space.add_line((-30, 0), (30, 0))
    outline = read(document, tmp_path).outline
    assert outline.area_mm2 == pytest.approx(math.pi * 450, rel=1e-6)
    ring = outline.ring(1e-3) - (30, 0)
    radii = np.hypot(*ring[ring[:, 1] > 1e-6].T)
    assert np.abs(radii - 30).max() < 1e-3


@pytest.mark.parametrize("closed", [True, False])
def test_a_spline_goes_through_its_fit_points(tmp_path: Path, closed: bool) -> None:
    """A hole at a known place tells how far the drawing was moved."""
    points = np.array([(0, 0), (60, -10), (120, 5), (60, 30)], float)
    document = in_mm()
    space = document.modelspace()
    space.add_circle((60, 10), 3)
    spline = space.add_spline(fit_points=[(x, y, 0) for x, y in points])
    if closed:
        spline.dxf.flags = 1
    else:
        space.add_line(points[-1].tolist(), points[0].tolist())
    outline = read(document, tmp_path).outline
    (hole,) = outline.holes
    moved = np.array([hole.x_mm - 60, hole.y_mm - 10])
    assert off_edge_mm(outline, points + moved) < 1e-3
    if closed:  # and it is smooth all round
        after = [*outline.chain[1:], outline.chain[0]]
        turns = [
            math.dist(one.end_direction, two.start_direction)
            for one, two in zip(outline.chain, after, strict=True)
        ]
        assert max(turns) < 1e-3


def test_arcs_in_a_stretched_block_become_ellipses(tmp_path: Path) -> None:
    """A slot of 40 x 20 with a hole of 6, stretched 3 to 1: areas times 3."""
    document = in_mm()
    block = document.blocks.new("slot")
    slot = [(10, 0, 0), (30, 0, 1), (30, 20, 0), (10, 20, 1)]
    block.add_lwpolyline(slot, format="xyb", close=True)
    block.add_circle((20, 10), 3)
    outer = document.blocks.new("outer")
    outer.add_blockref("slot", (7, 3), dxfattribs={"xscale": -1, "rotation": 90})
    document.modelspace().add_blockref("outer", (5, 5), dxfattribs={"yscale": 3})
    outline = read(document, tmp_path).outline
    assert outline.bounds_mm == pytest.approx((0, 0, 20, 120), abs=0.01)
    (cutout,) = outline.cutouts
    assert not outline.holes
    assert outline.area_mm2 == pytest.approx(3 * (400 + 100 * math.pi - 9 * math.pi), rel=1e-6)
    assert all(isinstance(piece, Cubic) for piece in cutout)


def test_loose_lines_and_arcs_keep_their_kind_and_radius(tmp_path: Path) -> None:
    """A stadium in four pieces, one line drawn in two that overlap: six pieces, radius 15."""
    document = in_mm()
    space = document.modelspace()
    lines(space, [((15, 0), (70, 0)), ((60, 0), (105, 0)), ((105, 30), (15, 30))])
    space.add_arc((105, 15), 15, -90, 90)
    space.add_arc((15, 15), 15, 90, 270)
    outline = read(document, tmp_path).outline
    arcs = [piece for piece in outline.chain if isinstance(piece, Arc)]
    assert [arc.radius_mm for arc in arcs] == pytest.approx([15, 15], abs=1e-6)
    assert len(outline.chain) == 5
    assert outline.area_mm2 == pytest.approx(90 * 30 + math.pi * 225, abs=1e-3)


@pytest.mark.parametrize("gap_mm", [0.0008, 0.02, 0.06, 0.099])
@pytest.mark.parametrize("way", ["along", "across", "short of the middle"])
def test_gaps_up_to_a_tenth_are_closed_and_told(tmp_path: Path, gap_mm: float, way: str) -> None:
    sides = list(SIDES)
    if way == "along":
        sides[0] = ((0.0, 0.0), (60.0, 0.0))
        sides.append(((60.0 + gap_mm, 0.0), (120.0, 0.0)))
    elif way == "across":
        sides[1] = ((120.0 + gap_mm * 0.7, gap_mm * 0.7), sides[1][1])
    else:  # the upright stops short of a long line that goes on
        sides[0] = ((-9.0, 0.0), (140.0, 0.0))
        sides[3] = ((0.0, 30.0), (0.0, gap_mm))
        sides[1] = ((120.0, 0.0), (120.0, 30.0))
    document = in_mm()
    lines(document.modelspace(), sides)
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600, abs=15 * gap_mm + 0.1)
    assert len(found.notes) == (gap_mm > 0.001)


def test_a_speck_between_two_gaps_is_a_part_of_the_edge(tmp_path: Path) -> None:
    """Two gaps of 0.06 about a piece of 0.04, whose own ends are nearer to one another."""
    document = in_mm()
    cuts = [0.0, 60.0, 60.06, 60.1, 60.16, 120.0]
    pieces = [((a, 0.0), (b, 0.0)) for a, b in zip(cuts[::2], cuts[1::2], strict=True)]
    lines(document.modelspace(), [*pieces, *SIDES[1:]])
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600)
    assert found.notes == ("2 gaps of up to 0.060 mm closed.",)


def test_a_gap_wider_than_a_tenth_is_not_closed(tmp_path: Path) -> None:
    document = in_mm()
    sides = [*SIDES[:3], ((0.0, 30.0), (0.0, 0.13))]
    lines(document.modelspace(), sides)
    with pytest.raises(FileError, match=r"no closed outline.*0\.13 mm apart"):
        read(document, tmp_path)


def test_fine_pieces_are_not_joined_across_one_another(tmp_path: Path) -> None:
    """A circle in 8000 lines of 0.04 mm: all ends are within reach of their neighbours' ends."""
    turns = np.linspace(0, 2 * math.pi, 8001)
    ring = np.column_stack([50 * np.cos(turns), 50 * np.sin(turns)])
    document = in_mm()
    lines(document.modelspace(), [(tuple(a), tuple(b)) for a, b in zip(ring, ring[1:])])  # noqa: B905,RUF007
    found = read(document, tmp_path)
    assert not found.notes
    radii = np.hypot(*(found.outline.ring() - 50).T)
    assert np.abs(radii - 50).max() < 2e-3


def test_lines_drawn_again_are_dropped_and_told(tmp_path: Path) -> None:
    """The whole edge once more, a part of a side, a side a hair off, and the hole again."""
    document = in_mm()
    space = document.modelspace()
    lines(space, [*SIDES, *SIDES, ((20, 0), (70, 0)), ((0, 30.004), (120, 30.004))])
    for _ in range(3):
        space.add_circle((60, 15), 5)
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600 - 25 * math.pi, abs=0.6)
    assert len(found.outline.holes) == 1
    assert len(found.outline.chain) == 4
    assert [line.partition(":")[0] for line in found.told()] == [
        "6 x line drawn twice",
        "2 x circle drawn twice",
    ]


def test_a_closed_edge_drawn_again_as_lines_counts_once(tmp_path: Path) -> None:
    document = in_mm()
    bar(document.modelspace())
    lines(document.modelspace(), SIDES)
    found = read(document, tmp_path)
    assert found.outline.area_mm2 == pytest.approx(3600)
    assert [line.partition(":")[0] for line in found.told()] == ["4 x line drawn twice"]


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
        "2 x words: x 10.0, y 60.0; x 20.0, y 70.0",
        "1 x point: x 3.0, y 4.0",
        "1 x hatching",
        "1 x closed circle beside the outline: x 200.0, y 15.0",
        "1 x open line inside: x 20.0, y 10.0",
        "1 x open line across the edge: x 120.0, y 15.0",
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
    assert [line.partition(":")[0] for line in found.told()] == ["2 x thing on a hidden layer"]


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


def test_a_unit_that_is_none_is_said() -> None:
    from app.files.drawing_units import unit_named

    with pytest.raises(InputError, match="“furlong” is not known"):
        unit_named("furlong")


def test_pieces_with_no_length_are_passed_over(tmp_path: Path) -> None:
    document = in_mm()
    space = document.modelspace()
    bar(space, [*BAR[:2], BAR[1], *BAR[2:], BAR[3]])
    space.add_line((5, 5), (5, 5))
    space.add_circle((9, 9), 0)
    outline = read(document, tmp_path).outline
    assert len(outline.chain) == 4
    assert all(isinstance(piece, Line) for piece in outline.chain)


def test_metres_are_believed_only_of_a_usual_knife(tmp_path: Path) -> None:
    """Programs that were told nothing write metres: 0.3 is a knife, 1.2 may be of another unit."""
    for length, knife in ((0.3, True), (1.2, False)):
        document = ezdxf.new("R2000", units=6)
        bar(document.modelspace(), [(0, 0), (length, 0), (length, length / 8), (0, length / 8)])
        if knife:
            assert read(document, tmp_path).outline.bounds_mm[2] == pytest.approx(300)
        else:
            with pytest.raises(UnitQuestion, match="1200"):
                read(document, tmp_path)


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

"""Curves of DXF files: splines of all kinds, arcs in stretched blocks."""

import math
from pathlib import Path

import numpy as np
import pytest
from ezdxf.math import rational_bspline_from_arc
from scipy.interpolate import BSpline

from geometry.curves import Arc, Cubic
from tests.app.dxf_hands import in_mm, lines, off_edge_mm, read


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

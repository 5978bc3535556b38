"""Rounded corners under a map: they keep their radius, and their sides follow the map."""

import math

import numpy as np
import pytest

from geometry.curves import Arc, Chain, Cubic, Line
from geometry.errors import InputError
from geometry.mapped import Map
from geometry.outline import Outline
from geometry.round_corners import mapped_edge, round_corners


def bar(radius_mm: float) -> Chain:
    """A bar of 100 by 24 with a point, both corners of its butt rounded."""
    r = radius_mm
    return (
        Line(start=(r, 0.0), end=(80.0, 0.0)),
        Line(start=(80.0, 0.0), end=(100.0, 12.0)),
        Line(start=(100.0, 12.0), end=(80.0, 24.0)),
        Line(start=(80.0, 24.0), end=(r, 24.0)),
        Arc(start=(r, 24.0), end=(0.0, 24.0 - r), sweep_rad=math.pi / 2),
        Line(start=(0.0, 24.0 - r), end=(0.0, r)),
        Arc(start=(0.0, r), end=(r, 0.0), sweep_rad=math.pi / 2),
    )


def tang(taper: float) -> Chain:
    """A tang that narrows by its taper on each side, 8 wide at x 0, with a round end tangent."""
    lean = math.atan(taper)
    r = 4.0 / math.cos(lean)
    low, high = (-r * math.sin(lean), 4.0), (-r * math.sin(lean), -4.0)
    ahead = (60.0, 4.0 + taper * (60.0 - low[0]))
    back = (60.0, -ahead[1])
    return (
        Line(start=back, end=ahead),
        Line(start=ahead, end=low),
        Arc(start=low, end=high, sweep_rad=math.pi - 2 * lean),
        Line(start=high, end=back),
    )


def linear(rows: tuple[tuple[float, float], tuple[float, float]]) -> Map:
    matrix = np.array(rows)
    return lambda points: (points @ matrix.T, np.broadcast_to(matrix, (len(points), 2, 2)))


def joints_deg(chain: Chain) -> list[float]:
    found = []
    for before, after in zip([chain[-1], *chain[:-1]], chain, strict=True):
        (ux, uy), (vx, vy) = before.end_direction, after.start_direction
        found.append(math.degrees(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)))
    return found


@pytest.mark.parametrize("radius_mm", [1.0, 4.0, 8.0])
@pytest.mark.parametrize("along_x", [0.6, 1.0, 1.7])
@pytest.mark.parametrize("along_y", [0.8, 1.0, 1.3])
def test_a_corner_of_a_stretched_bar_is_the_bar_s_with_the_same_radius(
    radius_mm: float, along_x: float, along_y: float
) -> None:
    """100 by 24 with the point's triangle gone, and (1 - pi / 4) r^2 at each rounded corner."""
    chain = mapped_edge(bar(radius_mm), linear(((along_x, 0.0), (0.0, along_y))))
    arcs = [piece for piece in chain if isinstance(piece, Arc)]
    assert [arc.radius_mm for arc in arcs] == pytest.approx([radius_mm] * 2, abs=1e-6)
    assert [arc.sweep_rad for arc in arcs] == pytest.approx([math.pi / 2] * 2, abs=1e-9)
    assert sum(abs(turn) > 0.01 for turn in joints_deg(chain)) == 3  # the point's alone
    area = (100 * 24 - 20 * 24 / 2) * along_x * along_y - 2 * (1 - math.pi / 4) * radius_mm**2
    assert Outline(name="bar", chain=chain).area_mm2 == pytest.approx(area, abs=1e-6)


def test_where_its_sides_meet_at_another_angle_it_turns_by_that() -> None:
    """Sheared by a tenth: the butt leans by atan(0.1)."""
    lean = math.atan(0.1)
    chain = mapped_edge(bar(4.0), linear(((1.0, 0.1), (0.0, 1.0))))
    arcs = [piece for piece in chain if isinstance(piece, Arc)]
    sweeps = sorted(arc.sweep_rad for arc in arcs)
    assert sweeps == pytest.approx([math.pi / 2 - lean, math.pi / 2 + lean], abs=1e-6)
    assert [arc.radius_mm for arc in arcs] == pytest.approx([4.0, 4.0], abs=1e-6)


def test_a_corner_drawn_as_a_curve_keeps_its_radii_and_stays_smooth() -> None:
    k = 4 / 3 * (math.sqrt(2) - 1) * 4.0  # a quarter circle of 4 mm, as a curve
    lines = bar(4.0)
    curves = (
        Cubic(start=(4.0, 24.0), control1=(4.0 - k, 24.0), control2=(0.0, 20 + k), end=(0.0, 20.0)),
        Cubic(start=(0.0, 4.0), control1=(0.0, 4.0 - k), control2=(4.0 - k, 0.0), end=(4.0, 0.0)),
    )
    drawn = (*lines[:4], curves[0], lines[5], curves[1])
    assert len(round_corners(drawn)) == 2
    drawn_radii = 1 / curves[0].curvature_per_mm(np.linspace(0.0, 1.0, 21))
    chain = mapped_edge(drawn, linear(((1.5, 0.08), (0.0, 0.9))))
    bent = [piece for piece in chain if isinstance(piece, Cubic)]
    assert len(bent) == 2
    for cubic in bent:
        radii = 1 / cubic.curvature_per_mm(np.linspace(0.0, 1.0, 21))
        assert radii == pytest.approx(drawn_radii, rel=0.01)
    assert sum(abs(turn) > 0.01 for turn in joints_deg(chain)) == 3


@pytest.mark.parametrize("taper", [0.0, 0.05])
@pytest.mark.parametrize(("along_x", "along_y"), [(1.0, 1.0), (1.6, 1.0), (0.7, 1.0), (1.0, 1.3)])
def test_a_round_end_stays_round_and_reaches_as_far(
    taper: float, along_x: float, along_y: float
) -> None:
    drawn = tang(taper)
    chain = mapped_edge(drawn, linear(((along_x, 0.0), (0.0, along_y))))
    [arc] = [piece for piece in chain if isinstance(piece, Arc)]
    least, was = (Outline(name="tang", chain=each).bounds_mm[0] for each in (chain, drawn))
    assert least == pytest.approx(along_x * was, abs=0.01)
    # A circle that both sides touch: their distance from its middle is its radius.
    slope = taper * along_y / along_x
    at_middle = along_y * drawn[0].end[1] - slope * (along_x * 60.0 - arc.centre[0])
    assert arc.radius_mm == pytest.approx(at_middle / math.hypot(1.0, slope), abs=1e-4)
    assert sum(abs(turn) > 0.01 for turn in joints_deg(chain)) == 2


def test_a_butt_too_narrow_for_both_of_its_corners_is_refused() -> None:
    with pytest.raises(InputError, match=r"no room for the rounded corners near x 0\.0"):
        mapped_edge(bar(4.0), linear(((1.0, 0.0), (0.0, 0.3))))


def test_what_bends_gently_is_mapped_as_it_is_and_a_notch_too() -> None:
    lines = bar(16.5)[:4]
    assert round_corners((*lines, *bar(16.5)[4:])) == ()
    notch: Chain = (
        Line(start=(0.0, 0.0), end=(40.0, 0.0)),
        Arc(start=(40.0, 0.0), end=(44.0, 0.0), sweep_rad=-math.pi),
        Line(start=(44.0, 0.0), end=(100.0, 20.0)),
        Line(start=(100.0, 20.0), end=(0.0, 0.0)),
    )
    assert round_corners(notch) == ()


def bent_bar(turn_deg: float, radius_mm: float) -> Chain:
    """A bar from x -100 to 100 whose lower side turns at x 0, up above zero, rounded there."""
    turn = math.radians(turn_deg)
    cut = radius_mm * math.tan(abs(turn) / 2)
    out = (cut * math.cos(turn), cut * math.sin(turn))
    end = (100.0, 100.0 * math.tan(turn))
    return (
        Line(start=(-100.0, 0.0), end=(-cut, 0.0)),
        Arc(start=(-cut, 0.0), end=out, sweep_rad=turn),
        Line(start=out, end=end),
        Line(start=end, end=(100.0, 90.0)),
        Line(start=(100.0, 90.0), end=(-100.0, 90.0)),
        Line(start=(-100.0, 90.0), end=(-100.0, 0.0)),
    )


@pytest.mark.parametrize("turn_deg", [-25.0, -12.0, -6.0, 6.0, 12.0, 25.0])
@pytest.mark.parametrize("radius_mm", [3.0, 9.5, 12.0])
@pytest.mark.parametrize("along_y", [0.7, 1.0, 1.4, 2.0])
def test_an_arc_that_hardly_turns_keeps_its_radius_outward_and_inward(
    turn_deg: float, radius_mm: float, along_y: float
) -> None:
    """Drawn out by k along y, a slope of tan(a) becomes k tan(a): that much it turns then."""
    chain = mapped_edge(bent_bar(turn_deg, radius_mm), linear(((1.0, 0.0), (0.0, along_y))))
    [arc] = [piece for piece in chain if isinstance(piece, Arc)]
    assert arc.radius_mm == pytest.approx(radius_mm, abs=1e-6)
    turn = math.atan(along_y * math.tan(math.radians(turn_deg)))
    assert arc.sweep_rad == pytest.approx(turn, abs=1e-9)
    assert sum(abs(each) > 0.01 for each in joints_deg(chain)) == 4


def test_of_two_roundings_with_nothing_between_the_others_keep_theirs() -> None:
    """An S of two arcs at the lower side: the corners of the butt are as round as before."""
    up = Arc(start=(30.0, 0.0), end=(34.0, 1.0), sweep_rad=2 * math.atan(0.25))
    down = Arc(start=up.end, end=(38.0, 2.0), sweep_rad=-2 * math.atan(0.25))
    lines = bar(4.0)
    chain = (
        Line(start=lines[0].start, end=up.start),
        up,
        down,
        Line(start=down.end, end=lines[1].start),
        *lines[1:],
    )
    stretched = mapped_edge(chain, linear(((1.4, 0.0), (0.0, 1.2))))
    radii = [piece.radius_mm for piece in stretched if isinstance(piece, Arc)]
    assert sum(abs(radius - 4.0) < 1e-6 for radius in radii) == 2

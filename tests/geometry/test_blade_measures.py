"""Sizes as the trade measures them, on a shape whose sizes are hand sums."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from geometry.blade_measures import blade_measures
from geometry.curves import Arc, Line
from geometry.family import Family, built_in_families
from geometry.outline import Mark, Outline, Station


def knife() -> Outline:
    """A blade 100 mm long from a handle 80 mm long and 24 mm wide.

    The edge is straight for 40 mm from the heel, then an arc of 60 degrees and radius 60 mm; the
    blade's spine is straight at 30 mm, then runs straight down to the tip. The handle lies 4 mm
    above the line of the edge, and its front leans 3 mm.
    """
    tip = (40 + 60 * math.sin(math.pi / 3), 30.0)
    belly = (40.0, 0.0)
    before_tip = (tip[0] - 20, 30.0)
    points = [before_tip, (-8.0, 30.0), (-8.0, 28.0), (-88.0, 28.0), (-88.0, 4.0), (-5.0, 4.0)]
    points += [(-5.0, 0.0), (0.0, 0.0), belly]
    lines = [Line(start=a, end=b) for a, b in pairwise(points)]
    return Outline(
        name="knife",
        chain=(
            *lines,
            Arc(start=belly, end=tip, sweep_rad=math.pi / 3),
            Line(start=tip, end=before_tip),
        ),
        marks=(
            Mark(kind="plunge line", points_mm=((0.0, 0.0), (0.0, 30.0))),
            Mark(kind="handle front", points_mm=((-5.0, 4.0), (-8.0, 28.0))),
        ),
        stations=(
            Station(name="heel", x_mm=0.0, y_mm=0.0),
            Station(name="tip", x_mm=tip[0], y_mm=tip[1]),
        ),
    )


def test_the_sizes_are_the_hand_sums() -> None:
    found = blade_measures(knife())
    tip_x = 40 + 60 * math.sin(math.pi / 3)  # 60 (1 - cos 60 degrees) = 30 high, as the spine is
    assert found.overall_mm == pytest.approx(tip_x + 88)
    assert found.blade_mm == pytest.approx(tip_x + 5)  # to the forward-most of the leaning front
    assert found.handle_mm == pytest.approx(83)
    assert found.handle_widest_mm == pytest.approx(24)
    assert found.edge is not None
    assert found.edge.length_mm == pytest.approx(40 + 60 * math.pi / 3)
    assert found.edge.heel_width_mm == pytest.approx(30)
    assert found.edge.widest_mm == pytest.approx(30, abs=1e-3)
    assert found.edge.tip_height_mm == pytest.approx(30)
    assert found.edge.tip_drop_mm == pytest.approx(0)
    # The farthest from the chord is where the arc runs along it, or the corner of its start: the
    # arc has the chord's direction at atan(30 / tip_x), and bows out there by
    chord_rad = math.atan2(30, tip_x)
    x, y = 40 + 60 * math.sin(chord_rad), 60 * (1 - math.cos(chord_rad))
    bow = x * math.sin(chord_rad) - y * math.cos(chord_rad)
    assert found.edge.belly_mm == pytest.approx(bow, abs=2e-3)


def test_the_widest_place_is_found_where_it_is() -> None:
    # A blade as a stadium with its heel 5 mm up the left end: 10 mm wide from x 0 to 40.
    a, b, c, d = (0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (0.0, 10.0)
    chain = (
        Line(start=a, end=b),
        Arc(start=b, end=c, sweep_rad=math.pi),
        Line(start=c, end=(20.0, 14.0)),
        Line(start=(20.0, 14.0), end=d),
        Line(start=d, end=a),
    )
    stations = (
        Station(name="tip", x_mm=45.0, y_mm=5.0),
        Station(name="heel", x_mm=0.0, y_mm=0.0),
    )
    edge = blade_measures(Outline(name="leaf", chain=chain, stations=stations)).edge
    assert edge is not None
    assert edge.widest_mm == pytest.approx(14, abs=1e-6)  # at a corner of the spine
    assert edge.widest_x_mm == pytest.approx(20, abs=1e-6)
    assert edge.tip_drop_mm == pytest.approx(9, abs=1e-6)
    assert edge.length_mm == pytest.approx(40 + 2.5 * math.pi)


def test_a_corner_of_the_edge_tells_its_belly() -> None:
    # From heel (0, 0) straight to (33.3, 0) and up to the tip (50, 20): the corner is farthest
    # from the chord, 33.3 x 20 / the chord's length.
    corners = [(0.0, 0.0), (33.3, 0.0), (50.0, 20.0), (0.0, 20.0)]
    chain = tuple(Line(start=a, end=b) for a, b in pairwise([*corners, corners[0]]))
    stations = (
        Station(name="tip", x_mm=50.0, y_mm=20.0),
        Station(name="heel", x_mm=0.0, y_mm=0.0),
    )
    edge = blade_measures(Outline(name="chisel", chain=chain, stations=stations)).edge
    assert edge is not None
    assert edge.belly_mm == pytest.approx(33.3 * 20 / math.hypot(50, 20), abs=1e-9)


def test_what_is_not_named_is_not_told() -> None:
    bare = replace(knife(), marks=(), stations=())
    found = blade_measures(bare)
    assert (found.blade_mm, found.handle_mm, found.handle_widest_mm, found.edge) == (None,) * 4
    assert found.overall_mm == pytest.approx(knife().overall_length_mm)


@pytest.mark.parametrize("x_mm", [-200.0, -88.0, 92.0, 500.0])
def test_a_handle_that_begins_beyond_the_plate_is_not_told(x_mm: float) -> None:
    front = Mark(kind="handle front", points_mm=((x_mm, 4.0), (x_mm, 28.0)))
    found = blade_measures(replace(knife(), marks=(front,)))
    assert (found.blade_mm, found.handle_mm, found.handle_widest_mm) == (None,) * 3
    assert found.edge == blade_measures(knife()).edge


@pytest.mark.parametrize("x_mm", [-100.0, 95.0])
def test_an_edge_from_a_heel_that_is_not_behind_the_tip_on_the_plate_is_not_told(
    x_mm: float,
) -> None:
    tip = knife().stations[1]
    found = blade_measures(
        replace(knife(), stations=(tip, Station(name="heel", x_mm=x_mm, y_mm=0.0)))
    )
    assert found.edge is None
    assert found.blade_mm == blade_measures(knife()).blade_mm


@pytest.mark.parametrize("x_mm", [-88.0, -30.0, 95.0])
def test_a_tip_behind_the_handles_front_or_off_the_plate_tells_no_blade(x_mm: float) -> None:
    heel = knife().stations[0]
    found = blade_measures(
        replace(knife(), stations=(heel, Station(name="tip", x_mm=x_mm, y_mm=10.0)))
    )
    assert (found.blade_mm, found.edge) == (None, None)
    assert found.handle_mm == blade_measures(knife()).handle_mm


def test_the_foot_of_the_plunge_line_serves_as_heel() -> None:
    tip = (knife().stations[1],)
    found = blade_measures(replace(knife(), stations=tip))
    assert found == blade_measures(knife())


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_a_familys_sizes_are_those_asked_for(family: Family) -> None:
    asked = family.defaults
    found = blade_measures(family.outline())
    assert found.edge is not None
    assert found.blade_mm == pytest.approx(asked["blade_length"])
    heel_x = next(s.x_mm for s in family.outline().stations if s.name == "heel")
    tip = next((s.x_mm, s.y_mm) for s in family.outline().stations if s.name == "tip")
    assert math.dist((heel_x, 0), tip) - 1e-6 <= found.edge.length_mm
    assert found.edge.widest_mm >= found.edge.heel_width_mm - 1e-6
    assert found.edge.belly_mm >= 0

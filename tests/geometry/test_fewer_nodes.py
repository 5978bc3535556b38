"""Fewer nodes on a traced edge: within what is stated, corners and straight stretches kept."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from geometry.curves import Arc, Chain, Line
from geometry.errors import Cancelled, InputError
from geometry.family import family_named
from geometry.fewer_nodes import with_fewer_nodes
from geometry.from_contour import outline_from_contour
from geometry.node_edit import is_smooth, nodes_mm
from geometry.outline import Outline, Station, outline_from_rings


def apart_mm(one: Outline, other: Outline) -> float:
    """The greatest distance of two edges, by shapely on dense points."""
    a, b = (shapely.LinearRing(o.ring(1e-3)).segmentize(0.1) for o in (one, other))
    return max(a.hausdorff_distance(b), b.hausdorff_distance(a))


@pytest.fixture(scope="module")
def traced() -> Outline:
    """A drop point traced by a hand that wobbles by 0.06 mm over some 10 mm."""
    shape = family_named("drop point").outline().polygon()
    ring = shapely.get_coordinates(shape.exterior.segmentize(0.5))[:-1]
    noise = np.fft.rfft(np.random.default_rng(3).normal(size=ring.shape), axis=0)
    noise[np.fft.rfftfreq(len(ring)) > 0.05] = 0.0
    wobble = np.fft.irfft(noise, len(ring), axis=0)
    return outline_from_contour(
        shapely.Polygon(ring + wobble * 0.06 / wobble.std(), [h.coords for h in shape.interiors]),
        name="traced",
        tolerance_mm=0.05,
    )


@pytest.mark.parametrize("tolerance_mm", [0.1, 0.2, 0.5])
def test_a_traced_edge_has_fewer_points_within_what_is_stated(
    traced: Outline, tolerance_mm: float
) -> None:
    fewer = with_fewer_nodes(traced, tolerance_mm)
    assert len(fewer.outline.chain) < len(traced.chain)
    assert fewer.moved_mm <= tolerance_mm
    assert apart_mm(traced, fewer.outline) == pytest.approx(fewer.moved_mm, abs=0.01)
    assert fewer.outline.polygon().is_valid
    assert fewer.outline.holes == traced.holes
    edge = shapely.LinearRing(fewer.outline.ring(1e-3))
    for station in fewer.outline.stations:
        assert edge.distance(shapely.Point(station.x_mm, station.y_mm)) < 0.02


def test_a_larger_tolerance_takes_no_more_points(traced: Outline) -> None:
    counts = [len(with_fewer_nodes(traced, mm).outline.chain) for mm in (0.1, 0.2, 0.5)]
    assert counts == sorted(counts, reverse=True)
    assert counts[-1] <= 14  # of 30 and more


def test_corners_and_straight_stretches_stay_and_what_is_between_is_smooth() -> None:
    """A bar of 100 by 20 whose right end is a half circle in 20 arcs."""
    angles = np.linspace(-math.pi / 2, math.pi / 2, 21)
    spots = [(100 + 10 * math.cos(a), 10 + 10 * math.sin(a)) for a in angles.tolist()]
    spots[0], spots[-1] = (100.0, 0.0), (100.0, 20.0)
    arcs = [Arc(start=a, end=b, sweep_rad=math.pi / 20) for a, b in pairwise(spots)]
    low = Line(start=(0.0, 0.0), end=spots[0])
    high, back = Line(start=spots[-1], end=(0.0, 20.0)), Line(start=(0.0, 20.0), end=(0.0, 0.0))
    chain: Chain = (low, *arcs, high, back)
    fewer = with_fewer_nodes(Outline(name="bar", chain=chain), 0.1).outline
    assert {low, high, back} <= set(fewer.chain)
    assert len(fewer.chain) <= 5
    assert {(0.0, 0.0), (0.0, 20.0), spots[0], spots[-1]} <= set(nodes_mm(fewer))
    pairs = list(zip([fewer.chain[-1], *fewer.chain[:-1]], fewer.chain, strict=True))
    assert sum(not is_smooth(before, after) for before, after in pairs) == 2


def test_an_edge_that_has_few_points_is_told_so() -> None:
    with pytest.raises(InputError, match="as few points as it can"):
        with_fewer_nodes(family_named("drop point").outline(), 0.01)
    with pytest.raises(InputError, match="nothing can change"):
        with_fewer_nodes(family_named("drop point").outline(), 0.0)


def test_how_much_is_done_is_told_and_it_stops_when_asked(traced: Outline) -> None:
    told: list[float] = []
    with_fewer_nodes(traced, 0.2, progress=told.append)
    assert len(told) > 20
    assert told == sorted(told)
    assert 0.0 <= told[0] < 0.1
    assert 0.7 < told[-1] <= 1.0
    before = len(told)
    with pytest.raises(Cancelled):
        with_fewer_nodes(traced, 0.2, progress=told.append, stop=lambda: len(told) >= before + 3)
    assert len(told) == before + 3


@pytest.mark.parametrize("tolerance_mm", [0.2, 0.5])
@pytest.mark.parametrize("end", ["round", "pointed"])
def test_tip_butt_and_heel_keep_a_point_though_the_edge_is_round_there(
    tolerance_mm: float, end: str
) -> None:
    """A bar with round ends, in 2 mm bits: nothing of its shape asks for a point at its places."""
    around = np.linspace(-math.pi / 2, math.pi / 2, 25)
    ring = [(100 + 12 * math.cos(a), 12 * math.sin(a)) for a in around]
    ring += [(x, 12.0) for x in range(98, 0, -2)]
    ring += [(-12 * math.cos(a), -12 * math.sin(a)) for a in around]
    ring += [(x, -12.0) for x in range(2, 100, 2)]
    places = {"tip": (112.0, 0.0), "butt": (-12.0, 0.0), "heel": (60.0, -12.0)}
    if end == "pointed":
        ring[:25] = [(100.0, -12.0), (140.0, 3.0), (100.0, 12.0)]
        places["tip"] = (140.0, 3.0)
    stations = tuple(Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in places.items())
    bar = replace(outline_from_rings("bar", ring), stations=stations)
    fewer = with_fewer_nodes(bar, tolerance_mm)
    nodes = nodes_mm(fewer.outline)
    assert len(nodes) <= len(ring) / 4
    assert fewer.moved_mm <= tolerance_mm
    for name, place in places.items():
        assert min(math.dist(node, place) for node in nodes) < 1e-6, name
    for station in fewer.outline.stations:
        assert (station.x_mm, station.y_mm) == pytest.approx(places[station.name], abs=1e-6)
    for before, after in pairwise(fewer.outline.chain):
        if math.dist(before.end, places["heel"]) < 1e-6:
            assert is_smooth(before, after)

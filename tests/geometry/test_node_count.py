"""Nodes added and taken away: what stays exactly, what is kept, and what is refused."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.along import Along
from geometry.curves import Arc, Chain, Cubic, Line, Segment
from geometry.errors import InputError
from geometry.family import built_in_families, family_named
from geometry.node_count import parted, with_node_added, with_node_removed
from geometry.node_edit import is_smooth, nodes_mm
from geometry.outline import Outline, Station, outline_from_rings

OUTLINES = [family.outline() for family in built_in_families()]
DROP = family_named("drop point").outline()
coordinate = st.floats(-100.0, 100.0)
point = st.tuples(coordinate, coordinate)


@st.composite
def segments(draw: st.DrawFn) -> Segment:
    start, end, one, other = (draw(point) for _ in range(4))
    if math.dist(start, end) < 0.5:
        end = (start[0] + 10.0, start[1])
    kind = draw(st.sampled_from(["line", "arc", "cubic"]))
    if kind == "line":
        return Line(start=start, end=end)
    if kind == "arc":
        sweep = draw(st.floats(0.05, 6.0)) * draw(st.sampled_from([-1.0, 1.0]))
        return Arc(start=start, end=end, sweep_rad=sweep)
    return Cubic(start=start, control1=one, control2=other, end=end)


def points_of(segment: Segment, t: np.ndarray) -> np.ndarray:
    """By the plain formulas, another way than the program's own."""
    if isinstance(segment, Cubic):
        p, q, r, s = (np.array(c) for c in segment.controls)
        t = t[:, None]
        return p * (1 - t) ** 3 + 3 * q * t * (1 - t) ** 2 + 3 * r * t**2 * (1 - t) + s * t**3
    if isinstance(segment, Line):
        return np.outer(1 - t, segment.start) + np.outer(t, segment.end)
    cx, cy = segment.centre
    first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
    angle = first + t * segment.sweep_rad
    return np.column_stack(
        [cx + segment.radius_mm * np.cos(angle), cy + segment.radius_mm * np.sin(angle)]
    )


@settings(max_examples=300, deadline=None)
@given(segments(), st.floats(0.01, 0.99))
def test_a_parted_piece_is_the_same_curve(segment: Segment, t: float) -> None:
    first, second = parted(segment, t)
    share = np.linspace(0.0, 1.0, 41)
    for part, places in ((first, t * share), (second, t + (1 - t) * share)):
        off = points_of(part, share) - points_of(segment, places)
        scale = 1.0 if not isinstance(segment, Arc) else max(1.0, segment.radius_mm / 100)
        assert np.abs(off).max() < 1e-9 * scale
    assert first.end == second.start


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(OUTLINES), st.floats(0.0, 1.0))
def test_an_added_node_lies_on_the_edge_and_changes_nothing(outline: Outline, share: float) -> None:
    along = Along(outline.chain)
    at_mm = share * along.length_mm
    starts = np.cumsum([0.0, *(piece.length_mm for piece in outline.chain)])
    if np.abs(starts - at_mm).min() < 0.3:
        return
    [(x, y)] = along.at([at_mm])[0].tolist()
    more, place = with_node_added(outline, (x, y))
    assert place == pytest.approx((x, y), abs=1e-6)
    assert len(more.chain) == len(outline.chain) + 1
    assert place in nodes_mm(more)
    assert more.area_mm2 == pytest.approx(outline.area_mm2, abs=1e-7)
    assert more.perimeter_mm == pytest.approx(outline.perimeter_mm, abs=1e-7)
    assert (more.stations, more.marks, more.holes) == (
        outline.stations,
        outline.marks,
        outline.holes,
    )
    less, moved_mm = with_node_removed(more, nodes_mm(more).index(place))
    assert moved_mm < 0.005  # as it was, within what a fitted curve gives
    assert len(less.chain) == len(outline.chain)


def test_no_node_is_added_on_another() -> None:
    with pytest.raises(InputError, match="there is a point already"):
        with_node_added(DROP, nodes_mm(DROP)[3])


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_a_removed_node_keeps_the_ends_and_their_directions(data: st.DataObject) -> None:
    outline = data.draw(st.sampled_from(OUTLINES))
    chain = outline.chain
    index = data.draw(st.integers(0, len(chain) - 1))
    try:
        less, moved_mm = with_node_removed(outline, index)
    except InputError as error:
        assert error.remedy  # noqa: PT017 - what is refused is told how to do better
        return
    assert less.polygon().is_valid
    assert moved_mm >= 0.0
    kept = [place for i, place in enumerate(nodes_mm(outline)) if i != index]
    assert list(nodes_mm(less)) == kept
    before, after = chain[index - 1], chain[index]
    one = less.chain[kept.index(before.start)]
    assert (one.start, one.end) == (before.start, after.end)
    if not isinstance(one, Line):
        assert one.start_direction == pytest.approx(before.start_direction, abs=1e-6)
        assert one.end_direction == pytest.approx(after.end_direction, abs=1e-6)
    old_ring, new_ring = (shapely.LinearRing(o.ring(1e-3)) for o in (outline, less))
    assert old_ring.hausdorff_distance(new_ring) <= moved_mm + 0.02
    assert _smooth_places(less.chain) >= _smooth_places(chain) - {before.end}


def _smooth_places(chain: Chain) -> set[tuple[float, float]]:
    pairs = zip([chain[-1], *chain[:-1]], chain, strict=True)
    return {after.start for before, after in pairs if is_smooth(before, after)}


def test_lines_between_corners_become_one_line_and_what_lay_there_goes_along() -> None:
    bar = outline_from_rings("bar", [(0, 0), (50, -6), (100, 0), (100, 30), (0, 30)])
    index = nodes_mm(bar).index((50.0, -6.0))
    named = Outline(
        name="bar", chain=bar.chain, stations=(Station(name="belly", x_mm=50.0, y_mm=-6.0),)
    )
    less, moved_mm = with_node_removed(named, index)
    assert all(isinstance(piece, Line) for piece in less.chain)
    assert moved_mm == pytest.approx(6.0)  # the corner's height over the line
    [belly] = less.stations
    assert (belly.x_mm, belly.y_mm) == pytest.approx((50.0, 0.0))


def test_an_edge_keeps_three_points() -> None:
    triangle = outline_from_rings("triangle", [(0, 0), (50, 0), (20, 30)])
    with pytest.raises(InputError, match="needs 3 points"):
        with_node_removed(triangle, 0)

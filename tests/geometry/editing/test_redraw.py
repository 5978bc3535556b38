"""Vertices moved, added and deleted, and stretches straightened."""

import itertools

import numpy as np
import pytest
import shapely
from shapely import Polygon

from geometry.billet import Billet
from geometry.clearance import UsableRegion
from geometry.editing import (
    Redraw,
    claim,
    edited,
    straightened,
    vertex_added,
    vertex_deleted,
    vertex_moved,
)
from geometry.editing.redraw import HAND_MM
from geometry.errors import InputError
from geometry.verdict import Verdict, judge
from tests.geometry.editing.moving import bar, forging


def test_a_moved_corner_takes_the_hands_doubt_and_the_others_keep_theirs() -> None:
    piece = bar()
    there = edited(piece, [vertex_moved(piece, (99.0, 41.0), (96.0, 40.0), sigma_mm=0.3)])
    assert there.shape.area == pytest.approx(100 * 40 - 100 - 4 * 40 / 2)
    assert there.sigma_at_mm((96.0, 40.0)) == 0.3
    for vertex, sigma in zip(piece.vertices_mm(), piece.vertex_sigma_mm, strict=True):
        if tuple(vertex) != (100.0, 40.0):
            assert there.sigma_at_mm(tuple(vertex)) == sigma
    assert there.thickness_mm == 4.0


def test_a_hand_is_no_surer_than_the_measure_unless_it_says_so() -> None:
    piece = bar()
    sure, unsure = piece.sigma_at_mm((0.0, 0.0)), max(piece.vertex_sigma_mm)
    assert sure < HAND_MM < unsure
    assert vertex_moved(piece, (0.0, 0.0), (1.0, 1.0)).sigma_mm == HAND_MM
    at = piece.vertices_mm()[piece.vertex_sigma_mm.index(unsure)]
    assert vertex_moved(piece, tuple(at), (75.0, 20.0)).sigma_mm == unsure


def test_a_corner_of_a_hole_is_moved_added_and_deleted() -> None:
    piece = bar()
    grown = edited(piece, [vertex_moved(piece, (80.0, 25.0), (84.0, 25.0))])
    assert grown.shape.area == pytest.approx(piece.shape.area - 4 * 10 / 2)
    peaked = edited(piece, [vertex_added(piece, (80.0, 20.0), (83.0, 20.0))])
    assert peaked.shape.area == pytest.approx(piece.shape.area - 3 * 10 / 2)
    cornerless = edited(piece, [vertex_deleted(piece, (80.0, 25.0))])
    assert cornerless.shape.area == pytest.approx(piece.shape.area + 10 * 10 / 2)


def test_an_added_vertex_changes_no_shape() -> None:
    piece = bar()
    there = edited(piece, [vertex_added(piece, (30.0, -0.2))])
    assert there.shape.equals(piece.shape)
    assert len(there.vertices_mm()) == len(piece.vertices_mm()) + 1
    assert [30.0, 0.0] in there.vertices_mm().tolist()


def test_a_bay_straightened_is_one_line_and_says_what_it_claims() -> None:
    bay = [(40.0, 0.0), (45.0, 3.0), (55.0, 3.0), (60.0, 0.0)]
    piece = Billet(shape=Polygon([(0, 0), *bay, (100, 0), (100, 40), (0, 40)]))
    there = edited(piece, [straightened(piece, (60.0, 0.0), (40.0, 0.0))])
    assert there.shape.equals(shapely.box(0, 0, 100, 40))
    found = claim(piece, there)
    assert found is not None
    assert found.beyond_mm == pytest.approx(3.0, abs=2e-3)
    assert found.point_mm[1] == pytest.approx(0.0, abs=2e-3)


def verdict_at(piece: Billet, blank: Polygon) -> tuple[Verdict, float]:
    spare = UsableRegion(piece.usable()).clearance(blank)
    sigma_mm = piece.sigma_at_mm(spare.edge_point_mm)
    return judge(spare.value_mm, sigma_mm), sigma_mm


def test_steel_that_is_only_claimed_never_makes_a_blank_fit_for_sure() -> None:
    """A bay 3 mm deep and 60 long in a slim bar, straightened: the steel was not measured there."""
    bay = [(20.0, 0.0), (25.0, 3.0), (75.0, 3.0), (80.0, 0.0)]
    piece = Billet(
        shape=Polygon([(0, 0), *bay, (100, 0), (100, 20), (60, 20), (40, 20), (0, 20)]),
        vertex_sigma_mm=(0.05,) * 10,
    )
    there = edited(piece, [straightened(piece, (20.0, 0.0), (80.0, 0.0))])
    for x in (21.0, 50.0, 78.0):
        over, clear = (shapely.box(x - 1, y, x + 1, 15) for y in (1.0, 3.5))
        assert verdict_at(there, over) == (Verdict.DOUBTFUL, pytest.approx(0.05 + 3.0 / 2))
        assert verdict_at(there, clear)[0] is Verdict.FITS  # clear of the bay that was measured
    assert there.sigma_at_mm((50.0, 20.0)) == there.sigma_at_mm((0.0, 10.0)) == 0.05


@pytest.mark.parametrize("steps", [1, 4])
def test_a_corner_moved_out_is_as_doubtful_in_one_go_as_in_several(steps: int) -> None:
    piece = bar()
    edits: list[Redraw] = []
    stops_mm = np.linspace(100.0, 104.0, steps + 1).tolist()
    for from_mm, to_mm in itertools.pairwise(stops_mm):
        edits.append(vertex_moved(edited(piece, edits), (from_mm, 40.0), (to_mm, 40.0)))
    there = edited(piece, edits)
    assert there.sigma_at_mm((104.0, 40.0)) == pytest.approx(0.15 + 4.0 / 2)
    assert there.sigma_at_mm((0.0, 0.0)) == piece.sigma_at_mm((0.0, 0.0))


def test_steel_taken_away_and_given_back_claims_nothing() -> None:
    piece = bar()
    away = vertex_moved(piece, (100.0, 40.0), (97.0, 38.0))
    back = vertex_moved(edited(piece, [away]), (97.0, 38.0), (100.0, 40.0))
    there = edited(piece, [away, back])
    assert there.edge_sigma_mm(piece.vertices_mm()).tolist() == list(piece.vertex_sigma_mm)


def test_a_bump_straightened_claims_nothing() -> None:
    bump = [(40.0, 0.0), (50.0, -3.0), (60.0, 0.0)]
    piece = Billet(shape=Polygon([(0, 0), *bump, (100, 0), (100, 40), (0, 40)]))
    there = edited(piece, [straightened(piece, (30.0, 0.0), (70.0, 0.0))])
    assert there.shape.equals(shapely.box(0, 0, 100, 40))
    assert claim(piece, there) is None


def test_a_hole_made_smaller_claims_steel() -> None:
    piece = bar()
    there = edited(piece, [vertex_moved(piece, (80.0, 25.0), (78.0, 25.0))])
    found = claim(piece, there)
    assert found is not None
    # The new corner is the deepest of the claimed triangle: on the old edge above, 2 mm from the
    # side. Along the new side the depth is the lesser of the way up and the way across, equal on
    # the diagonal y - 25 = x - 80 from the old corner: at x = 80 - u, y = 25 - u with the new
    # side x = 80 - (y - 15) / 5, so u = (10 - u) / 5 and u = 10 / 6.
    assert found.beyond_mm == pytest.approx(10 / 6, abs=2e-3)


def test_a_change_holds_when_the_piece_is_measured_again() -> None:
    """Other vertices, 0.1 mm of noise: the same change gives the same edge to that noise."""
    first = forging()
    ends = [tuple(first.vertices_mm()[n]) for n in (20, 32)]
    change = straightened(first, *ends)
    ring = shapely.get_coordinates(shapely.segmentize(first.shape.exterior, 0.7))[:-1]
    noise = np.random.default_rng(5).uniform(-0.1, 0.1, ring.shape)
    again = Billet(shape=Polygon(ring + noise, first.shape.interiors))
    apart = shapely.hausdorff_distance(
        edited(first, [change]).shape.exterior, edited(again, [change]).shape.exterior, 0.01
    )
    assert apart < 0.5 + 0.2  # an end may fall on a vertex 0.5 mm along the edge
    assert apart > 0.0


def test_a_change_of_another_piece_is_refused() -> None:
    change = vertex_moved(bar(), (100.0, 40.0), (101.0, 40.0))
    with pytest.raises(InputError, match=r"Change 1 \(move a vertex\).*mm away"):
        edited(Billet(shape=shapely.box(0, 0, 80, 40)), [change])


def test_two_close_ends_in_the_other_order_do_not_take_the_whole_edge() -> None:
    """Noise may turn a short stretch about: the rest of the edge is not it."""
    piece = Billet(shape=shapely.segmentize(shapely.box(0, 0, 100, 40), 1.0))
    change = straightened(piece, (50.0, 0.0), (52.0, 0.0))
    turned = type(change)(
        deed=change.deed,
        start_mm=change.end_mm,
        end_mm=change.start_mm,
        length_mm=change.length_mm,
    )
    with pytest.raises(InputError, match="not there as it was"):
        edited(piece, [turned])


@pytest.mark.parametrize("radius_mm", [0.8, 1.0, 1.5, 2.0, 4.0])
@pytest.mark.parametrize("corners", [2, 7, 12])
def test_nor_that_of_a_small_hole(radius_mm: float, corners: int) -> None:
    """All round a hole of 1.6 mm is 5 mm: less than a measure may move a place of a large edge."""
    hole = shapely.Point(50, 20).buffer(radius_mm, quad_segs=8)  # 32 corners
    piece = Billet(shape=shapely.box(0, 0, 100, 40).difference(hole))
    ring = shapely.get_coordinates(piece.shape.interiors[0])[:-1]
    step_mm = float(np.hypot(*(ring[1] - ring[0])))
    one, other = tuple(ring[3].tolist()), tuple(ring[3 + corners].tolist())
    stretch = {"deed": "straighten", "length_mm": corners * step_mm}
    straight = edited(piece, [Redraw(start_mm=one, end_mm=other, **stretch)])
    assert len(straight.shape.interiors) == 1
    with pytest.raises(InputError, match="not there as it was"):
        edited(piece, [Redraw(start_mm=other, end_mm=one, **stretch)])


@pytest.mark.parametrize(
    ("to_mm", "words"),
    [
        ((50.0, -10.0), "cross or touch itself"),
        ((99.5, 0.2), "hole would no longer lie inside"),
        ((float("nan"), 0.0), "not a number"),
        ((-1e9, 1e9), "beyond 1 km"),
    ],
)
def test_an_edge_that_cannot_be_is_refused(to_mm: tuple[float, float], words: str) -> None:
    piece = bar()
    with pytest.raises(InputError, match=words):
        edited(piece, [vertex_moved(piece, (0.0, 40.0), to_mm)])


def test_an_edge_turned_inside_out_is_refused() -> None:
    piece = Billet(shape=Polygon([(0, 0), (10, 0), (5, 8)]))
    with pytest.raises(InputError, match="inside out"):
        edited(piece, [vertex_moved(piece, (5.0, 8.0), (5.0, -8.0))])


def test_the_last_corners_stay() -> None:
    piece = Billet(shape=Polygon([(0, 0), (10, 0), (5, 8)]))
    with pytest.raises(InputError, match=r"Change 1 \(delete a vertex\): nothing would be left"):
        edited(piece, [vertex_deleted(piece, (5.0, 8.0))])


def test_places_off_the_edge_are_refused() -> None:
    piece = bar()
    with pytest.raises(InputError, match=r"nearest vertex is 5\.0 mm away"):
        vertex_moved(piece, (5.0, 0.0), (5.0, 5.0))
    with pytest.raises(InputError, match="same place"):
        straightened(piece, (0.0, 0.0), (0.1, 0.0))
    with pytest.raises(InputError, match="vertex already"):
        vertex_added(piece, (0.0, 0.0))

"""A piece of steel: what of it can be counted on."""

import math

import pytest
import shapely

from geometry.billet import Billet
from geometry.error_budget import Budget, Part
from geometry.errors import InputError

PEN = Part(name="pen", bias_mm=0.7, sigma_mm=0.3)
INK = Part(name="ink side", bias_mm=0.3, sigma_mm=0.4)
HAND = Part(name="hand", sigma_mm=0.2)  # random: in the vertices' own doubt already


def bar(*parts: Part, **more: object) -> Billet:
    box = shapely.box(0, 0, 100, 40)
    return Billet(shape=box, vertex_sigma_mm=(0.2,) * 4, budget=Budget(parts=parts), **more)


def test_errors_that_make_it_too_large_add_up_and_are_taken_off_all_round() -> None:
    piece = bar(PEN, INK, HAND)
    assert piece.too_large_mm == pytest.approx(1.0)  # 0.7 + 0.3, not 0.76
    assert piece.usable().bounds == pytest.approx((1.0, 1.0, 99.0, 39.0))
    assert piece.shape.bounds == (0.0, 0.0, 100.0, 40.0)  # as it was measured


def test_the_doubt_of_what_was_taken_off_is_added_to_the_edges() -> None:
    piece = bar(PEN, INK, HAND)
    expected = math.sqrt(0.2**2 + 0.3**2 + 0.4**2)  # 0.539: the hand is in the 0.2
    assert piece.sigma_at_mm((0.0, 0.0)) == pytest.approx(expected)
    assert piece.worst_sigma_mm == pytest.approx(expected)
    assert bar(HAND).sigma_at_mm((0.0, 0.0)) == 0.2


def test_a_piece_measured_too_small_is_not_made_larger() -> None:
    piece = bar(Part(name="calipers", bias_mm=-0.5, sigma_mm=0.1))
    assert piece.too_large_mm == 0.0
    assert piece.usable().equals(piece.shape)


def test_flaws_stay_where_they_are() -> None:
    flaw = shapely.box(48, 18, 52, 22)
    room = bar(PEN, flaws=(flaw,)).usable()
    assert room.area == pytest.approx(98.6 * 38.6 - 16.0)
    assert room.distance(shapely.Point(50.0, 20.0)) == pytest.approx(2.0)


def test_nothing_left_is_said() -> None:
    piece = bar(Part(name="pen", bias_mm=25.0))
    with pytest.raises(InputError, match="leaves no steel"):
        piece.usable()


def test_both_halves_are_kept_where_a_neck_is_too_narrow_to_count_on() -> None:
    """Two plates of 40 x 40, a neck 1.4 wide: 0.8 off all round leaves 38.4 x 38.4 twice."""
    dumbbell = shapely.union_all(
        [shapely.box(0, 0, 40, 40), shapely.box(39, 19.3, 61, 20.7), shapely.box(60, 0, 100, 40)]
    )
    piece = Billet(shape=dumbbell, budget=Budget(parts=(Part(name="pen", bias_mm=0.8),)))
    assert [part.area for part in shapely.get_parts(piece.usable())] == pytest.approx(
        [38.4**2] * 2, abs=1.5
    )


def test_an_edge_is_as_doubtful_as_its_own_ends_not_as_a_corner_across() -> None:
    """A long side of a slim piece: from its middle, the vertices of the other side are nearer."""
    piece = Billet(
        shape=shapely.Polygon([(0, 0), (100, 0), (100, 10), (60, 10), (40, 10), (0, 10)]),
        vertex_sigma_mm=(1.0, 2.0, 0.1, 0.1, 0.1, 0.1),
    )
    assert piece.sigma_at_mm((50.0, 0.0)) == pytest.approx(1.5)
    assert piece.sigma_at_mm((25.0, -0.3)) == pytest.approx(1.25)
    assert piece.sigma_at_mm((50.0, 10.0)) == pytest.approx(0.1)
    assert piece.sigma_at_mm((0.0, 5.0)) == pytest.approx(0.55)  # on the side that closes it

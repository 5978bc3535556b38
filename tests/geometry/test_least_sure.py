"""A blank fits for sure only if it does so where the steel is least sure."""

import pytest
import shapely
from shapely import Polygon

from geometry.billet import Billet
from geometry.clearance import UsableRegion
from geometry.error_budget import Budget, Part
from geometry.least_sure import clearance_sigma_mm
from geometry.verdict import Verdict, judge

# The right end is not known: 2 mm, one standard deviation; the left end is, to 0.1 mm.
SIGMAS = (0.1, 2.0, 2.0, 0.1)
SHAPE = Polygon([(0, 0), (100, 0), (100, 40), (0, 40)])


def judged(piece: Billet, blank: Polygon) -> tuple[Verdict, float]:
    spare = UsableRegion(piece.usable()).clearance(blank)
    sigma_mm = clearance_sigma_mm(piece, blank, spare)
    return judge(spare.value_mm, sigma_mm), sigma_mm


def test_a_place_with_more_room_and_more_doubt_rules() -> None:
    """1 mm left at the sure end; 2 mm at the other, which may be 4 mm nearer: -2 mm are left."""
    piece = Billet(shape=SHAPE, vertex_sigma_mm=SIGMAS)
    verdict, sigma_mm = judged(piece, shapely.box(1, 15, 98, 25))
    assert verdict is Verdict.DOUBTFUL
    assert 1.0 - 2 * sigma_mm == pytest.approx(2.0 - 2 * 2.0)


def test_the_tightest_place_rules_where_the_others_have_room_enough() -> None:
    piece = Billet(shape=SHAPE, vertex_sigma_mm=SIGMAS)
    verdict, sigma_mm = judged(piece, shapely.box(1, 15, 60, 25))
    assert verdict is Verdict.FITS
    assert sigma_mm == pytest.approx(0.1)


def test_what_is_taken_off_all_round_is_taken_off_there_too() -> None:
    """A bias of 0.5 +- 0.3 mm: 1.5 mm left at the unsure end, root of 4 + 0.09 in doubt."""
    budget = Budget(parts=(Part(name="pen", bias_mm=0.5, sigma_mm=0.3),))
    piece = Billet(shape=SHAPE, vertex_sigma_mm=SIGMAS, budget=budget)
    _, sigma_mm = judged(piece, shapely.box(1, 15, 98, 25))
    assert 0.5 - 2 * sigma_mm == pytest.approx(1.5 - 2 * (4.0 + 0.09) ** 0.5)


def test_an_exact_piece_has_no_doubt() -> None:
    assert judged(Billet(shape=SHAPE), shapely.box(1, 1, 99, 39)) == (Verdict.FITS, 0.0)


def test_the_edge_of_a_hole_counts() -> None:
    holed = shapely.geometry.polygon.orient(SHAPE.difference(shapely.box(60, 10, 70, 30)))
    piece = Billet(shape=holed, vertex_sigma_mm=(0.1,) * 4 + (1.5,) * 4)
    assert judged(piece, shapely.box(1, 15, 58, 25))[0] is Verdict.DOUBTFUL
    assert judged(piece, shapely.box(1, 15, 56, 25))[0] is Verdict.FITS

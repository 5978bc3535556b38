"""What lies in a blank that is no steel to use."""

import pytest
import shapely
from shapely import box

from geometry.billet import Billet
from geometry.covered import covered, depth_over_mm

STEEL = box(0, 0, 200, 60)
CRACK = box(80, 20, 120, 20.05)
BLANK = box(10, 10, 190, 40)


def test_a_crack_in_the_blank_is_found_however_narrow() -> None:
    over = covered(Billet(shape=STEEL, flaws=(CRACK,)), BLANK)
    assert over is not None
    assert (over.kind, over.alone) == ("flaw", True)
    assert shapely.covers(CRACK, shapely.Point(over.point_mm))
    assert covered(Billet(shape=STEEL, flaws=(CRACK,)), box(10, 20.05, 190, 50)) is None


def test_of_several_the_one_of_which_most_lies_in_the_blank_is_told() -> None:
    hole = box(150, 15, 160, 35)
    steel = Billet(shape=STEEL.difference(hole), flaws=(CRACK,))
    over = covered(steel, BLANK)
    assert over is not None
    assert over.kind == "hole"
    assert shapely.covers(hole, shapely.Point(over.point_mm))


def test_a_blank_that_leaves_the_steel_as_well_is_told_apart() -> None:
    over = covered(Billet(shape=STEEL, flaws=(CRACK,)), box(10, 10, 201, 40))
    assert over is not None
    assert not over.alone


def test_a_hole_of_the_blank_does_not_hide_a_flaw() -> None:
    drilled = BLANK.difference(box(70, 15, 130, 25))
    assert covered(Billet(shape=STEEL, flaws=(CRACK,)), drilled) is not None


def test_a_crack_counts_by_how_deep_it_lies() -> None:
    """Its upper edge lies 10.05 above the blank's lower edge, 19.95 below the upper one."""
    assert depth_over_mm(BLANK, [CRACK]) == pytest.approx(10.05)
    assert depth_over_mm(BLANK, [box(80, 41, 120, 50), box(80, 38, 120, 50)]) == pytest.approx(2.0)
    assert depth_over_mm(BLANK, [box(80, 41, 120, 50)]) == 0.0

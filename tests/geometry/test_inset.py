"""A trace drawn in by its offset: the steel comes back, and none is made up."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import InputError
from geometry.inset import inset
from tests.geometry.shapes import knife, regular, wavy

PIECES = {
    "bar": shapely.box(0, 0, 200, 40),
    "knife": knife(),
    "wavy": wavy(160.0, 50.0, 400, 7, 0.05),
    "bite": shapely.box(0, 0, 200, 40).difference(shapely.box(80, 20, 120, 41)),
    "drilled": shapely.box(0, 0, 200, 40)
    .difference(regular(64, 5.0))
    .difference(shapely.affinity.translate(regular(64, 5.0), 60.0, 20.0)),
}


def traced(steel, offset_mm):
    """A pen's line round steel: its middle rolls round corners, and within holes."""
    return steel.buffer(offset_mm, join_style="round", quad_segs=64)


@pytest.mark.parametrize("name", PIECES)
@pytest.mark.parametrize("offset_mm", [0.1, 0.7, 1.5])
def test_what_the_pen_went_round_comes_back(name, offset_mm):
    steel = PIECES[name]
    back = inset(traced(steel, offset_mm), offset_mm)
    assert back.is_valid
    assert back.exterior.is_ccw
    assert len(back.interiors) == len(steel.interiors)
    assert back.hausdorff_distance(steel) < 0.02  # chords of the round corners


@pytest.mark.parametrize("name", PIECES)
@given(offset_mm=st.floats(0.01, 1.5))
def test_nothing_is_claimed_within_the_offset_of_the_trace(name, offset_mm):
    piece = PIECES[name]
    back = inset(piece, offset_mm)
    assert piece.buffer(1e-7).contains(back)
    assert shapely.distance(back, piece.exterior) >= offset_mm - 1e-6
    for hole in piece.interiors:
        assert shapely.distance(back, shapely.Polygon(hole)) >= offset_mm - 1e-6


@given(first=st.floats(0.0, 1.0), more=st.floats(0.0, 1.0))
def test_a_larger_offset_never_leaves_more_steel(first, more):
    piece = PIECES["knife"]
    assert inset(piece, first).buffer(1e-6).contains(inset(piece, first + more))


def test_sides_and_holes_move_by_the_offset():
    """By hand: a bar loses twice the offset each way, a hole of 10 mm gains as much."""
    bar = shapely.box(0, 0, 200, 40).difference(shapely.box(95, 15, 105, 25))
    back = inset(bar, 0.5)
    assert back.bounds == pytest.approx((0.5, 0.5, 199.5, 39.5))
    assert shapely.bounds(back.interiors[0]) == pytest.approx((94.5, 14.5, 105.5, 25.5))
    assert back.area == pytest.approx(199 * 39 - 11 * 11)


def test_a_trace_that_is_too_small_grows_by_arcs():
    square = inset(shapely.box(0, 0, 20, 20), -1.0)
    assert square.bounds == pytest.approx((-1, -1, 21, 21))
    # by hand: 22 x 22 less what four quarter circles of 1 mm leave of their squares
    assert square.area == pytest.approx(484 - (4 - math.pi), abs=0.01)


def test_an_inner_corner_is_drawn_in_along_both_sides():
    notched = shapely.box(0, 0, 20, 20).difference(shapely.box(10, 10, 21, 21))
    back = inset(notched, 1.0)
    assert shapely.get_coordinates(back).tolist().count([9.0, 9.0]) == 1
    assert not back.intersects(shapely.Point(9.2, 9.2))  # 1.13 mm from the corner: beyond an arc


def test_the_largest_part_is_kept_where_a_neck_parts():
    dumbbell = shapely.union_all(
        [shapely.box(0, 0, 30, 20), shapely.box(30, 9.5, 40, 10.5), shapely.box(40, 0, 90, 20)]
    )
    back = inset(dumbbell, 1.0)
    assert back.bounds == pytest.approx((41, 1, 89, 19))


@pytest.mark.parametrize("offset_mm", [30.0, math.nan, math.inf])
def test_an_offset_that_leaves_nothing_is_refused(offset_mm):
    with pytest.raises(InputError, match=r"[Tt]race offset"):
        inset(PIECES["bar"], offset_mm)

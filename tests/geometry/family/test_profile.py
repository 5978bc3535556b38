"""Families whose edge was drawn once: pieces, stretches, rigid zones in a file."""

import math

import pytest

from geometry.curves import Arc, Line
from geometry.errors import InputError
from geometry.family import Family, family_from_text

# A plate 100 by 20 with a slot and a hole, and round at its end; its right half stretches.
PLATE = """
format = 2
name = "Own plate"
kept = [0, 0]

[[parameter]]
key = "length"
label = "Length"
unit = "mm"
default = 50
low = 30
high = 90
help = "Of the right half."

[[piece]]
kind = "line"
points = [[-50, 0], [50, 0]]

[[piece]]
kind = "arc"
points = [[50, 0], [50, 20]]
sweep = 180

[[piece]]
kind = "line"
points = [[50, 20], [-50, 20]]

[[piece]]
kind = "cubic"
points = [[-50, 20], [-55, 15], [-55, 5], [-50, 0]]

[[piece]]
cutout = 1
kind = "line"
points = [[46, 8], [50, 8]]

[[piece]]
cutout = 1
kind = "line"
points = [[50, 8], [48, 12]]

[[piece]]
cutout = 1
kind = "line"
points = [[48, 12], [46, 8]]

[[stretch]]
axis = "x"
from = 0
to = 40
by = "length - 50"

[[hole]]
kind = "pin"
x = 20
y = 10
diameter = 6
web = 3

[[mark]]
kind = "handle front"
across = 45

[[station]]
name = "tip"
x = 60
y = 10
"""


def plate() -> Family:
    return family_from_text(PLATE, "own_plate")


def test_with_its_own_values_it_is_what_was_drawn() -> None:
    outline = plate().outline()
    assert [type(piece).__name__ for piece in outline.chain] == ["Line", "Arc", "Line", "Cubic"]
    assert outline.chain == plate().profile.chain
    assert outline.cutouts == plate().profile.cutouts
    assert [(h.x_mm, h.y_mm, h.diameter_mm) for h in outline.holes] == [(20.0, 10.0, 6.0)]


def test_all_that_lies_on_it_moves_along_and_holes_keep_their_size() -> None:
    outline = plate().outline({"length": 74})
    [hole] = outline.holes
    # Half way along the stretch half of the 24 mm; beyond its end all of them.
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == pytest.approx((32, 10, 6))
    [mark] = outline.marks
    assert mark.points_mm[0] == pytest.approx((69, 0))
    assert mark.points_mm[1] == pytest.approx((69, 20))
    [tip] = outline.stations
    assert (tip.x_mm, tip.y_mm) == pytest.approx((84, 10))
    [cutout] = outline.cutouts
    starts = [number for piece in cutout for number in piece.start]
    assert starts == pytest.approx([70, 8, 74, 8, 72, 12])
    end = next(piece for piece in outline.chain if isinstance(piece, Arc))
    assert (end.radius_mm, end.sweep_rad) == pytest.approx((10, math.pi))
    assert all(isinstance(piece, Line) for piece in (outline.chain[0], outline.chain[2]))
    assert outline.overall_length_mm == pytest.approx(113.75 + 24, abs=0.02)


@pytest.mark.parametrize(
    ("was", "slip", "message"),
    [
        ("sweep = 180", "sweep = 0", "there is no such arc"),
        ("sweep = 180", "", "“sweep”: it is missing"),
        ('kind = "cubic"', 'kind = "line"', "a line has 2 of them"),
        ('kind = "cubic"', 'kind = "spline"', "one of line, arc, cubic"),
        ("[[-50, 0], [50, 0]]", "[[-50, 0], [50, 0, 1]]", r"a place has to be \[x, y\]"),
        ("[[-50, 0], [50, 0]]", '[[-50, 0], ["length", 0]]', r"a place has to be \[x, y\]"),
        ("[[-50, 0], [50, 0]]", "[[-50, 0], [50, nan]]", r"a place has to be \[x, y\]"),
        ("[[-50, 0], [50, 0]]", "[[-50, 0], [49, 0]]", "the edge is open by 1 mm"),
        ("[48, 12]]", "[48, 13]]", "the edge is open by 1 mm"),
        ("to = 40", "to = 0", "begins and ends at two places"),
        ('by = "length - 50"', 'by = "lenght - 50"', "uses “lenght”"),
        ('axis = "x"', 'axis = "z"', "one of x, y"),
        ('axis = "x"', 'axis = "y"', "“about”: it is missing"),
        ('axis = "x"', 'axis = "x"\nabout = 3', "“about”: it is not known here"),
        ('axis = "x"', 'axis = "y"\nabout = 3\nfull_at = 3', "“full_at”: it is not known here"),
        ('axis = "x"', 'axis = "y"\nabout = 3\ngone_at = 3', "“full_at”: it is missing"),
        ("kept = [0, 0]", "kept = [0]", r"a place has to be \[x, y\]"),
        ("cutout = 1\n", "cutout = -1\n", "“cutout”"),
        ("[[hole]]", "[[rigid]]\nx = 1\ny = 2\nradius = 4\nfade = 1\n[[hole]]", "half the radius"),
        ("[[hole]]", "[[node]]\nx = 1\ny = 2\n[[hole]]", "nodes, or is made of pieces, not both"),
    ],
)
def test_a_slip_gets_one_clear_line(was: str, slip: str, message: str) -> None:
    assert was in PLATE
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(PLATE.replace(was, slip, 1), "own_plate")
    assert len(str(caught.value).splitlines()) == 1


def test_more_stretches_than_any_knife_has_are_refused() -> None:
    """Each costs time at every place of the edge: a hostile file is not worked out."""
    many = PLATE + '[[stretch]]\naxis = "x"\nfrom = 0\nto = 1\nby = 0\n' * 40
    with pytest.raises(InputError, match="“stretch”: there are more than 40"):
        family_from_text(many, "own_plate")


def test_a_stretch_without_an_edge_is_refused() -> None:
    bare = '\n[[stretch]]\naxis = "x"\nfrom = 0\nto = 1\nby = 1\n'
    with pytest.raises(InputError, match="no pieces of an edge to stretch"):
        family_from_text(f'format = 2\nname = "Bare"\n{bare}', "bare")

"""Two traces become one billet, and what is said of them is true."""

import pytest
import shapely
import shapely.affinity
from shapely import Polygon

from app.document.two_traces import smaller_of
from geometry.billet import Billet
from geometry.errors import InputError
from geometry.pose import Pose
from tests.geometry.shapes import regular

TRAPEZOID = Polygon([(0, 0), (200, 0), (190, 36), (10, 42)])


def told(first: Polygon, second: Polygon, turned: bool | None) -> str:
    _, notes = smaller_of(Billet(shape=first), Billet(shape=second), turned=turned)
    return " ".join(notes)


@pytest.mark.parametrize("turned", [True, False])
@pytest.mark.parametrize("turn_deg", [0.0, 33.0])
def test_a_bar_end_for_end(turned: bool, turn_deg: float) -> None:
    bar = shapely.box(0, 0, 200, 40)
    other = shapely.affinity.rotate(bar, turn_deg)
    words = told(bar, other, turned)
    assert "2 ways about as well: which end is which" in words
    assert ("turned over between them" in words) == turned


def test_a_square_has_no_ends() -> None:
    square = shapely.box(0, 0, 40, 40)
    words = told(square, square, False)
    assert "at least 4 ways about as well: which way they belong" in words
    assert "which end" not in words


def test_a_round_piece_fits_more_ways_than_were_tried() -> None:
    words = told(regular(180, 40.0), regular(180, 40.0, turn_deg=17.3), False)
    assert "at least 4 ways" in words
    assert "which end" not in words
    assert "whichever is true" not in words


def test_three_equal_sides_have_no_ends() -> None:
    words = told(regular(3, 60.0), regular(3, 60.0), False)
    assert "3 ways about as well: which way they belong" in words
    assert "whichever is true" in words


def test_that_a_piece_was_turned_over_is_said_only_where_it_is_known() -> None:
    """A kite is its own mirror image; a trapezoid with one slope of its own is not."""
    kite = Polygon([(0, 0), (60, -20), (200, 0), (60, 20)])
    mirrored = Pose(mirrored=True)
    assert "turned over between them" not in told(kite, mirrored.shape(kite), None)
    assert "2 ways about as well, turned over or not" in told(kite, mirrored.shape(kite), None)
    assert "turned over between them" in told(TRAPEZOID, mirrored.shape(TRAPEZOID), None)


def thick(thickness_mm: float | None) -> Billet:
    return Billet(shape=TRAPEZOID, thickness_mm=thickness_mm)


@pytest.mark.parametrize(
    ("first_mm", "second_mm", "kept_mm", "noted"),
    [
        (4.0, 4.2, 4.0, True),
        (4.2, 4.0, 4.2, True),
        (4.0, 4.02, 4.0, False),
        (None, 4.0, 4.0, False),
        (4.0, None, 4.0, False),
        (None, None, None, False),
    ],
)
def test_a_thickness_that_differs_a_little_is_noted(
    first_mm: float | None, second_mm: float | None, kept_mm: float | None, noted: bool
) -> None:
    billet, notes = smaller_of(thick(first_mm), thick(second_mm), turned=False)
    assert billet.thickness_mm == kept_mm
    assert any(f"{kept_mm:g} mm is kept" in note for note in notes if kept_mm) == noted


def test_a_thickness_that_differs_a_lot_is_another_piece() -> None:
    with pytest.raises(InputError, match=r"4 mm thick, the second 6\.35 mm.*not of one piece"):
        smaller_of(thick(4.0), thick(6.35), turned=False)


def test_a_flaw_of_a_smaller_face_lies_once_where_it_is() -> None:
    """The second face is 3 mm smaller all round, and was turned over: y to -y."""
    flaw = shapely.box(20, 10, 30, 15)
    mirrored = Pose(mirrored=True)
    smaller = mirrored.shape(TRAPEZOID.buffer(-3.0, join_style="mitre"))
    second = Billet(shape=smaller, flaws=(mirrored.shape(flaw),))
    billet, notes = smaller_of(Billet(shape=TRAPEZOID), second)
    assert len(billet.flaws) == 1
    assert billet.flaws[0].symmetric_difference(flaw).area < 1.0
    assert "turned over between them" in notes[0]


def test_a_wedge_that_may_have_been_turned_over_is_not_said_to_have_been() -> None:
    """40 to 46 mm, the second face 3 mm smaller: by 0.7 mm at its ends, either way fits."""
    wedge = Polygon([(0, 0), (200, 0), (200, 46), (0, 40)])
    words = told(wedge, wedge.buffer(-3.0, join_style="mitre"), None)
    assert "turned over between them" not in words
    assert "turned over or not" in words

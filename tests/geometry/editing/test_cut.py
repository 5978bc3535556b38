"""The piece sawn through."""

import itertools

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from geometry.billet import Billet
from geometry.editing import AddFlaw, Cut, edited
from geometry.editing.cut import SAW_MM
from geometry.errors import InputError
from tests.geometry.editing.moving import bar, forging, lengths

BAR = shapely.box(0, 0, 100, 40)


def test_the_larger_part_is_kept_with_the_saws_doubt_on_its_new_edge() -> None:
    piece = bar()
    there = edited(piece, [Cut(start_mm=(30.0, -5.0), end_mm=(30.0, 45.0))])
    assert there.shape.exterior.equals(shapely.box(30, 0, 100, 40).exterior)
    assert there.sigma_at_mm((30.0, 0.0)) == SAW_MM
    assert there.sigma_at_mm((30.0, 40.0)) == SAW_MM
    assert there.sigma_at_mm((100.0, 0.0)) == piece.sigma_at_mm((100.0, 0.0))
    assert there.sigma_at_mm((80.0, 25.0)) == piece.sigma_at_mm((80.0, 25.0))


def test_the_part_that_is_pointed_at_is_kept() -> None:
    cut = Cut(start_mm=(30.0, -5.0), end_mm=(30.0, 45.0), keep_mm=(10.0, 10.0), kerf_mm=2.0)
    assert edited(bar(), [cut]).shape.equals(shapely.box(0, 0, 29, 40))


def test_a_line_drawn_within_the_steel_is_carried_on_to_the_edge() -> None:
    cut = Cut(start_mm=(50.0, 10.0), end_mm=(50.0, 20.0), keep_mm=(10.0, 10.0))
    assert edited(Billet(shape=BAR), [cut]).shape.equals(shapely.box(0, 0, 50, 40))


@pytest.mark.parametrize("kerf_mm", [0.0, 2.0])
def test_one_arm_of_a_crooked_piece_is_cut_alone(kerf_mm: float) -> None:
    horseshoe = BAR.difference(shapely.box(20, 10, 80, 40))
    cut = Cut(start_mm=(-5.0, 30.0), end_mm=(25.0, 30.0), kerf_mm=kerf_mm)
    there = edited(Billet(shape=horseshoe), [cut])
    assert there.shape.equals(horseshoe.difference(shapely.box(0, 30 - kerf_mm / 2, 20, 40)))


def test_a_flaw_on_the_part_that_goes_goes_with_it() -> None:
    spots = [AddFlaw(points_mm=((x, 20.0),), reach_mm=3.0) for x in (10.0, 60.0)]
    there = edited(bar(), [*spots, Cut(start_mm=(30.0, 0.0), end_mm=(30.0, 40.0))])
    assert [flaw.centroid.x for flaw in there.flaws] == pytest.approx([60.0])


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (((-5.0, 50.0), (105.0, 50.0)), "misses the steel"),
        (((0.0, 40.0), (100.0, 40.0)), "misses the steel|does not part"),
        (((75.0, 5.0), (75.0, 20.0)), "does not part"),
        (((1.0, 1.0), (1.0, 1.0)), "no length"),
    ],
)
def test_a_line_that_parts_nothing_is_refused(
    line: tuple[tuple[float, float], tuple[float, float]], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        edited(bar(), [Cut(start_mm=line[0], end_mm=line[1])])


@pytest.mark.parametrize("kerf_mm", [1.18e-38, 1e-17, 1e-15, 1e-12, 1e-9, 1e-6, 1.1e-6, 1e-5])
@pytest.mark.parametrize("x_mm", [1.0, 30.3, 50.7])
def test_a_kerf_of_next_to_nothing_parts_the_piece_as_none_does(
    kerf_mm: float, x_mm: float
) -> None:
    """Places in millimetres carry 16 figures: a kerf in the last of them cannot be told from 0."""
    steel = shapely.box(-0.1, 0, 100.2, 40.3)
    ends = {"start_mm": (x_mm, -5.0), "end_mm": (x_mm + 0.7, 45.0)}
    there, sharp = (
        edited(Billet(shape=steel), [Cut(kerf_mm=kerf, **ends)]) for kerf in (kerf_mm, 0.0)
    )
    assert there.shape.area == pytest.approx(sharp.shape.area, abs=41 * kerf_mm + 1e-9)
    assert sorted(there.vertex_sigma_mm) == sorted(sharp.vertex_sigma_mm)


@pytest.mark.parametrize("keep_mm", [None, (50.0, 20.0)])
def test_an_end_is_trimmed_by_less_than_half_the_kerf(
    keep_mm: tuple[float, float] | None,
) -> None:
    """The blade's middle is 0.5 mm inside the end, half of its 2 mm reach 1.5 mm."""
    cut = Cut(start_mm=(0.5, -5.0), end_mm=(0.5, 45.0), kerf_mm=2.0, keep_mm=keep_mm)
    there = edited(bar(), [cut])
    assert there.shape.exterior.equals(shapely.box(1.5, 0, 100, 40).exterior)
    assert there.sigma_at_mm((1.5, 40.0)) == SAW_MM
    assert there.sigma_at_mm((100.0, 40.0)) == bar().sigma_at_mm((100.0, 40.0))


def test_the_part_that_the_saw_takes_whole_is_not_kept() -> None:
    cut = Cut(start_mm=(0.5, -5.0), end_mm=(0.5, 45.0), kerf_mm=2.0, keep_mm=(0.2, 20.0))
    with pytest.raises(InputError, match="takes all of the part to keep"):
        edited(bar(), [cut])
    with pytest.raises(InputError, match="takes all of the piece"):
        edited(Billet(shape=BAR), [Cut(start_mm=(50, -5), end_mm=(50, 45), kerf_mm=101.0)])


def test_a_slot_into_a_hole_is_no_cut_whatever_the_kerf() -> None:
    for kerf_mm in (0.0, 1e-9, 2.0):
        with pytest.raises(InputError, match="does not part"):
            edited(bar(), [Cut(start_mm=(75, 5), end_mm=(75, 20), kerf_mm=kerf_mm)])


def test_a_part_that_is_not_there_is_not_kept() -> None:
    with pytest.raises(InputError, match=r"Change 1 \(cut\): the part to keep is not there"):
        edited(bar(), [Cut(start_mm=(30, -5), end_mm=(30, 45), keep_mm=(-20.0, 20.0))])


def test_nothing_left_is_refused() -> None:
    cut = Cut(start_mm=(0.01, -5.0), end_mm=(0.01, 45.0), keep_mm=(0.0, 20.0))
    with pytest.raises(InputError, match="nothing of the piece"):
        edited(bar(), [cut])


@given(
    ends=st.tuples(*[lengths(-120, 120), lengths(-45, 45)] * 2),
    kerf_mm=st.sampled_from([0.0, 0.8, 3.0]),
)
@settings(max_examples=60, deadline=None)
def test_the_parts_add_up_to_the_whole_less_the_swarf(
    ends: tuple[float, float, float, float], kerf_mm: float
) -> None:
    steel = forging().shape
    try:
        cut = Cut(start_mm=ends[:2], end_mm=ends[2:], kerf_mm=kerf_mm)
        parts = cut.parts(steel)
    except InputError:
        assume(False)
    assert all(part.is_valid and isinstance(part, Polygon) for part in parts)
    left = sum(part.area for part in parts)
    swarf = cut.swarf(steel).area
    assert left + swarf == pytest.approx(steel.area, rel=1e-9)
    assert shapely.union_all(parts).difference(steel).area < 1e-9
    for one, other in itertools.combinations(parts, 2):
        assert one.intersection(other).area < 1e-9

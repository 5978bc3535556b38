"""Whatever is changed by hand: the piece stays a piece, and every change can be taken back."""

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.billet import Billet
from geometry.clearance import UsableRegion
from geometry.editing import (
    AddFlaw,
    Cut,
    Edit,
    RemoveFlaw,
    edited,
    straightened,
    vertex_added,
    vertex_deleted,
    vertex_moved,
)
from geometry.errors import InputError
from tests.geometry.editing.moving import (
    bar,
    billet_carried,
    edit_carried,
    forging,
    lengths,
)

PLACES = st.tuples(lengths(-110, 110), lengths(-35, 35))


def change(billet: Billet, kind: int, numbers: list[Any]) -> Edit:
    """One change, of a kind and from places drawn at random, on the edge where it has to be."""
    vertices = billet.vertices_mm()
    one, other = (tuple(vertices[int(n * 1e6) % len(vertices)].tolist()) for n in numbers[2])
    near = (one[0] + numbers[1][0] / 20, one[1] + numbers[1][1] / 20)
    match kind:
        case 0:
            return vertex_moved(billet, one, near)
        case 1:
            return vertex_added(billet, near, numbers[0])
        case 2:
            return vertex_deleted(billet, one)
        case 3:
            return straightened(billet, one, other)
        case 4:
            return Cut(start_mm=numbers[0], end_mm=numbers[1], kerf_mm=numbers[2][0])
        case 5:
            return AddFlaw(points_mm=(numbers[0], numbers[1]), reach_mm=0.1 + numbers[2][0])
        case _:
            return RemoveFlaw(at_mm=numbers[0])


CHANGES = st.lists(
    st.tuples(
        st.integers(0, 6),
        st.tuples(PLACES, PLACES, st.tuples(lengths(0, 3), lengths(0, 3))),
    ),
    max_size=6,
)


def made(piece: Billet, drawn: list[Any]) -> tuple[list[Edit], list[Billet]]:
    """The changes that can be made in turn, and the piece before the first and after each."""
    edits: list[Edit] = []
    states = [piece]
    for kind, numbers in drawn:
        try:
            edit = change(states[-1], kind, list(numbers))
            states.append(edited(piece, [*edits, edit]))
            edits.append(edit)
        except InputError:
            continue
    return edits, states


@given(drawn=CHANGES, holed=st.booleans())
@settings(max_examples=80, deadline=None)
def test_any_changes_leave_a_piece_and_taking_them_back_the_very_same(
    drawn: list[Any], holed: bool
) -> None:
    piece = bar() if holed else forging()
    edits, states = made(piece, drawn)
    for count, state in enumerate(states):
        assert state.shape.is_valid
        assert not state.shape.is_empty
        assert len(state.vertex_sigma_mm) == len(state.vertices_mm())
        assert np.isfinite(state.vertex_sigma_mm).all()
        assert edited(piece, edits[:count]) == state
    assert edited(piece, ()) is piece


@given(drawn=CHANGES, angle=lengths(-180, 180), x=lengths(-500, 500), y=lengths(-500, 500))
@settings(max_examples=40, deadline=None)
def test_turning_and_shifting_piece_and_changes_changes_nothing(
    drawn: list[Any], angle: float, x: float, y: float
) -> None:
    edits, states = made(forging(), drawn)
    there = billet_carried(states[-1], angle, x, y)
    again = edited(
        billet_carried(forging(), angle, x, y), [edit_carried(e, angle, x, y) for e in edits]
    )
    assert shapely.symmetric_difference(there.shape, again.shape).area < 1e-6
    assert sorted(there.vertex_sigma_mm) == pytest.approx(sorted(again.vertex_sigma_mm))
    assert len(there.flaws) == len(again.flaws)


@given(places=st.lists(st.tuples(PLACES, lengths(0.1, 15)), min_size=1, max_size=5))
@settings(max_examples=60, deadline=None)
def test_a_flaw_never_adds_usable_steel(places: list[Any]) -> None:
    piece = forging()
    room = piece.usable()
    blank = shapely.box(-20, -5, 20, 5)
    spare_mm = UsableRegion(room).clearance(blank).value_mm
    for at, reach_mm in places:
        try:
            piece = edited(piece, [AddFlaw(points_mm=(at,), reach_mm=reach_mm)])
        except InputError:
            continue
        assert piece.usable().difference(room).area < 1e-9
        assert piece.usable().distance(shapely.Point(at)) >= reach_mm - 1e-9
        room = piece.usable()
        now_mm = UsableRegion(room).clearance(blank).value_mm
        assert now_mm <= spare_mm + 1e-3
        spare_mm = now_mm


def test_a_crack_an_area_and_a_spot() -> None:
    crack = AddFlaw(points_mm=((50.0, 20.0), (60.0, 20.0)), reach_mm=1.0)
    area = AddFlaw(points_mm=((0.0, 0.0), (10.0, 0.0), (10.0, 10.0)))
    spot = AddFlaw(points_mm=((30.0, 30.0),), reach_mm=2.0)
    there = edited(bar(), [crack, area, spot])
    areas = [flaw.area for flaw in there.flaws]
    assert areas == pytest.approx([20 + np.pi, 50, 4 * np.pi], rel=2e-3)
    assert there.usable().area == pytest.approx(bar().shape.area - sum(areas))
    back = edited(there, [RemoveFlaw(at_mm=(55.0, 20.5))])
    assert [flaw.area for flaw in back.flaws] == pytest.approx(areas[1:])


def test_a_flaw_right_through_leaves_two_parts() -> None:
    there = edited(bar(), [AddFlaw(points_mm=((50.0, -5.0), (50.0, 45.0)), reach_mm=2.0)])
    assert sorted(part.area for part in shapely.get_parts(there.usable())) == pytest.approx(
        [48 * 40 - 100, 48 * 40], rel=1e-3
    )


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (AddFlaw(points_mm=((-50.0, 0.0),), reach_mm=2.0), "off the piece"),
        (AddFlaw(points_mm=((50.0, 20.0),), reach_mm=500.0), "leave no steel"),
        (AddFlaw(points_mm=((0, 0), (9, 9), (9, 0), (0, 9))), "crosses itself"),
        (AddFlaw(points_mm=((0, 0), (9, 0), (9, 9), (9, 4), (9, 0))), "runs back on itself"),
        (AddFlaw(points_mm=((0, 0), (5, 5), (10, 10)), reach_mm=1.0), "encloses nothing"),
        (AddFlaw(points_mm=((0, 0), (0.1, 0.3), (0.7, 2.1)), reach_mm=1.0), "encloses nothing"),
        (AddFlaw(points_mm=((5, 5), (5, 5), (5, 5)), reach_mm=1.0), "encloses nothing"),
        (RemoveFlaw(at_mm=(50.0, 20.0)), "no flaw"),
    ],
)
def test_a_flaw_that_cannot_be_is_refused_by_its_number(edit: Edit, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        edited(bar(), [Cut(start_mm=(90.0, 0.0), end_mm=(90.0, 9.0)), edit])
    assert caught.value.where == f"Change 2 ({edit.name})"


def test_a_spot_needs_room() -> None:
    with pytest.raises(InputError, match="takes no room"):
        AddFlaw(points_mm=((1.0, 1.0),))
    with pytest.raises(InputError, match="without a place"):
        AddFlaw(points_mm=())

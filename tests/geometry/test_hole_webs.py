"""What is told of the steel beside holes after the edge was moved."""

import pytest

from geometry.hole_webs import thinned_webs
from geometry.node_edit import nodes_mm, with_node_moved
from geometry.outline import Hole, Outline, outline_from_rings

BAR = Outline(
    name="bar",
    chain=outline_from_rings("bar", [(0, 0), (50, 0), (100, 0), (100, 30), (0, 30)]).chain,
    holes=(
        Hole(x_mm=50.0, y_mm=10.0, diameter_mm=6.0, kind="pin"),
        Hole(x_mm=80.0, y_mm=28.0, diameter_mm=2.0, kind="pin"),
    ),
)


def moved(y_mm: float) -> Outline:
    """The middle of the lower edge at a height: it bends smoothly, level there."""
    return with_node_moved(BAR, nodes_mm(BAR).index((50.0, 0.0)), (50.0, y_mm))


def test_a_hole_whose_web_gets_too_thin_is_told() -> None:
    """The pin's edge is at y 7: 1 mm over an edge at y 6, where 2 mm are usual."""
    [thin] = thinned_webs(BAR, moved(6.0))
    assert thin.hole == BAR.holes[0]
    assert thin.web_mm == pytest.approx(1.0, abs=0.03)
    assert thin.usual_mm == 2.0  # common practice, no source


@pytest.mark.parametrize("y_mm", [4.9, 0.0, -5.0])
def test_what_has_enough_steel_or_no_less_than_before_is_not_told(y_mm: float) -> None:
    """The other hole has 1 mm and keeps it."""
    assert thinned_webs(BAR, moved(y_mm)) == ()

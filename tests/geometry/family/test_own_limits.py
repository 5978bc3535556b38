"""What a family of a maker's own does not hold is told of the drawing."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from geometry.errors import InputError
from geometry.family.saving import family_of
from geometry.features import Hole, Mark, Station
from geometry.outline import Outline, outline_from_rings
from tests.geometry.family.saved import FLAT


def many_holes() -> Outline:
    places = [(2 + i % 40 * 2.3, 3 + i // 40 * 4) for i in range(220)]
    return replace(FLAT, holes=tuple(Hole(x_mm=x, y_mm=y, diameter_mm=1.0) for x, y in places))


def many_lines() -> Outline:
    lines = [Mark(kind="line", points_mm=((0.0, 0.0), (i / 10 + 1, 1.0))) for i in range(205)]
    return replace(FLAT, marks=tuple(lines))


def many_pieces() -> Outline:
    angle = np.linspace(0, 2 * np.pi, 6000, endpoint=False)
    return outline_from_rings("fine", np.column_stack([100 * np.cos(angle), 20 * np.sin(angle)]))


def nameless() -> Outline:
    return replace(FLAT, stations=(Station(name="", x_mm=0.0, y_mm=10.0),))


@pytest.mark.parametrize(
    ("outline", "message"),
    [
        (many_holes, "has 220 holes; a shape of your own keeps at most 200. Draw it with fewer"),
        (many_lines, "has 205 lines drawn on it"),
        (many_pieces, "has 6000 pieces of edge; a shape of your own keeps at most 5000"),
        (nameless, "one of its named places has no name. Name it"),
    ],
)
def test_what_a_file_does_not_hold_is_told_of_the_drawing(
    outline: Callable[[], Outline], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        family_of(outline(), name="Mine")

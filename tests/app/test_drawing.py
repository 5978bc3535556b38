"""Moving and turning a drawing, and its box."""

import datetime
import math

import pytest

from app.document.drawing import (
    LAYERS,
    Circle,
    Cross,
    Drawing,
    Polyline,
    Text,
    TitleBlock,
    box_of,
)
from geometry.curves import Arc, Cubic, Line, flatten_chain
from geometry.pose import Pose

TITLE = TitleBlock(name="x", date=datetime.date(2026, 1, 2))
ITEMS = (
    Polyline(layer="PROFILE", points_mm=((0.0, 0.0), (10.0, 0.0), (10.0, 4.0)), closed=True),
    Circle(layer="HOLES", x_mm=12.0, y_mm=1.0, diameter_mm=2.0),
    Cross(layer="CENTRES", x_mm=12.0, y_mm=1.0, size_mm=6.0),
    Text(layer="TEXT", x_mm=99.0, y_mm=99.0, text="far", height_mm=2.0),
)


def test_the_box_holds_lines_circles_and_crosses_and_no_words() -> None:
    assert box_of(ITEMS) == (0.0, -2.0, 15.0, 4.0)
    assert box_of(ITEMS[3:]) == (0.0, 0.0, 0.0, 0.0)


def test_a_quarter_turn_takes_x_to_y() -> None:
    turned = Drawing(items=ITEMS, title=TITLE).turned(math.pi / 2)
    line, circle, _, words = turned.items
    assert isinstance(line, Polyline)
    assert line.points_mm[2] == pytest.approx((-4.0, 10.0))
    assert isinstance(circle, Circle)
    assert (circle.x_mm, circle.y_mm) == pytest.approx((-1.0, 12.0))
    assert isinstance(words, Text)
    assert (words.x_mm, words.y_mm) == pytest.approx((-99.0, 99.0))


def test_a_lines_arcs_and_curves_go_with_its_points() -> None:
    chain = (
        Line(start=(0.0, 0.0), end=(10.0, 0.0)),
        Arc(start=(10.0, 0.0), end=(10.0, 4.0), sweep_rad=1.0),
        Cubic(start=(10.0, 4.0), control1=(7.0, 5.0), control2=(2.0, 2.0), end=(0.0, 0.0)),
    )
    line = Polyline(layer="PROFILE", points_mm=((0.0, 0.0),), closed=True, chain=chain)
    (there,) = Drawing(items=(line,), title=TITLE).turned(0.3).moved(5.0, -1.0).items
    assert isinstance(there, Polyline)
    pose = Pose(x_mm=5.0, y_mm=-1.0, theta_rad=0.3)
    assert flatten_chain(there.chain, 0.01) == pytest.approx(
        pose.points(flatten_chain(chain, 0.01))
    )


def test_moving_moves_the_box() -> None:
    assert Drawing(items=ITEMS, title=TITLE).moved(5.0, -1.0).box_mm() == (5.0, -3.0, 20.0, 3.0)


def test_no_line_is_finer_than_a_printer_draws() -> None:
    """A dot of a 300 dpi printer is 25.4 / 300 = 0.085 mm."""
    assert min(layer.width_mm for layer in LAYERS.values()) > 0.085
    assert 0.15 <= LAYERS["PROFILE"].width_mm <= 0.25

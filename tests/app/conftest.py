"""A blank with holes and marks on a piece of steel, for the tests of drawings and exports."""

import datetime
import itertools
import math
from collections.abc import Callable

import pytest
import shapely

from app.document.drawing import Drawing, TitleBlock
from app.document.pattern import PatternOptions, pattern_drawing
from geometry.billet import Billet
from geometry.curves import Arc, Line
from geometry.outline import Hole, Mark, Outline
from geometry.pose import Pose

DAY = datetime.date(2026, 3, 7)


def blade(length_mm: float = 180.0) -> Outline:
    """A handle of straight pieces and a blade whose spine is an arc down to the tip."""
    half = length_mm / 2
    corners = [(half, 4.0), (0.0, -3.0), (-half, -6.0), (-half - 4.0, 20.0), (0.0, 24.0)]
    sides = [Line(start=a, end=b) for a, b in itertools.pairwise(corners)]
    top = Arc(start=corners[-1], end=corners[0], sweep_rad=-math.radians(30.0))
    return Outline(
        name="blade",
        chain=(*sides, top),
        holes=(
            Hole(x_mm=-20.0, y_mm=10.0, diameter_mm=6.35),
            Hole(x_mm=-half + 12.0, y_mm=8.0, diameter_mm=3.175),
        ),
        marks=(
            Mark(kind="plunge line", points_mm=((2.0, -2.0), (2.0, 23.0))),
            Mark(kind="centre line", points_mm=((-half, 8.0), (0.0, 10.0))),
        ),
    )


def pattern(
    *,
    length_mm: float = 180.0,
    pose: Pose | None = None,
    options: PatternOptions | None = None,
    name: str = "Creek knife",
) -> Drawing:
    """The blade's pattern on a billet with a corner cut off."""
    outline, pose = blade(length_mm), pose or Pose(x_mm=120.0, y_mm=30.0, theta_rad=0.06)
    left, bottom, right, top = pose.shape(outline.polygon()).bounds
    steel = shapely.Polygon(
        [
            (left - 6, bottom - 5),
            (right + 7, bottom - 4),
            (right + 5, top + 3),
            (left + 15, top + 6),
            (left - 6, top - 4),
        ]
    )
    return pattern_drawing(
        outline=outline,
        pose=pose,
        billet=Billet(shape=steel, thickness_mm=3.2),
        title=TitleBlock(name=name, date=DAY, thickness_mm=3.2),
        options=options or PatternOptions(margin_mm=1.0),
    )


@pytest.fixture(scope="session")
def make_pattern() -> Callable[..., Drawing]:
    return pattern


@pytest.fixture(scope="session")
def make_blade() -> Callable[..., Outline]:
    return blade

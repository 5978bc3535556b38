"""A handle less wide than its blade, joined to it by a slope: the widths mix along that."""

import numpy as np
import pytest

from geometry.family import Family
from geometry.family.saving import family_of
from geometry.features import Mark, Station
from geometry.hobby import Knot, hobby_curve
from geometry.outline import Outline


def necked(front_mm: float) -> Outline:
    """A blade 40 wide and a handle of 24, 25 mm of slope between."""
    over = [(150, 28), (110, 40), (40, 42), (-60, 40), (-120, 38), (-130, 29), (-122, 14)]
    below = [(-80, 18), (-40, 16), (-25, 15.5), (-12.5, 8)]
    back = hobby_curve([Knot(point=point) for point in (*over, *below, (0.0, 0.0))])
    belly = hobby_curve([Knot(point=point) for point in ((0.0, 0.0), (80.0, 3.0), (150.0, 28.0))])
    return Outline(
        name="necked",
        chain=(*back, *belly),
        marks=(Mark(kind="handle front", points_mm=((front_mm, 16.0), (front_mm, 40.0))),),
        stations=(
            Station(name="tip", x_mm=150.0, y_mm=28.0),
            Station(name="heel", x_mm=0.0, y_mm=0.0),
            Station(name="butt", x_mm=-130.0, y_mm=29.0),
        ),
    )


@pytest.fixture(scope="module", params=[-25.0, -5.0], ids=["behind the slope", "on the slope"])
def own(request: pytest.FixtureRequest) -> Family:
    return family_of(necked(request.param), name="Necked")


def widths_mm(outline: Outline, *x: float) -> np.ndarray:
    return np.diff(outline.sections_mm(x)).ravel()


def test_a_narrower_handle_is_as_much_narrower_up_to_the_slope(own: Family) -> None:
    [width] = [each for each in own.parameters if each.key == "handle_width"]
    share = width.low / width.default
    assert share < 0.8
    x = (-100.0, -60.0, -40.0, -27.0)
    drawn, narrow = (widths_mm(own.outline(each), *x) for each in ({}, {width.key: width.low}))
    assert narrow / drawn == pytest.approx(np.full(4, share), abs=0.01)
    blade = 10.0, 60.0
    now = widths_mm(own.outline({width.key: width.low}), *blade)
    assert now == pytest.approx(widths_mm(own.outline(), *blade), abs=0.02)


def test_a_wider_blade_leaves_the_handle_s_front_as_wide_as_it_was(own: Family) -> None:
    [width] = [each for each in own.parameters if each.key == "blade_width"]
    assert width.high > 1.3 * width.default
    x = (-100.0, -60.0, -40.0, -27.0)
    now = widths_mm(own.outline({width.key: width.high}), *x)
    assert now == pytest.approx(widths_mm(own.outline(), *x), abs=0.05)


def test_what_becomes_of_the_handle_s_front_is_told(own: Family) -> None:
    [width] = [each for each in own.parameters if each.key == "handle_width"]
    assert width.help.startswith("Where the handle is widest more than ")
    assert width.help.endswith(" mm behind its front, which narrows with it.")

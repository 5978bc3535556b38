"""What calipers and a rule read, and the offset that follows."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.calipers import length_of, mean_width, offset_from, width_between, width_of
from geometry.errors import InputError
from geometry.stand_off import Offset
from tests.geometry.shapes import knife, moved

BAR = shapely.box(0, 0, 200, 40)
angles = st.floats(-180, 180)


@given(angles, st.floats(-50, 50), st.floats(-50, 50))
def test_a_turned_bar_reads_its_sides(angle, x, y):
    bar = moved(BAR, x, y, angle)
    assert length_of(bar).value_mm == pytest.approx(200.0)  # not the 203.96 from corner to corner
    assert width_of(bar).value_mm == pytest.approx(40.0)


def test_the_contacts_lie_on_the_edge_a_reading_apart():
    for reading in (length_of(knife()), width_of(knife())):
        assert math.dist(*reading.contacts_mm) >= reading.value_mm - 1e-9


@given(angles, st.floats(-8, 8), st.floats(-1.5, 1.5), st.floats(-1.5, 1.5))
def test_jaws_set_askew_are_rocked_to_the_true_width(angle, askew_deg, first, second):
    """Places up to 1.5 mm off the edge and 8 degrees off square: a bar of 40 mm reads 40."""
    shift = math.tan(math.radians(askew_deg)) * 20.0
    places = np.array([[100.0 - shift, first], [100.0 + shift, 40.0 + second]])
    turned = shapely.get_coordinates(moved(shapely.LineString(places), 3.0, -7.0, angle))
    (x1, y1), (x2, y2) = turned.tolist()
    reading = width_between(moved(BAR, 3.0, -7.0, angle), ((x1, y1), (x2, y2)))
    assert reading.value_mm == pytest.approx(40.0, abs=1e-3)


def test_a_width_is_read_where_the_jaws_are():
    """A wedge of 40 to 20 mm: half way along 30; jaws 4 mm wide rest on their wide ends."""
    wedge = shapely.Polygon([(0, -20), (200, -10), (200, 10), (0, 20)])
    reading = width_between(wedge, ((100.0, -15.0), (100.0, 15.0)))
    assert reading.value_mm == pytest.approx(30.0 + 2 * 2.0 * 0.05, abs=1e-6)


def test_a_flat_jaw_does_not_fall_into_a_narrow_nick():
    nicked = BAR.difference(shapely.box(99.0, 38.0, 101.0, 41.0))
    assert width_between(nicked, ((100, 0), (100, 40))).value_mm == pytest.approx(40.0, abs=1e-3)


def test_jaws_reach_into_a_bite_and_pass_by_what_lies_beyond():
    """A horseshoe: between its legs' outer sides 60, over one leg 20."""
    horseshoe = shapely.box(0, 0, 60, 80).difference(shapely.box(20, 20, 40, 81))
    one_leg = width_between(horseshoe, ((0, 60), (20, 60)))
    both = width_between(horseshoe, ((0, 60), (60, 60)))
    assert one_leg.value_mm == pytest.approx(20.0, abs=1e-3)
    assert both.value_mm == pytest.approx(60.0, abs=1e-3)


@pytest.mark.parametrize(
    ("places", "words"),
    [
        (((100, 50), (100, 90)), "no steel between"),
        (((100, 10), (100, 10)), "the same"),
        (((100, 0), (100, 20)), "20 mm from where a jaw was set"),
    ],
)
def test_jaws_set_elsewhere_are_told(places, words):
    with pytest.raises(InputError, match=words):
        width_between(BAR, places)


@given(st.floats(0.1, 1.5))
def test_a_trace_too_large_all_round_reads_twice_the_offset_more(offset):
    trace = knife().buffer(offset, quad_segs=64)
    for read in (length_of, width_of, lambda piece: width_between(piece, ((-40, -11), (-40, 12)))):
        assert read(trace).value_mm - read(knife()).value_mm == pytest.approx(2 * offset, abs=0.02)


@given(angles)
def test_a_bar_is_as_wide_as_most_of_it_whatever_a_slip_of_the_pen_did(angle):
    slipped = BAR.union(shapely.box(95, 39, 103, 42))
    found = mean_width(moved(slipped, 5.0, 9.0, angle))
    assert found.value_mm == pytest.approx(40.0, abs=1e-3)
    assert 0.2 < found.scatter_mm < 1.0
    assert math.dist(*found.middle_mm) > 40.0 - 1e-3


def sizes(*triples):
    traced, true, sigma = (np.array(each, float) for each in zip(*triples, strict=True))
    return traced, true, np.diag(sigma**2)


def test_one_size_tells_half_its_difference():
    found = offset_from(*sizes((38.62, 38.10, 0.2)))
    assert found.value_mm == pytest.approx(0.26)
    assert found.sigma_mm == pytest.approx(0.1)


def test_sizes_are_weighed_by_their_doubts():
    """By hand: 0.2 and 0.4 with weights 4 to 1 make (4 x 0.2 + 0.4) / 5."""
    found = offset_from(*sizes((40.4, 40.0, 0.1), (200.8, 200.0, 0.2)))
    assert found.value_mm == pytest.approx(0.24)


def test_sizes_that_scatter_leave_more_doubt():
    """Differences of 0 and 0.8 with doubts of 0.1: chi squared is 2 x (0.4 / 0.1)^2 = 32."""
    found = offset_from(*sizes((40.0, 40.0, 0.1), (40.8, 40.0, 0.1)))
    assert found.value_mm == pytest.approx(0.2)
    assert found.sigma_mm == pytest.approx(math.sqrt(32.0 / 800.0))


def test_a_scale_that_all_sizes_share_is_not_taken_for_an_offset():
    """A map 1 % too large, known to be good to 1 %: the length takes the blame, not the pen."""
    true = np.array([40.0, 200.0])
    traced = 1.01 * (true + 2 * 0.25)
    shared = 0.01**2 * np.outer(true, true) + np.diag([0.05, 0.05]) ** 2
    found = offset_from(traced, true, shared)
    assert found.value_mm == pytest.approx(0.25, abs=2 * found.sigma_mm)
    assert found.value_mm == pytest.approx(0.25, abs=0.02)
    apart = offset_from(traced, true, np.diag(np.diag(shared)))
    assert abs(apart.value_mm - 0.25) > 0.15


def test_a_known_pen_counts_as_one_more_size():
    """By hand: 0.3 from the size with sigma 0.1, 0.5 from the pen with 0.1: the middle."""
    found = offset_from(*sizes((40.6, 40.0, 0.2)), known=Offset(value_mm=0.5, sigma_mm=0.1))
    assert found.value_mm == pytest.approx(0.4)

import numpy as np
import pytest

from calibration.repair import repaired
from calibration.rings import resampled
from tests.calibration.strokes_render import box, circle


def off_circle(points, x, y, radius):
    return np.abs(np.hypot(*(points - [x, y]).T) - radius)


def test_nothing_bad_changes_nothing():
    ring = resampled(circle(100, 100, 60), 1.0)
    mended = repaired(ring, np.zeros(len(ring), bool))
    assert np.array_equal(mended.points_px, ring)
    assert not mended.doubt_px.any()


@pytest.mark.parametrize("length", [10, 30, 50])
def test_a_stretch_of_a_curve_follows_the_curve(length):
    ring = resampled(circle(100, 100, 80), 1.0)
    bad = np.zeros(len(ring), bool)
    bad[40 : 40 + length] = True
    spoilt = ring.copy()
    spoilt[bad] += 9.0
    mended = repaired(spoilt, bad)
    # a chord of 50 px would be 50^2 / (8 x 80) = 3.9 px off
    assert off_circle(mended.points_px, 100, 100, 80).max() < 0.4
    assert (mended.doubt_px[mended.source < 0] > 0.2).all()
    assert not mended.doubt_px[mended.source >= 0].any()


def test_a_corner_between_straight_sides_is_kept():
    ring = resampled(box(20, 20, 220, 160), 1.0)
    near = np.hypot(*(ring - [220, 20]).T) < 15
    mended = repaired(np.where(near[:, None], ring + 5.0, ring), near)
    assert np.hypot(*(mended.points_px - [220, 20]).T).min() < 0.8


def test_a_stretch_over_the_rings_first_point_is_mended_too():
    ring = resampled(circle(100, 100, 80), 1.0)
    bad = np.zeros(len(ring), bool)
    bad[:12] = bad[-12:] = True
    mended = repaired(np.where(bad[:, None], ring * 1.2, ring), bad)
    assert off_circle(mended.points_px, 100, 100, 80).max() < 0.4


def test_without_bending_the_way_is_straight():
    ring = resampled(circle(100, 100, 80), 1.0)
    bad = np.zeros(len(ring), bool)
    bad[40:80] = True
    mended = repaired(ring, bad, bend=False)
    # sagitta of a chord: 41^2 / (8 x 80) = 2.6 px
    assert off_circle(mended.points_px, 100, 100, 80).max() == pytest.approx(2.6, abs=0.2)

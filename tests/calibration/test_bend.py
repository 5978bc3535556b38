import math

import numpy as np
import pytest

from calibration.bend import height_mm, laid_flat, rise_mm, standing
from calibration.sheet_map import SheetMap

ALONG = np.linspace(-100.0, 100.0, 41)


def test_a_sheet_on_a_roll_keeps_its_lengths():
    """A roll of radius R: a place at x stands R - sqrt(R^2 - x^2) high, R asin(x / R) along."""
    radius = 1000.0
    places = np.column_stack([ALONG, 0.3 * ALONG])
    bend = np.array([1e3 / radius, 0.0, 0.0])
    high = [radius - math.sqrt(radius**2 - x**2) for x in ALONG]
    along = [radius * math.asin(x / radius) for x in ALONG]
    assert height_mm(bend, places) == pytest.approx(np.array(high), abs=0.02)
    assert laid_flat(bend, places)[:, 0] == pytest.approx(np.array(along), abs=0.002)
    assert laid_flat(bend, places)[:, 1] == pytest.approx(places[:, 1])
    assert standing(bend, laid_flat(bend, places)) == pytest.approx(places, abs=1e-6)


def test_a_rise_is_told_whatever_the_sheets_lean():
    """8 r / w^2 is the curvature of a page of width w that rises by r."""
    x, y = np.meshgrid(np.linspace(0.0, 200.0, 5), np.linspace(0.0, 280.0, 5))
    page = np.column_stack([x.ravel(), y.ravel()]) - (30.0, -10.0)
    assert rise_mm(np.array([1e3 * 8.0 * 5.0 / 200.0**2, 0.0, 0.0]), page) == pytest.approx(5.0)


@pytest.mark.parametrize("bend", [(-1.0, 0.0, 0.0), (0.6, -0.6, 0.6), (0.0, 0.1, 1.2)])
def test_a_bent_sheets_map_goes_both_ways(bend):
    numbers = (0.15, -0.1, 0.4, math.log(350.0), 100.0, 140.0, math.log(1500.0), 4, -3, -0.03, 0)
    sheet_map = SheetMap(
        parameters=(*numbers, *bend), covariance=(), middle_px=(999.5, 749.5), span_px=()
    )
    x, y = np.meshgrid(np.linspace(0.0, 210.0, 8), np.linspace(0.0, 290.0, 8))
    page = np.column_stack([x.ravel(), y.ravel()])
    raised = sheet_map.raised(4.0)
    assert sheet_map.to_mm(sheet_map.to_px(page)) == pytest.approx(page, abs=1e-3)
    assert raised.to_mm(raised.to_px(page)) == pytest.approx(page, abs=1e-3)


def test_places_far_beyond_the_sheet_stay_finite():
    far = np.array([[1e5, -1e5], [1e9, 0.0]])
    assert np.isfinite(height_mm(np.array([3.0, 0.0, -3.0]), far)).all()
    assert np.isfinite(standing(np.array([3.0, 0.0, -3.0]), far)).all()

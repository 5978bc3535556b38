"""Paper sizes and the point against the standards that define them."""

import math

import pytest

from app.document.paper import NAMED

# ISO 216, A series, trimmed sizes, mm.
ISO_216_MM = [("a5", 148, 210), ("a4", 210, 297), ("a3", 297, 420), ("a2", 420, 594)]
# ANSI/ASME Y14.1 sizes A (letter) and B (tabloid), inches; legal is 8 1/2 x 14 in by custom.
US_SHEETS_IN = [("letter", 8.5, 11.0), ("tabloid", 11.0, 17.0), ("legal", 8.5, 14.0)]


@pytest.mark.parametrize(("name", "width", "height"), ISO_216_MM)
def test_a_series_is_iso_216(name: str, width: int, height: int) -> None:
    assert (NAMED[name].width_mm, NAMED[name].height_mm) == (width, height)


@pytest.mark.parametrize(("name", "width", "height"), US_SHEETS_IN)
def test_us_sheets_are_asme_y14_1(name: str, width: float, height: float) -> None:
    # 1 in = 25.4 mm exactly (international inch, 1959)
    assert NAMED[name].width_mm == pytest.approx(width * 25.4, abs=1e-9)
    assert NAMED[name].height_mm == pytest.approx(height * 25.4, abs=1e-9)


def test_a_series_follows_the_rule_of_iso_216() -> None:
    """Side ratio sqrt(2), each size half of the one before, whole millimetres."""
    for name in ("a5", "a4", "a3", "a2"):
        paper = NAMED[name]
        assert paper.height_mm / paper.width_mm == pytest.approx(math.sqrt(2), rel=0.005)
    for larger, smaller in (("a2", "a3"), ("a3", "a4"), ("a4", "a5")):
        assert NAMED[smaller].height_mm == NAMED[larger].width_mm
        assert NAMED[smaller].width_mm == NAMED[larger].height_mm // 2

import math

import pytest

from calibration.mat import BAR_MM
from calibration.references import (
    PAPERS,
    LineReference,
    MatReference,
    RectangleReference,
    SheetReference,
    paper_reference,
)
from geometry.errors import InputError

# ISO 216, A series, trimmed sizes, mm; ANSI/ASME Y14.1 sizes A and B, and US Legal, inches
ISO_216 = {"a5": (148, 210), "a4": (210, 297), "a3": (297, 420), "a2": (420, 594)}
INCHES = {"letter": (8.5, 11), "legal": (8.5, 14), "tabloid": (11, 17)}


def test_papers_are_as_their_standards_say():
    inches = {name: (25.4 * a, 25.4 * b) for name, (a, b) in INCHES.items()}
    assert set(PAPERS) == {*ISO_216, *INCHES}
    for name, size in {**ISO_216, **inches}.items():
        assert PAPERS[name] == pytest.approx(size)


def test_a_paper_is_known_by_its_name_in_any_letters():
    assert paper_reference(" A4 ") == SheetReference(width_mm=210.0, height_mm=297.0)
    with pytest.raises(InputError, match="no paper called 'foolscap'") as caught:
        paper_reference("foolscap")
    assert "letter" in caught.value.remedy


@pytest.mark.parametrize("length", [0.0, -1.0, math.nan, math.inf])
def test_lengths_that_cannot_be_are_refused(length):
    with pytest.raises(InputError, match="longer than zero"):
        LineReference(length_mm=length)
    with pytest.raises(InputError, match="longer than zero"):
        SheetReference(width_mm=210.0, height_mm=length)
    with pytest.raises(InputError, match="longer than zero"):
        RectangleReference(width_mm=length, height_mm=100.0)


def test_a_line_pointed_at_twice_in_one_place_is_refused():
    with pytest.raises(InputError, match="at the same place"):
        LineReference(length_mm=100.0, ends_px=((10.0, 10.0), (10.2, 10.1)))


@pytest.mark.parametrize("reading_mm", [112.8, 124.0])
def test_bars_of_a_page_that_was_scaled_are_refused(reading_mm):
    with pytest.raises(InputError, match="page was scaled"):
        MatReference(printed_x=reading_mm / BAR_MM)


def test_bars_that_no_printer_makes_so_unlike_are_refused():
    """119.6 and 123.4 mm of 120: 123.4 / 119.6 = 1.032."""
    with pytest.raises(InputError, match=r"bars disagree by 3\.2 %"):
        MatReference(printed_x=119.6 / BAR_MM, printed_y=123.4 / BAR_MM)

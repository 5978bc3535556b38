"""Lengths as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.document.lengths import (
    format_fraction,
    format_length,
    parse_length_mm,
    parse_positive_mm,
    parse_size_mm,
)
from geometry.errors import InputError

# Hand sums with 1 in = 25.4 mm, exact (NIST SP 811, appendix B.8, from memory).
WRITTEN = [
    ("82", 82.0),
    ("82 mm", 82.0),
    ("82mm", 82.0),
    ("3.25in", 82.55),
    ('3 1/4"', 82.55),
    ("3-1/4 in", 82.55),
    ('7/16"', 11.1125),
    ("3 in", 76.2),
    ("6 inches", 152.4),
    ("12,5", 12.5),
    (".5 in", 12.7),
    ("10 cm", 100.0),
    ("-1/8 in", -3.175),
    ("3¼ in", 82.55),
    ("1 ft", 304.8),
]


@pytest.mark.parametrize(("text", "mm"), WRITTEN)
def test_a_length_reads_as_written(text: str, mm: float) -> None:
    assert parse_length_mm(text) == pytest.approx(mm, abs=1e-12)


def test_a_bare_number_takes_the_unit_in_use() -> None:
    assert parse_length_mm("3", unit="in") == pytest.approx(76.2)
    assert parse_length_mm("3 mm", unit="in") == 3.0


@pytest.mark.parametrize("text", ["", "abc", "1.2.3", "1,234.5", "3 1/0 in", "1/", "nan", "inf"])
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(InputError, match=r"not a length|divides by zero"):
        parse_length_mm(text)


@pytest.mark.parametrize(
    "text", ["9" * 400, f"{'9' * 400}/1", f"{'9' * 5000}/3", f"1 {'9' * 400}/2"]
)
def test_a_number_beyond_all_measure_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="too large") as caught:
        parse_length_mm(text)
    assert len(str(caught.value)) < 160


def test_an_unknown_unit_is_named() -> None:
    with pytest.raises(InputError, match="unit “furlong”"):
        parse_length_mm("3 furlong")


@pytest.mark.parametrize("text", ["0", "-5 mm", '0"'])
def test_zero_and_less_are_refused_where_a_size_is_asked(text: str) -> None:
    with pytest.raises(InputError, match="more than zero"):
        parse_positive_mm(text)


def test_a_size_shares_its_unit() -> None:
    assert parse_size_mm("250x100") == (250.0, 100.0)
    assert parse_size_mm("8.5x11in") == pytest.approx((215.9, 279.4))
    assert parse_size_mm('8 1/2" × 11"') == pytest.approx((215.9, 279.4))
    with pytest.raises(InputError, match="not a size"):
        parse_size_mm("250")


@given(st.integers(0, 64 * 100))
def test_every_sixty_fourth_survives_a_round_trip(n: int) -> None:
    mm = n * 25.4 / 64
    assert parse_length_mm(format_fraction(mm)) == pytest.approx(mm, abs=1e-9)


@given(st.floats(0, 2000))
def test_a_shown_length_reads_back_to_its_last_figure(mm: float) -> None:
    assert parse_length_mm(format_length(mm, "mm")) == pytest.approx(mm, abs=0.005001)
    assert parse_length_mm(format_length(mm, "in")) == pytest.approx(mm, abs=0.0127001)

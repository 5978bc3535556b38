"""Which units are proposed for a drawing that states none, and in what words."""

import pytest

from app.files.drawing_units import PIXELS, PLAIN, WORDS, Scale, question


@pytest.mark.parametrize(
    ("length", "likely"),
    [(220, ("mm", "pt", "px90", "px")), (10, ("in", "cm")), (6, ("in", "cm")), (0.22, ("m",))],
)
def test_units_are_proposed_likeliest_first_and_no_surer_than_a_size_is(
    length: float, likely: tuple[str, ...]
) -> None:
    """220: 220 mm, 78 of points, 62 and 58 of pixels. 10: 254 mm of inches, 100 of cm."""
    units = (*PLAIN, *PIXELS)
    asked = question(length, length / 8, Scale(mm_per_unit=1.0, told="nobody", units=units), "a")
    assert asked.likely == likely
    assert ("likely" in str(asked)) == (len(likely) == 1)
    assert all(WORDS[unit] in str(asked).split("By its size")[1] for unit in likely)


@pytest.mark.parametrize("length", [1e15, 1e100, 1e300])
def test_no_size_is_told_in_a_hundred_digits(length: float) -> None:
    asked = question(length, 1.0, Scale(mm_per_unit=1.0, told="file"), "a")
    assert len(str(asked)) < 500

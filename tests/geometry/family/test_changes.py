"""What a maker changes of a family of his own."""

import math

import pytest

from geometry.errors import InputError
from geometry.family import family_from_text, family_named
from geometry.family.changes import checked_name, with_default, with_range, with_size
from geometry.family.saving import family_of
from geometry.family.writing import family_text
from tests.geometry.family.test_reading import plate


@pytest.mark.parametrize(
    ("low", "high", "message"),
    [
        (
            10,
            2001,
            "width cannot range from 10 to 2001. Give two lengths of at most 2000 mm",
        ),
        (-2001, 50, "width cannot range from -2001"),
        (10, math.inf, "width cannot range from 10 to inf"),
        (math.nan, 100, "width cannot range from nan to 100"),
        (50, 60, "50 to 60 is no range about width's usual 40. Give a range round it"),
        (40, 40, "40 to 40 is no range"),
        (60, 10, "60 to 10 is no range"),
    ],
)
def test_a_range_that_is_none_is_refused(low: float, high: float, message: str) -> None:
    with pytest.raises(InputError, match=message):
        with_range(plate(), "width", low, high)


def test_the_widest_range_can_be_read_again() -> None:
    wide = with_range(plate(), "width", 0, 2000)
    assert family_from_text(family_text(wide), "plate") == wide
    assert with_default(wide, "width", 1999).defaults["width"] == 1999


def test_a_length_that_stretches_is_above_zero_throughout() -> None:
    own = family_of(family_named("neck_knife").outline(), name="Mine")
    with pytest.raises(InputError, match=r"from 0 to 90\. Give two lengths above zero"):
        with_range(own, "blade_length", 0, 90)


def test_a_count_may_be_more_than_a_length() -> None:
    counted = [p for p in family_named("neck_knife").parameters if p.unit == "none"]
    assert counted
    family = with_range(family_named("neck_knife"), counted[0].key, 0, 5000)
    assert next(p.high for p in family.parameters if p.key == counted[0].key) == 5000


@pytest.mark.parametrize("name", ["\x1b[2Jred", "right \u202eleft", "a\x00b", "a\u200bb"])
def test_a_name_with_letters_that_do_not_show_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="no name for a family"):
        checked_name(name)


def test_a_size_stays_what_it_is_when_the_usual_value_changes() -> None:
    family = with_size(family_named("neck_knife"), "as it was", {})
    before = {size.name: {**family.defaults, **dict(size.values)} for size in family.sizes}
    changed = with_default(family, "blade_length", family.defaults["blade_length"] + 5.0)
    assert {s.name: {**changed.defaults, **dict(s.values)} for s in changed.sizes} == before

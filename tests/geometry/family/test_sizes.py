"""Named sets of values in a family's file."""

import pytest

from geometry.errors import InputError
from geometry.family import family_from_text
from tests.geometry.family.test_reading import PLATE, plate

SMALL = """
[[size]]
name = "Small"
values = { width = 25, holes = 1 }

[[size]]
name = "for thin stock"
values = { width = 55.5 }
"""


def test_sizes_are_named_sets_of_values() -> None:
    family = family_from_text(PLATE.replace("format = 1", "format = 2") + SMALL, "plate")
    assert [size.name for size in family.sizes] == ["Small", "for thin stock"]
    small = dict(family.size_named(" small ").values)
    assert small == {"width": 25.0, "holes": 1.0}
    assert family.outline(small).bounds_mm[3] == pytest.approx(12.5, abs=0.01)
    with pytest.raises(InputError, match=r"no size “large”. It has: Small, for thin stock"):
        family.size_named("large")
    with pytest.raises(InputError, match="No sizes are kept in it yet"):
        plate().size_named("large")


@pytest.mark.parametrize(
    ("was", "slip", "message"),
    [
        ("width = 25", "width = 101", r"Small: width \(width\): 101 is out of range. Give 10 to"),
        ("holes = 1 ", "holes = 1.5", "1.5 is not a whole number"),
        ("width = 25", "widht = 25", "size 1, values: “widht”: it is none of the measures width,"),
        ("width = 25", "height = 25", "“height”: it is none of the measures"),
        ("width = 25", "width = nan", "“width”: it has to be a number"),
        ("width = 25", 'width = "20 + 5"', "“width”: it has to be a number"),
        ("for thin stock", "SMALL", "“size”: two of them have one name"),
        ('name = "Small"', 'name = " "', "“name”: it has to be a text"),
        ('name = "Small"', "", "size 1: “name”: it is missing"),
        ("values = { width = 55.5 }", "values = 3", "“values”: it has to be a table"),
    ],
)
def test_a_size_that_does_not_go_gets_one_clear_line(was: str, slip: str, message: str) -> None:
    assert was in SMALL
    with pytest.raises(InputError, match=message) as caught:
        family_from_text(PLATE + SMALL.replace(was, slip, 1), "plate")
    assert len(str(caught.value).splitlines()) == 1

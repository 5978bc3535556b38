"""The families that come with the program: found by name, with measures a maker thinks in."""

import numpy as np
import pytest

from geometry.errors import InputError
from geometry.family import Family, family_named
from tests.geometry.family.draws import FAMILIES, by_family


def test_there_is_a_family_for_each_common_shape() -> None:
    assert len(FAMILIES) >= 12
    assert len({family.name for family in FAMILIES}) == len(FAMILIES)


@by_family
def test_a_family_has_the_measures_of_a_makers_sheet(family: Family) -> None:
    assert 8 <= len(family.parameters) <= 16
    for parameter in family.parameters:
        assert parameter.low < parameter.high
        assert parameter.help.endswith(".")
        assert parameter.label[0].isupper()
    outline = family.outline()
    assert outline.holes
    stations = {"tip", "heel", "plunge", "handle front", "butt"}
    assert stations <= {station.name for station in outline.stations}
    assert {"plunge line", "handle front"} <= {mark.kind for mark in outline.marks}


@by_family
def test_each_size_is_an_outline_of_its_own(family: Family) -> None:
    assert len(family.sizes) >= 2
    names = [size.name for size in family.sizes]
    assert len(set(names)) == len(names)
    lengths = {family.outline(dict(size.values)).overall_length_mm for size in family.sizes}
    assert len(lengths) == len(names)


@by_family
def test_few_draws_are_refused(family: Family) -> None:
    """Ranges that mostly refuse would be wrong; at most one draw in ten is aimed at."""
    rng = np.random.default_rng(4)
    refused = 0
    for _ in range(150):
        values = {
            p.key: float(rng.integers(p.low, p.high + 1) if p.whole else rng.uniform(p.low, p.high))
            for p in family.parameters
        }
        try:
            family.outline(values)
        except InputError:
            refused += 1
    assert refused <= 15


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("full_tang_drop_point", "full_tang_drop_point"),
        ("full-tang-drop-point", "full_tang_drop_point"),
        ("Full-tang drop point", "full_tang_drop_point"),
        ("drop point", "full_tang_drop_point"),
        ("sheepsfoot", "full_tang_sheepsfoot"),
        (" Hidden SPEAR ", "hidden_tang_spear"),
        ("chef", "kitchen_chef"),
        ("neck knife", "neck_knife"),
    ],
)
def test_a_family_is_found_by_key_name_or_words(text: str, key: str) -> None:
    assert family_named(text).key == key


@pytest.mark.parametrize(
    ("text", "why"),
    [("", "no family"), ("dagger of doom", "no family"), ("full tang", "more than one family")],
)
def test_no_family_or_too_many_lists_the_choices(text: str, why: str) -> None:
    with pytest.raises(InputError, match=f"{why}.*full_tang_drop_point, full_tang_sheepsfoot"):
        family_named(text)


def test_the_ricasso_is_called_so_in_every_family() -> None:
    labels = {
        each.label for family in FAMILIES for each in family.parameters if each.key == "ricasso"
    }
    assert labels == {"Ricasso"}

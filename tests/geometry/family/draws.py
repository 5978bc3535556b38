"""Draws from the whole box of ranges of the families that come with the program."""

import pytest
from hypothesis import strategies as st

from geometry.errors import InputError
from geometry.family import Family, built_in_families
from geometry.outline import Outline

FAMILIES = built_in_families()
by_family = pytest.mark.parametrize("family", FAMILIES, ids=[family.key for family in FAMILIES])


def drawn(data: st.DataObject, family: Family) -> tuple[dict[str, float], Outline | str]:
    """A draw from the whole box of ranges, and its outline or the message."""
    values = {
        p.key: data.draw(
            st.integers(int(p.low), int(p.high)) if p.whole else st.floats(p.low, p.high),
            label=p.key,
        )
        for p in family.parameters
    }
    try:
        return values, family.outline(values)
    except InputError as error:
        return values, str(error)


def corner_places(family: Family, values: dict[str, float]) -> set[tuple[float, float]]:
    everything = family.values(values)
    return {
        (round(node.x.value(everything), 6), round(node.y.value(everything), 6))
        for node in family.nodes
        if node.corner
    }

"""What is told of a knife's lengths is what is measured on it."""

import numpy as np
import pytest

from geometry.blade_measures import blade_measures
from geometry.errors import InputError
from geometry.family import built_in_families
from geometry.family.model import Family

DRAWS = 40
SHARE = 0.5  # of the way to the ends of their ranges: farther, few measures go together
NEAR_MM = 0.01


@pytest.mark.parametrize("family", built_in_families(), ids=lambda family: family.key)
def test_the_lengths_told_are_those_measured(family: Family) -> None:
    """A tang is measured from its shoulders, where the handle of such a knife begins."""
    draw = np.random.default_rng(7)
    tried = 0
    for _ in range(DRAWS):
        values = {
            p.key: round(p.default + SHARE * (draw.uniform(p.low, p.high) - p.default), 1)
            for p in family.parameters
            if p.unit == "mm"
        }
        try:
            outline = family.outline(values)
        except InputError:
            continue  # these measures do not go together
        sizes = blade_measures(outline)
        assert sizes.blade_mm == pytest.approx(values["blade_length"], abs=NEAR_MM)
        if "handle_length" in values:
            assert sizes.handle_mm == pytest.approx(values["handle_length"], abs=NEAR_MM)
        tried += 1
    assert tried >= DRAWS / 4

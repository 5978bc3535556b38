"""Each measure of each family moves a line near where it is; counts and tight measures too."""

import math

import pytest

from app.document.families import choice_of
from app.document.measure_step import measure_step
from geometry.family import built_in_families, family_named


@pytest.mark.parametrize("key", [family.key for family in built_in_families()])
def test_each_measure_of_each_family_moves_a_line(key: str) -> None:
    family = family_named(key)
    choice = choice_of(family)
    for parameter in family.parameters:
        step = measure_step(choice, family, parameter.key)
        assert step is not None, parameter.label
        assert parameter.low <= step.value <= parameter.high
        assert step.value != parameter.default
        assert step.moved.lines_mm


def test_a_measure_that_the_family_has_not_moves_nothing() -> None:
    """As when another shape is chosen while the hand is at a measure of the one before."""
    family = family_named("kitchen chef")
    assert measure_step(choice_of(family), family, "clip_length") is None


def test_a_measure_that_does_little_is_changed_as_far_as_is_seen() -> None:
    """A small step of the belly moves the edge by some 0.1 mm: a pixel hides that."""
    family = family_named("drop point")
    step = measure_step(choice_of(family), family, "belly")
    assert step is not None
    assert math.dist(step.moved.start_mm, step.moved.end_mm) > 1.0
    wide = measure_step(choice_of(family), family, "blade_length")
    assert wide is not None
    parameter = wide.parameter
    assert abs(wide.value - parameter.default) <= 0.08 * (parameter.high - parameter.low) + 1e-9


def test_a_measure_at_the_end_of_its_range_is_changed_the_other_way() -> None:
    family = family_named("drop point")
    parameter = next(p for p in family.parameters if p.key == "blade_length")
    choice = choice_of(family).with_value("blade_length", parameter.high)
    step = measure_step(choice, family, "blade_length")
    assert step is not None
    assert step.value < parameter.high
    assert step.moved.end_mm[0] < family.outline({"blade_length": parameter.high}).bounds_mm[2]

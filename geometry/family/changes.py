"""Changes that a maker makes to a family of his own: values, ranges, notes and sizes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from geometry.errors import InputError
from geometry.family.measured import PARTS
from geometry.family.model import Family, Parameter, Size
from geometry.family.table import LARGEST

LONGEST_MM = 2000.0  # of a measure: longer than any sword
LONGEST_NAME, MAX_NOTES, MAX_SIZE_NAME = 60, 1700, 40  # letters


def checked_name(name: str) -> str:
    """Return a family's name, tidied; InputError if it cannot be used."""
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > LONGEST_NAME or not tidy.isprintable():
        raise InputError(
            "this is no name for a family.",
            where="Family",
            remedy=f"Give it one of 1 to {LONGEST_NAME} letters, like “Elk skinner”.",
        )
    return tidy


def with_default(family: Family, key: str, value: float) -> Family:
    """Return the family with another usual value of a measure, inside its range.

    Its sizes stay what they are: each that went by the usual value has it for its own now.
    """
    parameter = _parameter(family, key)
    if value == parameter.default:
        return family
    usual = ((key, parameter.default),)
    sizes = tuple(
        size if key in dict(size.values) else replace(size, values=(*size.values, *usual))
        for size in family.sizes
    )
    changed = replace(parameter, default=parameter.checked(value, family.name))
    return replace(_with(family, changed), sizes=sizes)


def with_range(family: Family, key: str, low: float, high: float) -> Family:
    """Return the family with another range of a measure.

    Raises
    ------
    InputError
        If the range is empty or beyond all measure, a stretched length is none at an end of it, or
        its usual value or a size lies outside.
    """
    parameter = _parameter(family, key)
    problem = _no_ends(family, parameter, low, high)
    if problem:
        raise InputError(
            f"{parameter.label.lower()} cannot range from {low:g} to {high:g}.",
            where=family.name,
            remedy=problem,
        )
    if not low <= parameter.default <= high or low == high:
        raise InputError(
            f"{low:g} to {high:g} is no range about {parameter.label.lower()}'s usual "
            f"{parameter.default:g}.",
            where=family.name,
            remedy="Give a range round it, or change the usual value first.",
        )
    for size in family.sizes:
        value = dict(size.values).get(key, parameter.default)
        if not low <= value <= high:
            raise InputError(
                f"the size “{size.name}” has {parameter.label.lower()} {value:g}, beyond that.",
                where=family.name,
                remedy="Give a wider range, or remove the size.",
            )
    return _with(family, replace(parameter, low=float(low), high=float(high)))


def _no_ends(family: Family, parameter: Parameter, low: float, high: float) -> str:
    """Return what to give instead of the ends of a range; empty where they may be."""
    most, ends = (LONGEST_MM, "lengths") if parameter.unit == "mm" else (LARGEST, "numbers")
    if not (abs(low) <= most and abs(high) <= most):
        unit = " mm" if parameter.unit == "mm" else ""
        return f"Give two {ends} of at most {most:.0f}{unit}."
    if parameter.key in PARTS and family.profile.stretches and min(low, high) <= 0.0:
        return "Give two lengths above zero."
    return ""


def with_notes(family: Family, notes: str) -> Family:
    """Return the family with other notes, as one line."""
    tidy = " ".join(notes.split())
    if len(tidy) > MAX_NOTES or not tidy.isprintable():
        raise InputError(
            f"the notes have {len(tidy)} letters or one that cannot be shown.",
            where=family.name,
            remedy=f"Write at most {MAX_NOTES} plain letters.",
        )
    return replace(family, notes=tidy)


def with_size(family: Family, name: str, values: Mapping[str, float]) -> Family:
    """Return the family with a named set of values, a set of that name replaced.

    Raises
    ------
    InputError
        If the name or a value cannot be used, or the values do not go together.
    """
    tidy = " ".join(name.split())
    if not tidy or len(tidy) > MAX_SIZE_NAME or not tidy.isprintable():
        raise InputError(
            "this is no name for a size.",
            where=family.name,
            remedy=f"Give it one of 1 to {MAX_SIZE_NAME} letters, like “small”.",
        )
    family.outline(values)
    pairs = tuple((p.key, float(values[p.key])) for p in family.parameters if p.key in values)
    others = [size for size in family.sizes if size.name.casefold() != tidy.casefold()]
    return replace(family, sizes=(*others, Size(name=tidy, values=pairs)))


def without_size(family: Family, name: str) -> Family:
    """Return the family without a size; InputError naming those there are."""
    gone = family.size_named(name)
    return replace(family, sizes=tuple(size for size in family.sizes if size != gone))


def _parameter(family: Family, key: str) -> Parameter:
    for parameter in family.parameters:
        if parameter.key == key:
            return parameter
    raise InputError(
        f"it has no “{key}”.",
        where=family.name,
        remedy=f"It has: {', '.join(parameter.key for parameter in family.parameters)}.",
    )


def _with(family: Family, changed: Parameter) -> Family:
    parameters = (changed if p.key == changed.key else p for p in family.parameters)
    return replace(family, parameters=tuple(parameters))

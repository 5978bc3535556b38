"""Whether places that a maker told to stretch at give the measures that they are called by."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from geometry.blade_measures import widest
from geometry.errors import InputError
from geometry.family import Family
from geometry.family.measured import PARTS, widest_of_handle
from geometry.family.parts import Places, places_of
from geometry.outline import Outline

OUTSIDE_MM = 0.1  # a place typed to one decimal may lie so far beyond its part
OFF_MM = 0.1  # a measure that gives another length than was typed by more is none
SECTIONS = 200  # across a part, to see how high it reaches


def check_places(drawn: Outline, told: Mapping[str, tuple[float, float] | None]) -> None:
    """Refuse places to stretch at that lie beyond the part of the outline that they are for.

    Parameters
    ----------
    drawn : Outline
        In the outline frame.
    told : mapping
        By measure the two places, x or y in mm; None leaves it out.

    Raises
    ------
    InputError
        Naming where the part reaches.
    """
    places = places_of(drawn)
    for key, span in told.items():
        if span is None or key not in PARTS:
            continue  # what is no measure is refused by name where the family is made
        low, high = _reach(key, drawn, places)
        if not (low - OUTSIDE_MM <= min(span) and max(span) <= high + OUTSIDE_MM):
            raise InputError(
                f"{key} would stretch from {_between(key, span)} mm, but its part of the outline "
                f"reaches from {_between(key, (low, high))} mm.",
                where="Stretch",
                remedy="Give two places within that; without any they are proposed.",
            )


def check_measures(family: Family, told: Mapping[str, tuple[float, float] | None]) -> None:
    """Refuse a family one of whose told measures gives another length than is typed.

    Raises
    ------
    InputError
        Naming what was typed and what was made.
    """
    parameters = {parameter.key: parameter for parameter in family.parameters}
    for key, span in told.items():
        if span is None:
            continue
        if key not in parameters:
            raise _useless(key, span, "it can hardly be changed there", family)
        parameter = parameters[key]
        for value in (parameter.low, parameter.default, parameter.high):
            made = _size(key, family.outline({key: value}))
            if value <= 0.0 or abs(made - value) > OFF_MM:
                why = f"at {value:.1f} mm it gives {made:.1f} mm"
                raise _useless(key, span, why, family)


def _useless(key: str, span: tuple[float, float], why: str, family: Family) -> InputError:
    drawn = family.outline()
    low, high = _reach(key, drawn, places_of(drawn))
    whole = f"All of it reaches from {_between(key, (low, high))} mm."
    if PARTS[key].axis == "y":
        section = _widest(key, drawn)
        at = _between(key, (section[0], section[1]))
        whole = f"Where it is widest it reaches from {at} mm: give these."
    return InputError(
        f"{key} stretched from {_between(key, span)} mm would be no measure: {why}.",
        where="Stretch",
        remedy=f"{whole} Without any places they are proposed.",
    )


def _between(key: str, span: tuple[float, float]) -> str:
    axis = PARTS[key].axis
    start, end = (round(value, 1) + 0.0 for value in span)
    return f"{axis} {start:.1f} to {axis} {end:.1f}"


def _part(key: str, places: Places) -> tuple[float, float]:
    """Return the x between which a measure's part of the outline lies."""
    if key.startswith("blade"):
        return places.front if key == "blade_length" else places.plunge, places.tip
    return places.butt, places.front


def _reach(key: str, outline: Outline, places: Places) -> tuple[float, float]:
    """Return between which x, or which heights, a measure's part of the outline lies."""
    start, end = _part(key, places)
    if PARTS[key].axis == "x":
        return start, end
    heights = outline.sections_mm(np.linspace(start, end, SECTIONS))
    return float(np.nanmin(heights)), float(np.nanmax(heights))


def _widest(key: str, outline: Outline) -> tuple[float, float]:
    """Return the lowest and the highest place where a part is widest."""
    places = places_of(outline)
    if key == "handle_width":
        section = widest_of_handle(outline, places)
    else:
        section = widest(outline, *_part(key, places))
    return section.low_mm, section.high_mm


def _size(key: str, outline: Outline) -> float:
    """Return how large a measure is on an outline, mm."""
    if PARTS[key].axis == "x":
        start, end = _part(key, places_of(outline))
        return end - start
    low, high = _widest(key, outline)
    return high - low

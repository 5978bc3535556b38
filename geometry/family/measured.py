"""What is measured on a drawn outline, and where it is proposed to stretch."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

from geometry.blade_measures import Section, clear_of_shoulders, widest
from geometry.curves import Point
from geometry.errors import InputError
from geometry.family.parts import Places, kept_place, places_of
from geometry.outline import Outline
from geometry.stretch import Axis, RigidZone, StretchAt

Told: TypeAlias = Mapping[str, tuple[float, float] | None]
LEAST_SHARE, MOST_SHARE = 0.65, 1.6  # of a length's stretched part
NARROWEST, WIDEST = 0.75, 1.35  # of a width
LEAST_MM = 1.0  # of a length that can be told: a tip behind the handle's front tells none
STEEPEST = 0.3  # of the length it fades over: a handle that widens more gets a beak
SHORTEST_MM = 8.0  # of what can be stretched along
PLACES = 2  # decimals of a proposed measure, mm


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a measure is called, and along what it stretches."""

    label: str
    axis: Axis


PARTS = {
    "blade_length": About(label="Blade length", axis="x"),
    "handle_length": About(label="Handle length", axis="x"),
    "blade_width": About(label="Blade width", axis="y"),
    "handle_width": About(label="Handle width", axis="y"),
}
"""The measures that a drawn outline can stretch by, in the order to show them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One measure: how large it is now, its range, and where it stretches, mm.

    Made less than it is, it may stretch elsewhere.
    """

    key: str
    size_mm: float
    low_mm: float
    high_mm: float
    at: StretchAt
    at_if_less: StretchAt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """All measures of an outline, what keeps its place, and where lengths are measured from."""

    parts: tuple[Part, ...]
    kept_mm: Point | None
    front: str
    zones: tuple[RigidZone, ...]
    handle_front: str

    def help_for(self, key: str) -> str:
        """Return the line that tells what a measure is."""
        return {
            "blade_length": f"From {self.front} to the tip.",
            "handle_length": f"From {self.front} to the butt.",
            "blade_width": "Where the blade is widest.",
            "handle_width": f"Where the handle is widest{self.handle_front}.",
        }[key]


def told_parts(
    stretch: Told,
) -> Told:
    """Return told places to stretch at after checking them; InputError for what is no measure."""
    for key, places in stretch.items():
        if key not in PARTS:
            raise InputError(
                f"“{key}” is no measure that stretches.",
                where="Stretch",
                remedy=f"Use {', '.join(PARTS)}.",
            )
        if places is not None and not abs(places[1] - places[0]) >= 1.0:
            raise InputError(
                f"{key} would stretch between two places less than 1 mm apart.",
                where="Stretch",
                remedy="Give two places farther apart.",
            )
    return stretch


def measured(outline: Outline, told: Told) -> Measured:
    """Return an outline's measures and where it stretches; what is told comes before a proposal."""
    places = places_of(outline)
    parts = [
        _length("blade_length", places.tip - places.front, (places.plunge, places.tip), told),
        _length("handle_length", places.front - places.butt, (places.front, places.butt), told),
        _blade_width(places, outline, told),
        _handle_width(places, outline, told),
    ]
    named = {mark.kind for mark in outline.marks} | {each.name for each in outline.stations}
    return Measured(
        parts=tuple(part for part in parts if part is not None),
        kept_mm=kept_place(outline),
        zones=places.zones_moving(),
        handle_front=_front_words(places),
        front="the front of the handle" if "handle front" in named else "the heel",
    )


def _front_words(places: Places) -> str:
    """Return where a handle's width is measured, and what becomes of its front."""
    if places.step:
        return ""
    front, full = places.handle_fades[0]
    stays = "narrows with it" if places.neck else "stays as wide as the blade"
    return f" more than {front - full:.0f} mm behind its front, which {stays}"


def _length(
    key: str,
    size_mm: float,
    span: tuple[float, float],
    told: Told,
) -> Part | None:
    """Return a length; None where it is left out, or there is nothing to stretch."""
    places = told.get(key, span)
    if places is None or size_mm < LEAST_MM:
        return None
    start, end = places
    room = abs(end - start)
    if room < SHORTEST_MM and key not in told:
        return None
    size = round(size_mm, PLACES)
    return Part(
        key=key,
        size_mm=size,
        low_mm=_least(size - (1 - LEAST_SHARE) * room, size),
        high_mm=_most(size + (MOST_SHARE - 1) * room, size),
        at=StretchAt(
            axis="x",
            start_mm=round(start, PLACES),
            end_mm=round(end, PLACES),
            goes_on=key not in told,
        ),
    )


def _blade_width(places: Places, outline: Outline, told: Told) -> Part | None:
    if places.tip - places.plunge < SHORTEST_MM:
        return None
    part = _width("blade_width", widest(outline, places.plunge, places.tip), told)
    if part is None:
        return None
    at = replace(
        part.at, about_mm=round(places.spine, PLACES), carried_mm=round(places.handle_about, PLACES)
    )
    more, less = (_faded(at, fade) for fade in places.blade_fades)
    return replace(part, at=more, at_if_less=None if less == more else less)


def _handle_width(places: Places, outline: Outline, told: Told) -> Part | None:
    if places.front - places.butt < SHORTEST_MM:
        return None
    section, fades = widest_of_handle(outline, places), places.handle_fades
    part = _width("handle_width", section, told)
    if part is None:
        return None
    at = replace(part.at, about_mm=round(places.handle_about, PLACES))
    more, less = (_faded(at, fade) for fade in fades)
    if not places.step:
        steepest = section.width_mm + STEEPEST * abs(fades[0][1] - fades[0][0])
        part = replace(part, high_mm=min(part.high_mm, _most(steepest, part.size_mm)))
    return replace(part, at=more, at_if_less=None if less == more else less)


def widest_of_handle(outline: Outline, places: Places) -> Section:
    """Return where a handle is widest of what widens in full."""
    front = clear_of_shoulders(outline, places.front)
    return widest(outline, places.butt, front if places.step else places.handle_fades[0][1])


def _faded(at: StretchAt, fade: tuple[float, float]) -> StretchAt:
    gone, full = fade
    return replace(at, gone_at_mm=gone, full_at_mm=full)


def _width(key: str, section: Section, told: Told) -> Part | None:
    """Return a width; None where it is left out."""
    if key in told and told[key] is None:
        return None
    low, high = sorted(told.get(key) or (section.low_mm, section.high_mm))
    size = round(high - low, PLACES)
    return Part(
        key=key,
        size_mm=size,
        low_mm=_least(NARROWEST * size, size),
        high_mm=_most(WIDEST * size, size),
        at=StretchAt(axis="y", start_mm=low, end_mm=high),
    )


def _least(value: float, size: float) -> float:
    """Return the lower end of a range as a round number, not above the measure itself."""
    return min(float(math.ceil(value)), size)


def _most(value: float, size: float) -> float:
    """Return the upper end of a range as a round number, not below the measure itself."""
    return max(float(math.floor(value)), size)

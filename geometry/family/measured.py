"""What is measured on a drawn outline, and where it is proposed to stretch."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Point
from geometry.ends import proposed_ends, proposed_heel, proposed_spine
from geometry.errors import InputError
from geometry.from_contour import framed
from geometry.outline import Outline, Station
from geometry.rigid_zones import rigid_zones
from geometry.sections import sections_mm
from geometry.stretch import Axis, RigidZone

LIES_RIGHT_RAD = math.radians(30)  # a drawing whose tip points this nearly along x stays as it is
LEAST_SHARE, MOST_SHARE = 0.65, 1.6  # of a length's stretched part
NARROWEST, WIDEST = 0.75, 1.35  # of a width
FADE_SHARE, LEAST_FADE_MM = 0.2, 15.0  # of the handle: over which blade and handle widths mix
MOST_FADE_SHARE = 0.4
RICASSO = 0.7  # of the width at the plunge, behind it: then it is a ricasso and no neck
RUNS_ON = 0.15  # of that width: a handle no more below the spine continues it
SHORTEST_MM = 8.0  # of what can be stretched along
SECTIONS = 201  # widths are looked at in so many places of blade or handle
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
    """One measure: how large it is now, its range, and where it stretches, mm."""

    key: str
    size_mm: float
    low_mm: float
    high_mm: float
    start_mm: float
    end_mm: float
    about_mm: float = 0.0
    gone_at_mm: float | None = None
    full_at_mm: float | None = None
    carried_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """All measures of an outline, what keeps its place, and where lengths are measured from."""

    parts: tuple[Part, ...]
    kept_mm: Point | None
    front: str

    def help_for(self, key: str) -> str:
        """Return the line that tells what a measure is."""
        return {
            "blade_length": f"From {self.front} to the tip.",
            "handle_length": f"From {self.front} to the butt.",
            "blade_width": "Where the blade is widest.",
            "handle_width": "Where the handle is widest.",
        }[key]


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The x of an outline's tip, butt, handle front and plunge, and its tight places, mm."""

    tip: float
    butt: float
    front: float
    plunge: float
    zones: tuple[RigidZone, ...]
    ring: NDArray[np.float64]

    @property
    def fade(self) -> tuple[float, float]:
        """Where the blade's width is gone and the handle's full, and the other way round.

        A ricasso about as wide as the blade goes with it; a neck behind a heel does not.
        """
        length = self.front - self.butt
        fade = min(max(LEAST_FADE_MM, FADE_SHARE * length), MOST_FADE_SHARE * length)
        wide = self.width_at((self.front + self.plunge) / 2) > RICASSO * self.width_at(self.plunge)
        full = self.front if wide else self.plunge
        return min(full - fade, self.front), full

    @property
    def spine(self) -> float:
        """The height of the spine at the plunge."""
        return self.heights_at(self.plunge)[1]

    @property
    def handle_about(self) -> float:
        """The height that a handle widens about: the spine that runs on, or a tang's middle."""
        low, high = self.heights_at(self.fade[0])
        return (
            self.spine
            if self.spine - high < RUNS_ON * self.width_at(self.plunge)
            else (low + high) / 2
        )

    def heights_at(self, x: float) -> tuple[float, float]:
        """Return the lowest and the highest y at an x; the ends of all if it is not there."""
        [[low, high]] = sections_mm(self.ring, [x]).tolist()
        if math.isfinite(low):
            return low, high
        return float(self.ring[:, 1].min()), float(self.ring[:, 1].max())

    def width_at(self, x: float) -> float:
        """Return the width at an x."""
        low, high = self.heights_at(x)
        return high - low

    def near_end(self, end: float, start: float) -> float:
        """Return the end of a stretch, before the tight places at the end: those move whole."""
        toward = math.copysign(1.0, end - start)
        near = [z.x_mm for z in self.zones if abs(z.x_mm - end) < 0.15 * abs(end - start)]
        return min([end, *near], key=lambda x: toward * x)

    def past_start(self, start: float, end: float) -> float:
        """Return the start of a stretch, past the tight places at the start: those stay whole."""
        toward = math.copysign(1.0, end - start)
        reach = [
            z.x_mm + toward * z.radius_mm
            for z in self.zones
            if abs(z.x_mm - start) < 0.15 * abs(end - start)
        ]
        return max([start, *reach], key=lambda x: toward * x)

    def widest(self, low_x: float, high_x: float) -> tuple[float, float] | None:
        """Return the two heights where it is widest, clear of tight places; None if nowhere."""
        xs = np.linspace(low_x, high_x, SECTIONS)[1:-1]
        for zone in self.zones:
            xs = xs[np.abs(xs - zone.x_mm) > zone.radius_mm + zone.fade_mm]
        if not xs.size:
            return None
        heights = sections_mm(self.ring, xs)
        widths = np.nan_to_num(heights[:, 1] - heights[:, 0])
        best = int(widths.argmax())
        return float(heights[best, 0]), float(heights[best, 1])


def framed_outline(outline: Outline) -> Outline:
    """Return an outline with a tip and a butt, proposed and turned only where it has none.

    A drawing whose tip points along x already, its spine up, stays where it is.
    """
    names = {station.name for station in outline.stations}
    if {"tip", "butt"} <= names:
        return outline
    shape = outline.polygon()
    ends = proposed_ends(shape)
    spine = proposed_spine(shape, ends)
    (x0, y0), (x1, y1) = ends.butt_mm, ends.tip_mm
    if abs(math.atan2(y1 - y0, x1 - x0)) > LIES_RIGHT_RAD or spine != "left":
        return framed(outline, tip_mm=ends.tip_mm, butt_mm=ends.butt_mm)
    found = {"tip": ends.tip_mm, "heel": proposed_heel(shape, ends, spine), "butt": ends.butt_mm}
    added = [Station(name=n, x_mm=x, y_mm=y) for n, (x, y) in found.items() if n not in names]
    return replace(outline, stations=(*outline.stations, *added))


def told_parts(
    stretch: Mapping[str, tuple[float, float] | None],
) -> Mapping[str, tuple[float, float] | None]:
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


def measured(outline: Outline, told: Mapping[str, tuple[float, float] | None]) -> Measured:
    """Return an outline's measures and where it stretches; what is told comes before a proposal."""
    places = _places(outline)
    parts = [
        _length("blade_length", places.tip - places.front, _blade_span(places), told),
        _length("handle_length", places.front - places.butt, _handle_span(places), told),
        _width("blade_width", places, told),
        _width("handle_width", places, told),
    ]
    marked = any(mark.kind == "handle front" for mark in outline.marks)
    return Measured(
        parts=tuple(part for part in parts if part is not None),
        kept_mm=_kept(outline),
        front="the front of the handle" if marked else "the heel",
    )


def _places(outline: Outline) -> Places:
    x0, _, x1, _ = outline.bounds_mm
    at = {station.name: station.x_mm for station in outline.stations}
    marks = {
        kind: max(x for mark in outline.marks if mark.kind == kind for x, _ in mark.points_mm)
        for kind in {mark.kind for mark in outline.marks}
    }
    heel = at.get("heel", at.get("plunge", (x0 + x1) / 2))
    front = marks.get("handle front", heel)
    return Places(
        tip=at.get("tip", x1),
        butt=x0,
        front=front,
        plunge=max(marks.get("plunge line", heel), front),
        zones=rigid_zones(outline.chain),
        ring=outline.ring(),
    )


def _kept(outline: Outline) -> Point | None:
    """Return the place that stays: where the edge meets the plunge."""
    for name in ("heel", "plunge"):
        for station in outline.stations:
            if station.name == name:
                return station.x_mm, station.y_mm
    return None


def _blade_span(places: Places) -> tuple[float, float]:
    return places.past_start(places.plunge, places.tip), places.near_end(places.tip, places.plunge)


def _handle_span(places: Places) -> tuple[float, float]:
    return places.past_start(places.front, places.butt), places.near_end(places.butt, places.front)


def _length(
    key: str,
    size_mm: float,
    span: tuple[float, float],
    told: Mapping[str, tuple[float, float] | None],
) -> Part | None:
    """Return a length; None where it is left out, or there is nothing to stretch."""
    places = told.get(key, span)
    if places is None:
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
        start_mm=round(start, PLACES),
        end_mm=round(end, PLACES),
    )


def _width(key: str, places: Places, told: Mapping[str, tuple[float, float] | None]) -> Part | None:
    """Return a width; None where it is left out, or not to be measured."""
    gone, full = places.fade
    blade = key == "blade_width"
    widest = places.widest(full, places.tip) if blade else places.widest(places.butt, gone)
    if widest is None or (key in told and told[key] is None):
        return None
    low, high = widest
    low, high = sorted(told.get(key) or (low, high))
    size = round(high - low, PLACES)
    return Part(
        key=key,
        size_mm=size,
        low_mm=_least(NARROWEST * size, size),
        high_mm=_most(WIDEST * size, size),
        start_mm=low,
        end_mm=high,
        about_mm=round(places.spine if blade else places.handle_about, PLACES),
        gone_at_mm=gone if blade else full,
        full_at_mm=full if blade else gone,
        carried_mm=round(places.handle_about, PLACES) if blade else None,
    )


def _least(value: float, size: float) -> float:
    """Return the lower end of a range as a round number, not above the measure itself."""
    return min(float(math.ceil(value)), size)


def _most(value: float, size: float) -> float:
    """Return the upper end of a range as a round number, not below the measure itself."""
    return max(float(math.floor(value)), size)

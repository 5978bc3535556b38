"""Where an outline has tip, butt, handle front and plunge, and how wide it is between them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Point
from geometry.ends import proposed_ends, proposed_heel, proposed_spine
from geometry.from_contour import framed
from geometry.outline import Outline, Station
from geometry.rigid_zones import rigid_zones
from geometry.sections import sections_mm
from geometry.stretch import RigidZone

LIES_RIGHT_RAD = math.radians(30)  # a drawing whose tip points this nearly along x stays as it is
FADE_SHARE, LEAST_FADE_MM = 0.2, 15.0  # of the handle: over which blade and handle widths mix
MOST_FADE_SHARE = 0.4
RICASSO = 0.7  # of the width at the plunge, behind it: then it is a ricasso and no neck
RUNS_ON = 0.15  # of that width: a handle no more below the spine continues it
AT_END = 0.15  # of a length: a tight place this near its end belongs to the end
SECTIONS = 201  # widths are looked at in so many places of blade or handle


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
        near = [z.x_mm for z in self.zones if abs(z.x_mm - end) < AT_END * abs(end - start)]
        return min([end, *near], key=lambda x: toward * x)

    def past_start(self, start: float, end: float) -> float:
        """Return the start of a stretch, past the tight places at the start: those stay whole."""
        toward = math.copysign(1.0, end - start)
        reach = [
            z.x_mm + toward * z.radius_mm
            for z in self.zones
            if abs(z.x_mm - start) < AT_END * abs(end - start)
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


def places_of(outline: Outline) -> Places:
    """Return where an outline has its parts, by its stations and marks."""
    x0, _, x1, _ = outline.bounds_mm
    at = {station.name: station.x_mm for station in outline.stations}
    marks = {
        kind: max(x for mark in outline.marks if mark.kind == kind for x, _ in mark.points_mm)
        for kind in {mark.kind for mark in outline.marks}
    }
    heel = at.get("heel", at.get("plunge", (x0 + x1) / 2))
    front = marks.get("handle front", at.get("handle front", heel))
    return Places(
        tip=at.get("tip", x1),
        butt=x0,
        front=front,
        plunge=max(marks.get("plunge line", heel), front),
        zones=rigid_zones(outline.chain),
        ring=outline.ring(),
    )


def kept_place(outline: Outline) -> Point | None:
    """Return the place that stays: where the edge meets the plunge."""
    for name in ("heel", "plunge"):
        for station in outline.stations:
            if station.name == name:
                return station.x_mm, station.y_mm
    return None

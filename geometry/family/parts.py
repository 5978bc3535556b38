"""Where an outline has tip, butt, handle front and plunge, and how wide it is between them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from geometry.curves import Point
from geometry.ends import proposed_ends, proposed_heel, proposed_spine
from geometry.from_contour import framed
from geometry.outline import Outline, Station
from geometry.rigid_zones import rigid_zones, room_mm, sharp_corners
from geometry.sections import sections_mm
from geometry.stretch import EASE, RigidZone

LIES_RIGHT_RAD = math.radians(30)  # a drawing whose tip points this nearly along x stays as it is
FADE_SHARE = 0.4  # of the handle: over which blade and handle widths mix; shorter makes waves
RICASSO = 0.7  # of the width at the plunge, behind it: then it is a ricasso and no neck
RUNS_ON = 0.15  # of that width: a handle no more below the spine continues it
SYMMETRIC = 0.05  # of that width: a shape whose middle strays less from the blade's is symmetric
NECK, NECK_SLOPE = 0.9, 0.1  # of that width: a neck is less; it narrows by more a millimetre
STEP_SHARE = 0.25  # of the blade's width: how far behind a step the tang is narrower
BESIDE_MM = 0.5  # of a step: where widths are taken, and its own length where nothing is rounded
SHARP_MM = 0.6  # the zone of a sharp corner: just more than the step's own length
STEP_FADE_MM = 15.0  # at most: along a step, where its rounding makes up for a change
SECTIONS = 201  # a whole shape is looked at in so many places


Fade: TypeAlias = tuple[float, float]  # where a change of width is gone, and where it is full


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """The x of an outline's tip, butt, handle front and plunge, and its tight places, mm."""

    tip: float
    butt: float
    front: float
    plunge: float
    zones: tuple[RigidZone, ...]
    ring: NDArray[np.float64]
    corners: tuple[Point, ...]

    @property
    def step(self) -> tuple[float, float] | None:
        """The tang's and the blade's side of a step in width between them; None without one.

        It lies at the shoulders of a tang, or at a heel that stands out below a neck.
        """
        for x in (self.front, self.plunge):
            width = self.width_at(x + BESIDE_MM)
            if self.width_at(x - STEP_SHARE * width) < RICASSO * width:
                near = [z for z in self.zones if x - STEP_SHARE * width < z.x_mm <= x]
                if not near:
                    return x - BESIDE_MM, x
                tang = min(z.x_mm - z.radius_mm / 2 for z in near)
                return tang, min(x, max(z.x_mm + z.radius_mm / 2 for z in near))
        return None

    @property
    def neck(self) -> Fade | None:
        """Return the handle's and the blade's end of a slope between them; None without one."""
        x = np.arange(self.plunge, self.butt, -BESIDE_MM)
        plain = np.ones(len(x), dtype=bool)
        for zone in self.zones:
            plain &= np.abs(x - zone.x_mm) > zone.radius_mm  # a notch is no neck
        x = x[plain]
        if len(x) < 2:
            return None
        widths = np.diff(sections_mm(self.ring, x)).ravel()
        falls = -np.diff(widths) / -np.diff(x)
        first = int((falls > NECK_SLOPE).argmax())
        gentle = np.flatnonzero(falls[first:] <= NECK_SLOPE)
        last = first + int(gentle[0]) if gentle.size else len(falls)
        if falls[first] <= NECK_SLOPE or x[first] <= self.front:
            return None
        if widths[last] > NECK * widths[0]:
            return None
        steep = x[first:last][falls[first:last] > falls[first:last].max() / 2]
        easing = EASE / (1 - EASE) / 2 * (steep[0] - steep[-1])  # it eases in to half of its slope
        return float(steep[-1] - easing), float(steep[0] + easing)

    def zones_moving(self) -> tuple[RigidZone, ...]:
        """Return the tight places; those at a step go along with the tang.

        Between them and the blade's corner all of the step makes up for the change.
        """
        if self.step is None:
            return self.zones
        tang, blade = self.step
        return tuple(
            self._at_step(zone, tang) if tang < zone.x_mm <= blade else zone for zone in self.zones
        )

    def _at_step(self, zone: RigidZone, tang: float) -> RigidZone:
        x, y = zone.anchor_mm or (zone.x_mm, zone.y_mm)
        disc = (zone.x_mm, zone.y_mm, zone.radius_mm)
        others = [(z.x_mm, z.y_mm, z.radius_mm) for z in self.zones if z is not zone]
        fade = min(room_mm(disc, others, self.corners), STEP_FADE_MM)
        feet = [
            (cx, cy)
            for cx, cy in self.corners
            if abs(cx - x) < abs(cy - y) and math.dist((cx, cy), disc[:2]) > zone.radius_mm
        ]
        foot = min(feet, key=lambda corner: math.dist(corner, disc[:2]), default=None)
        return replace(
            zone,
            anchor_mm=(tang, y),
            fade_mm=max(fade, zone.radius_mm / 2),
            foot_mm=foot,
            lean=0.0 if foot is None else round((foot[0] - x) / (foot[1] - y), 9),
        )

    @property
    def blade_fades(self) -> tuple[Fade, Fade]:
        """Where the blade's width is gone, and where it is full from; made more, and made less.

        A slope to a narrower handle gets steeper with a wider blade. It would wave were it made
        flatter, so all of the handle takes that up.
        """
        along = self._front_clear - FADE_SHARE * (self.front - self.butt), self._front_clear
        least = self.step or along
        return self.step or self.neck or along, least

    @property
    def handle_fades(self) -> tuple[Fade, Fade]:
        """Where the handle's width is gone, and full from; made more, and made less.

        It fades over its whole share even where the handle is widest nearer its front: a shorter
        way makes a tight S beside the heel.
        """
        if self.step:
            return (self.step[1], self.step[0]), (self.step[1], self.step[0])
        far, front = self.blade_fades[1]
        narrows = self.neck or (far, front)
        return (front, far), (narrows[1], narrows[0])

    @property
    def _front_clear(self) -> float:
        """The handle's front, or behind it where a notch in the ricasso reaches there."""
        reach = [
            zone.x_mm - zone.radius_mm - zone.fade_mm
            for zone in self.zones
            if self.front < zone.x_mm < self.plunge + zone.radius_mm
        ]
        return min([self.front, *reach])

    @property
    def spine(self) -> float:
        """The height of the spine at the plunge."""
        return self.heights_at(self.plunge)[1]

    @property
    def handle_about(self) -> float:
        """The height that a handle widens about: the spine that runs on, or its own middle."""
        low, high = self.heights_at(self.blade_fades[0][0])
        runs_on = self.spine - high < RUNS_ON * self.width_at(self.plunge)
        if not runs_on:
            return (low + high) / 2
        return self._middle if self._is_symmetric else self.spine

    @property
    def _middle(self) -> float:
        low, high = self.heights_at(self.plunge)
        return (low + high) / 2

    @property
    def _is_symmetric(self) -> bool:
        """Whether all of it, from butt to tip, lies evenly about the blade's middle."""
        sections = sections_mm(self.ring, np.linspace(self.butt, self.tip, SECTIONS)[1:-1])
        aside = np.abs(sections.mean(axis=1) - self._middle)
        return bool(np.nanmax(aside, initial=0.0) < SYMMETRIC * self.width_at(self.plunge))

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
    on_it = {name: x for name, x in at.items() if x0 < x < x1}
    heel = on_it.get("heel", on_it.get("plunge", (x0 + x1) / 2))
    front = marks.get("handle front", at.get("handle front", heel))
    front = front if x0 < front < x1 else heel
    found = Places(
        tip=min(at.get("tip", x1), x1),
        butt=x0,
        front=front,
        plunge=max(marks.get("plunge line", heel), front),
        zones=rigid_zones(outline.chain),
        ring=outline.ring(),
        corners=tuple(sharp_corners(outline.chain)),
    )
    return found if found.step is None else _with_sharp_shoulders(found, outline)


def _with_sharp_shoulders(found: Places, outline: Outline) -> Places:
    """Return the places with a zone, too, where tang and shoulder meet in a sharp corner."""
    added = tuple(
        RigidZone(x_mm=x, y_mm=y, radius_mm=SHARP_MM, fade_mm=SHARP_MM, anchor_mm=(x, y))
        for x, y in sharp_corners(outline.chain, inside=True)
        if min(abs(x - found.front), abs(x - found.plunge)) < BESIDE_MM
        and all(math.dist((x, y), (z.x_mm, z.y_mm)) > z.radius_mm for z in found.zones)
    )
    return replace(found, zones=(*found.zones, *added))


def kept_place(outline: Outline) -> Point | None:
    """Return the place that stays: where the edge meets the plunge."""
    for name in ("heel", "plunge"):
        for station in outline.stations:
            if station.name == name:
                return station.x_mm, station.y_mm
    return None

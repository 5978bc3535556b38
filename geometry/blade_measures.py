"""The sizes of a knife as the trade measures them.

Blade length follows the American Knife & Tool Institute's protocol for measuring it (from memory):
the straight line from the tip to the forward-most point of the handle. Their rounding down to an
eighth of an inch is left to whoever prints it. The other sizes are common practice, no source.
Lengths lie along x and widths along y, as the outline is drawn, but for the edge, which is measured
along its curve.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.along import Along
from geometry.curves import Point
from geometry.outline import Outline
from geometry.rigid_zones import rigid_zones

ON_PLATE_MM = 0.05  # how far outside the flattened edge a place on the true one may lie
FINE_MM = 1e-3  # how far what is measured on a flattened edge may be off
SHOULDER_MM = 6.0  # behind the handle's front: a tight place there is a shoulder's rounding
SECTIONS = 400  # across a blade or a handle, to find where it is widest


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """The lowest and the highest place of an outline at an x, mm."""

    x_mm: float
    low_mm: float
    high_mm: float

    @property
    def width_mm(self) -> float:
        """From the one to the other."""
        return self.high_mm - self.low_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeMeasures:
    """The sizes of a blade from its heel to its tip, mm.

    Parameters
    ----------
    length_mm : float
        Along the curve of the edge: what is ground sharp.
    heel_width_mm, widest_mm, widest_x_mm : float
        From edge to spine at the heel, and at the widest place, and where that is.
    tip_height_mm, tip_drop_mm : float
        The tip over the heel, and under the highest point of the blade's spine.
    belly_mm : float
        How far the edge bows out from the straight line between heel and tip.
    """

    length_mm: float
    heel_width_mm: float
    widest_mm: float
    widest_x_mm: float
    tip_height_mm: float
    tip_drop_mm: float
    belly_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BladeMeasures:
    """What a maker reads off a knife with rule and calipers, mm; None where it cannot be told.

    Parameters
    ----------
    overall_mm : float
        From butt to tip.
    blade_mm, handle_mm : float, optional
        From the tip, and from the butt, to the forward-most point of the handle.
    handle_widest_mm : float, optional
        The widest place behind the whole of the handle's front, clear of a shoulder's rounding.
    edge : EdgeMeasures, optional
        Of the blade, where tip and heel are named.
    """

    overall_mm: float
    blade_mm: float | None
    handle_mm: float | None
    handle_widest_mm: float | None
    edge: EdgeMeasures | None


def blade_measures(outline: Outline) -> BladeMeasures:
    """Return the sizes of an outline in its own frame: x toward the tip, y toward the spine.

    Notes
    -----
    The heel is the station of that name, else the foot of the plunge line. The handle begins at
    the forward-most point of the mark ``handle front``. Places that do not lie on the plate, or not
    in their order from butt to tip, tell nothing.
    """
    butt, _, end, _ = outline.bounds_mm
    fronts = [x for x, _ in _fronts(outline)]
    handle = widest(outline, butt, clear_of_shoulders(outline, min(fronts))) if fronts else None
    tip, heel = _station(outline, "tip"), _heel(outline)
    edged = tip and heel and butt - ON_PLATE_MM <= heel[0] < tip[0] <= end + ON_PLATE_MM
    headed = tip and fronts and max(fronts) < tip[0] <= end + ON_PLATE_MM
    return BladeMeasures(
        overall_mm=outline.overall_length_mm,
        blade_mm=outline.blade_length_mm if headed else None,
        handle_mm=max(fronts) - butt if fronts else None,
        handle_widest_mm=handle.width_mm if handle else None,
        edge=_edge_measures(outline, heel, tip) if heel and tip and edged else None,
    )


def handle_front(outline: Outline) -> Point | None:
    """Return the forward-most x of the handle's front and its lowest y; None off the plate."""
    fronts = _fronts(outline)
    if not fronts:
        return None
    return max(x for x, _ in fronts), min(y for _, y in fronts)


def heel_section(outline: Outline) -> Section | None:
    """Return the section at the heel; None without a heel, or without steel there."""
    heel = _heel(outline)
    if heel is None:
        return None
    [(low, high)] = outline.sections_mm([heel[0]]).tolist()
    return Section(x_mm=heel[0], low_mm=low, high_mm=high) if math.isfinite(high - low) else None


def _edge_measures(outline: Outline, heel: Point, tip: Point) -> EdgeMeasures:
    x = np.append(_places(outline, heel[0], tip[0]), tip[0])
    low, high = outline.sections_mm(x, FINE_MM).T
    widest_there = widest(outline, heel[0], tip[0])
    chord = heel[1] + (x - heel[0]) * (tip[1] - heel[1]) / (tip[0] - heel[0])
    square = (tip[0] - heel[0]) / math.dist(heel, tip)  # from upright to square to the chord
    return EdgeMeasures(
        length_mm=Along(outline.chain).between_mm(heel, tip),
        heel_width_mm=float(high[0] - low[0]),
        widest_mm=widest_there.width_mm,
        widest_x_mm=widest_there.x_mm,
        tip_height_mm=tip[1] - heel[1],
        tip_drop_mm=float(np.nanmax(high)) - tip[1],
        belly_mm=float(np.nanmax(chord - low)) * square,
    )


def widest(outline: Outline, start_mm: float, end_mm: float) -> Section:
    """Return the section where an outline is widest from an x up to another."""
    x = _places(outline, start_mm, end_mm)
    low, high = outline.sections_mm(x, FINE_MM).T
    at = int(np.nanargmax(high - low))
    return Section(x_mm=float(x[at]), low_mm=float(low[at]), high_mm=float(high[at]))


def _places(outline: Outline, start_mm: float, end_mm: float) -> NDArray[np.float64]:
    """Return where to look from an x up to another: close together, and at every node."""
    nodes = [segment.start[0] for segment in outline.chain if start_mm < segment.start[0] < end_mm]
    return np.union1d(np.linspace(start_mm, end_mm, SECTIONS, endpoint=False), nodes)


def clear_of_shoulders(outline: Outline, front_mm: float) -> float:
    """Return the x up to which a tang's width counts: behind the roundings at its shoulders."""
    behind = [
        zone.x_mm - zone.radius_mm
        for zone in rigid_zones(outline.chain)
        if front_mm - SHOULDER_MM < zone.x_mm < front_mm
    ]
    return min([front_mm, *behind])


def _fronts(outline: Outline) -> list[Point]:
    """Return the places of the handle's front; none where one does not lie on the plate."""
    butt, _, end, _ = outline.bounds_mm
    points = _points(outline, "handle front")
    return points if all(butt < x < end for x, _ in points) else []


def _heel(outline: Outline) -> Point | None:
    feet = _points(outline, "plunge line")
    return _station(outline, "heel") or min(feet, key=lambda point: point[1], default=None)


def _station(outline: Outline, name: str) -> Point | None:
    return next(((s.x_mm, s.y_mm) for s in outline.stations if s.name == name), None)


def _points(outline: Outline, kind: str) -> list[Point]:
    return [point for mark in outline.marks if mark.kind == kind for point in mark.points_mm]

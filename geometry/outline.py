"""The profile of blade and handle: a closed chain with its holes, marks and stations.

Outline frame: the origin where the edge meets the plunge, x toward the tip, y toward the spine,
mm. An outline says nothing of thickness.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon, STRtree

from geometry.along import Along
from geometry.closed_chain import (
    JOIN_MM,
    ONE_LOOP,
    counter_clockwise,
    invalid_at,
    place_text,
    straight_chain,
)
from geometry.curves import (
    PATTERN_CHORD_MM,
    Chain,
    Point,
    chain_area_mm2,
    chain_length_mm,
    flatten_chain,
)
from geometry.errors import InputError
from geometry.features import Hole, Mark, Station
from geometry.moments import centroid_mm
from geometry.offsets import FINER, offset_polygons
from geometry.pose import Pose
from geometry.sections import sections_mm

Floats: TypeAlias = NDArray[np.float64]

BOUNDS_CHORD_MM = 5e-4  # lengths are told to 0.01 mm
MOST_OPENINGS = 5000  # a blade full of lightening holes has a few hundred

__all__ = [
    "JOIN_MM",
    "PATTERN_CHORD_MM",
    "Hole",
    "Mark",
    "Outline",
    "Station",
    "outline_from_rings",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """A blade and its tang as one closed edge.

    Parameters
    ----------
    name : str
        What the person calls it.
    chain : tuple of Line, Arc and Cubic
        The closed edge; kept counter-clockwise, whichever way it is given.
    holes : tuple of Hole
        Round holes.
    cutouts : tuple of chain
        Openings of any shape, each a closed chain.
    marks, stations : tuple
        Lines to draw, and named places.

    Raises
    ------
    InputError
        If a chain does not close or reaches beyond 10 m, or there are holes without end.
    """

    name: str
    chain: Chain
    holes: tuple[Hole, ...] = ()
    cutouts: tuple[Chain, ...] = ()
    marks: tuple[Mark, ...] = ()
    stations: tuple[Station, ...] = ()

    def __post_init__(self) -> None:
        if len(self.holes) + len(self.cutouts) > MOST_OPENINGS:
            raise InputError(
                f"it has more than {MOST_OPENINGS} holes and openings.",
                where=self.name,
                remedy="Leave out those that are no part of the piece.",
            )
        object.__setattr__(self, "chain", counter_clockwise(self.chain, self.name))
        cutouts = tuple(counter_clockwise(cutout, self.name) for cutout in self.cutouts)
        object.__setattr__(self, "cutouts", cutouts)

    @property
    def area_mm2(self) -> float:
        """The area of steel, holes and cutouts taken off, mm2; exact, not flattened."""
        open_mm2 = sum(math.pi / 4 * hole.diameter_mm**2 for hole in self.holes)
        open_mm2 += sum(chain_area_mm2(cutout) for cutout in self.cutouts)
        return chain_area_mm2(self.chain) - open_mm2

    @property
    def centroid_mm(self) -> Point:
        """The centroid of the steel as a sheet of even thickness, mm; not flattened."""
        return centroid_mm(self.chain, self.cutouts, self.holes)

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """The least and greatest x and y as ``(x0, y0, x1, y1)``, within 0.0005 mm."""
        ring = flatten_chain(self.chain, BOUNDS_CHORD_MM)
        (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
        return x0, y0, x1, y1

    @property
    def overall_length_mm(self) -> float:
        """The length along x from butt to tip, mm."""
        x0, _, x1, _ = self.bounds_mm
        return x1 - x0

    @property
    def blade_length_mm(self) -> float | None:
        """The length from the tip to the front of the handle, mm; None when either is unknown.

        Notes
        -----
        As the trade's protocol has it that `geometry.blade_measures` names: a straight line from
        the tip to the forward-most part of the handle, here along x.
        """
        tips = [station.x_mm for station in self.stations if station.name == "tip"]
        fronts = [
            x for mark in self.marks if mark.kind == "handle front" for x, _ in mark.points_mm
        ]
        return tips[0] - max(fronts) if tips and fronts else None

    def ring(self, chord_mm: float = PATTERN_CHORD_MM) -> Floats:
        """Return the edge as (N, 2) points, counter-clockwise, not repeated at the end, mm."""
        return flatten_chain(self.chain, chord_mm)

    def polygon(self, chord_mm: float = PATTERN_CHORD_MM) -> Polygon:
        """Return the outline flattened, with its holes.

        Parameters
        ----------
        chord_mm : float
            The farthest that a chord may lie from the true curve, > 0.

        Returns
        -------
        shapely.Polygon
            Valid; the exterior counter-clockwise, the holes clockwise.

        Raises
        ------
        InputError
            If the edge crosses itself or a hole is not inside it; the message gives the place.
        """
        rings = [hole.ring(chord_mm) for hole in self.holes]
        rings += [flatten_chain(cutout, chord_mm)[::-1] for cutout in self.cutouts]
        edge = self.ring(chord_mm)
        polygon = Polygon(edge, rings)
        if not polygon.is_valid:
            raise self._why_not(Polygon(edge), rings)
        return polygon

    def offset(self, distance_mm: float, chord_mm: float = PATTERN_CHORD_MM) -> tuple[Polygon, ...]:
        """Return the edge moved outward by a distance, or inward by a negative one.

        Holes stay out of it: they are drilled to their own size whatever is left round the edge.
        `geometry.offsets` tells of corners, and of the parts.
        """
        self.polygon()
        return offset_polygons(Polygon(self.ring(chord_mm / FINER)), distance_mm)

    def sections_mm(self, x_mm: ArrayLike, chord_mm: float = PATTERN_CHORD_MM) -> Floats:
        """Return (N, 2): the edge's and the spine's y at many x, mm; nan where there is none."""
        return sections_mm(self.ring(chord_mm), x_mm)

    @property
    def perimeter_mm(self) -> float:
        """The length all along the edge, mm."""
        return chain_length_mm(self.chain)

    def length_between_mm(self, start: str, end: str) -> float:
        """Return the length along the edge, counter-clockwise, from one station to another, mm.

        Raises
        ------
        InputError
            If the outline has no station of one of the names.
        """
        return Along(self.chain).between_mm(self.station_named(start), self.station_named(end))

    def station_named(self, name: str) -> Point:
        """Return where a station is; InputError naming those there are."""
        for station in self.stations:
            if station.name == name:
                return station.x_mm, station.y_mm
        names = ", ".join(station.name for station in self.stations)
        raise InputError(
            f"it has no place called “{name}”.",
            where=self.name,
            remedy=f"It has: {names}." if names else "Name its tip, heel and butt.",
        )

    def nearest_station(self, point_mm: Point) -> str:
        """Return the name of the station nearest a point; empty when there are none."""
        if not self.stations:
            return ""
        return min(self.stations, key=lambda s: math.dist((s.x_mm, s.y_mm), point_mm)).name

    def placed(self, pose: Pose) -> Outline:
        """Return the outline on a billet: drilled holes keep their size, drills do not scale."""
        moved = self.moved(pose)
        sizes = [hole.diameter_mm for hole in self.holes]
        drilled = [
            replace(hole, diameter_mm=size) for hole, size in zip(moved.holes, sizes, strict=True)
        ]
        return replace(moved, holes=tuple(drilled))

    def moved(self, pose: Pose) -> Outline:
        """Return the outline moved and scaled as a whole, holes grown with it."""

        def places(points: Iterable[Point]) -> list[Point]:
            return [(x, y) for x, y in pose.points(list(points)).tolist()]

        def hole(old: Hole) -> Hole:
            [(x, y)] = places([(old.x_mm, old.y_mm)])
            return replace(old, x_mm=x, y_mm=y, diameter_mm=old.diameter_mm * pose.scale)

        def station(old: Station) -> Station:
            [(x, y)] = places([(old.x_mm, old.y_mm)])
            return replace(old, x_mm=x, y_mm=y)

        return Outline(
            name=self.name,
            chain=tuple(segment.moved(pose) for segment in self.chain),
            holes=tuple(hole(old) for old in self.holes),
            cutouts=tuple(tuple(s.moved(pose) for s in cutout) for cutout in self.cutouts),
            marks=tuple(replace(m, points_mm=tuple(places(m.points_mm))) for m in self.marks),
            stations=tuple(station(old) for old in self.stations),
        )

    def _why_not(self, edge: Polygon, rings: list[Floats]) -> InputError:
        """Return what is wrong with an outline that makes no valid polygon."""
        if not edge.is_valid:
            return InputError(
                f"the edge crosses or touches itself near {place_text(invalid_at(edge))}.",
                where=self.name,
                remedy=ONE_LOOP,
            )
        openings = [Polygon(ring) for ring in rings]
        tree = STRtree(openings)
        for number, opening in enumerate(openings):
            at = place_text((opening.centroid.x, opening.centroid.y))
            if not opening.is_valid:
                message = (
                    f"hole {number + 1} crosses itself near {place_text(invalid_at(opening))}."
                )
            elif not edge.contains_properly(opening):
                message = f"hole {number + 1}, at {at}, is not inside the edge."
            elif tree.query(opening, predicate="intersects").min() < number:
                message = f"hole {number + 1}, at {at}, runs into another hole."
            else:
                continue
            return InputError(message, where=self.name, remedy="Move it or make it smaller.")
        return InputError("the holes cut it apart.", where=self.name, remedy="Take one away.")


def outline_from_rings(name: str, outer: ArrayLike, holes: Iterable[ArrayLike] = ()) -> Outline:
    """Return an outline of straight pieces through given points.

    Parameters
    ----------
    name : str
        What to call it.
    outer : array_like, (N, 2)
        The edge, mm, either way round; a repeated last point is dropped.
    holes : iterable of array_like, (M, 2)
        Openings, mm; they become cutouts.

    Raises
    ------
    InputError
        If a ring has fewer than three points, or one that is not a number.
    """
    return Outline(
        name=name,
        chain=straight_chain(outer, name),
        cutouts=tuple(straight_chain(hole, name) for hole in holes),
    )

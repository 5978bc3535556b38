"""The profile of blade and handle: a closed chain with its holes, marks and stations.

Outline frame: the origin where the edge meets the plunge, x toward the tip, y toward the spine,
mm. An outline says nothing of thickness.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon

from geometry.curves import (
    Arc,
    Chain,
    Cubic,
    Line,
    Point,
    Segment,
    chain_area_mm2,
    chain_backward,
    flatten_chain,
)
from geometry.errors import InputError
from geometry.pose import Pose

JOIN_MM = 1e-6  # ends this close are one point; a thousandth of what any saw can follow
MAX_MM = 10_000.0  # no knife is 10 m long: a unit is wrong, or the file is damaged
PATTERN_CHORD_MM = 0.01  # how far a flattened edge may lie from the true curve

ONE_LOOP = "Give one closed edge that does not cross or touch itself."


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole: ``kind`` is what it is for (``pin``, ``tube``, ``bolt``, ``lightening``)."""

    x_mm: float
    y_mm: float
    diameter_mm: float
    kind: str = "pin"

    def __post_init__(self) -> None:
        if not math.isfinite(self.x_mm + self.y_mm) or not 0 < self.diameter_mm < math.inf:
            raise InputError(
                f"a hole of {self.diameter_mm:g} mm cannot be drilled.",
                where="Hole",
                remedy="Give its place and a diameter above zero.",
            )

    def ring(self, chord_mm: float = PATTERN_CHORD_MM) -> NDArray[np.float64]:
        """Return (N, 2) points on the hole's edge, clockwise, as a hole in a polygon, mm."""
        west = (self.x_mm - self.diameter_mm / 2, self.y_mm)
        east = (self.x_mm + self.diameter_mm / 2, self.y_mm)
        halves = (
            Arc(start=west, end=east, sweep_rad=-math.pi),
            Arc(start=east, end=west, sweep_rad=-math.pi),
        )
        return flatten_chain(halves, chord_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A line drawn and not cut; ``kind`` is ``plunge line``, ``handle front``, ``centre line``."""

    kind: str
    points_mm: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A named place on the outline, so that a message can say ``near the heel``."""

    name: str
    x_mm: float
    y_mm: float


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
        If a chain does not close, or reaches beyond 10 m.
    """

    name: str
    chain: Chain
    holes: tuple[Hole, ...] = ()
    cutouts: tuple[Chain, ...] = ()
    marks: tuple[Mark, ...] = ()
    stations: tuple[Station, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "chain", _counter_clockwise(self.chain, self.name))
        cutouts = tuple(_counter_clockwise(cutout, self.name) for cutout in self.cutouts)
        object.__setattr__(self, "cutouts", cutouts)

    @property
    def area_mm2(self) -> float:
        """The area of steel, holes and cutouts taken off, mm2; exact, not flattened."""
        open_mm2 = sum(math.pi / 4 * hole.diameter_mm**2 for hole in self.holes)
        open_mm2 += sum(chain_area_mm2(cutout) for cutout in self.cutouts)
        return chain_area_mm2(self.chain) - open_mm2

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """The least and greatest x and y as ``(x0, y0, x1, y1)``, within 0.01 mm."""
        ring = flatten_chain(self.chain, PATTERN_CHORD_MM)
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
        As the knife trade association's protocol for measuring blade length has it: a straight
        line from the tip to the forward-most part of the handle (from memory), here along x.
        """
        tips = [station.x_mm for station in self.stations if station.name == "tip"]
        fronts = [
            x for mark in self.marks if mark.kind == "handle front" for x, _ in mark.points_mm
        ]
        return tips[0] - max(fronts) if tips and fronts else None

    def ring(self, chord_mm: float = PATTERN_CHORD_MM) -> NDArray[np.float64]:
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

    def _why_not(self, edge: Polygon, rings: list[NDArray[np.float64]]) -> InputError:
        """Return what is wrong with an outline that makes no valid polygon."""
        if not edge.is_valid:
            return InputError(
                f"the edge crosses or touches itself near {_place(_invalid_at(edge))}.",
                where=self.name,
                remedy=ONE_LOOP,
            )
        for number, ring in enumerate(rings, start=1):
            opening = Polygon(ring)
            at = _place((opening.centroid.x, opening.centroid.y))
            if not opening.is_valid:
                message = f"hole {number} crosses itself near {_place(_invalid_at(opening))}."
            elif not edge.contains_properly(opening):
                message = f"hole {number}, at {at}, is not inside the edge."
            elif any(opening.intersects(Polygon(other)) for other in rings[: number - 1]):
                message = f"hole {number}, at {at}, runs into another hole."
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
        chain=_straight_chain(outer, name),
        cutouts=tuple(_straight_chain(hole, name) for hole in holes),
    )


def _straight_chain(ring: ArrayLike, name: str) -> Chain:
    points = np.asarray(ring, float).reshape(-1, 2)
    if not np.isfinite(points).all():
        raise InputError("a point of it is not a number.", where=name, remedy=ONE_LOOP)
    step = np.hypot(*(points - np.roll(points, 1, axis=0)).T)
    kept = [(x, y) for x, y in points[step > JOIN_MM].tolist()]
    if len(kept) < 3:
        raise InputError("its edge has fewer than three points.", where=name, remedy=ONE_LOOP)
    return tuple(Line(start=a, end=b) for a, b in zip(kept, [*kept[1:], kept[0]], strict=True))


def _counter_clockwise(chain: Chain, name: str) -> Chain:
    """Return a closed chain turned counter-clockwise; InputError when it does not close."""
    for segment, after in zip(chain, [*chain[1:], *chain[:1]], strict=True):
        _check_size(segment, name)
        gap = math.dist(segment.end, after.start)
        if not gap <= JOIN_MM:
            raise InputError(
                f"the edge is open by {gap:.3g} mm at {_place(segment.end)}.",
                where=name,
                remedy="Join its ends.",
            )
    return chain if chain_area_mm2(chain) >= 0 else chain_backward(chain)


def _check_size(segment: Segment, name: str) -> None:
    """Check that a piece is of this world, so that flattening it is bounded work."""
    numbers = [*segment.start, *segment.end]
    if isinstance(segment, Cubic):
        numbers += [*segment.control1, *segment.control2]
    if isinstance(segment, Arc):
        numbers.append(segment.length_mm)
    if not all(abs(number) <= MAX_MM for number in numbers):
        raise InputError(
            f"a piece of the edge, near {_place(segment.start)}, reaches beyond "
            f"{MAX_MM / 1000:g} m.",
            where=name,
            remedy="Check the unit.",
        )


def _invalid_at(shape: Polygon) -> Point:
    """Return the place that makes a polygon invalid, mm."""
    reason = shapely.is_valid_reason(shape)
    x, y = reason[reason.index("[") + 1 : reason.index("]")].split()[:2]
    return float(x), float(y)


def _place(point: Point) -> str:
    x, y = (f"{v:.1f}" if abs(v) < 10 * MAX_MM else f"{v:.0e}" for v in point)
    return f"x {x}, y {y} mm"

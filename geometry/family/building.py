"""From a family's rules and a set of values to the outline."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.curves import Arc, Chain, Line, Point, Segment
from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.family.model import Family
from geometry.family.rounding import rounded
from geometry.family.rules import HoleRule, MarkRule, NodeRule
from geometry.hobby import MIN_TENSION, Knot, hobby_curve
from geometry.outline import JOIN_MM, Hole, Mark, Outline, Station
from geometry.stretch import StretchMap

MIN_HOLE_MM = 0.5  # no drill is smaller; a slider near zero means no hole
MAX_HOLES = 64  # in one row; more is a slip in the file
Values = Mapping[str, float]
Ring = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """The edge that holes and marks lie on, and where places of the drawn profile went."""

    ring: Ring
    stretched: StretchMap

    def spot(self, x: Expression, y: Expression | None, values: Values) -> Point:
        """Return a point, midway between the two sides where no y is given."""
        if y is not None:
            return self.stretched.point((x.value(values), y.value(values)))
        across = self.x(x, values)
        low, high = section_mm(self.ring, across)
        return across, (low + high) / 2

    def x(self, x: Expression, values: Values) -> float:
        """Return where an x that was drawn went."""
        return self.stretched.point((x.value(values), 0.0))[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """A node with its numbers worked out; directions in radians."""

    rule: NodeRule
    point: Point
    arrive_rad: float | None
    leave_rad: float | None


def build(family: Family, values: Values) -> Outline:
    """Return a family's outline for a full set of values.

    Raises
    ------
    InputError
        If the values make an edge that crosses itself, or leave too little steel round a hole.
    """
    nodes = _nodes(family, values)
    stretched = family.profile.map_for(values)
    try:
        chain = family.profile.edge(stretched) or _chain(nodes, values, family.name)
    except np.linalg.LinAlgError as error:
        raise InputError("no smooth curve goes through its nodes.", where=family.name) from error
    bare = Outline(name=family.name, chain=chain)
    edge = bare.polygon()  # first of all: on an edge that crosses itself nothing else means much
    ground = Ground(ring=bare.ring(), stretched=stretched)
    outline = Outline(
        name=family.name,
        chain=bare.chain,
        holes=_holes(family, values, ground, edge),
        cutouts=family.profile.openings(stretched),
        marks=tuple(_mark(rule, values, ground) for rule in family.marks),
        stations=_stations(family, nodes, values, ground),
    )
    outline.polygon()
    return outline


def _nodes(family: Family, values: Values) -> list[Node]:
    """Return the nodes, without those that lie on the next (a notch of radius zero)."""
    nodes = [
        Node(
            rule=rule,
            point=(rule.x.value(values), rule.y.value(values)),
            arrive_rad=_radians(rule.arrive, values),
            leave_rad=_radians(rule.leave, values),
        )
        for rule in family.nodes
    ]
    after = [*nodes[1:], *nodes[:1]]
    return [a for a, b in zip(nodes, after, strict=True) if math.dist(a.point, b.point) > JOIN_MM]


def _radians(rule: Expression | None, values: Values) -> float | None:
    return None if rule is None else math.radians(rule.value(values))


def _chain(nodes: list[Node], values: Values, name: str) -> Chain:
    """Return the closed chain through the nodes."""
    count = len(nodes)
    if count < 2:
        raise InputError("these values leave no edge.", where=name, remedy="Change one of them.")
    straight = [_straight(nodes[i], nodes[(i + 1) % count], values) for i in range(count)]
    knots = [_knot(nodes[i], straight[i - 1], straight[i], values) for i in range(count)]
    first = next((i for i in range(count) if straight[i - 1] is not None), None)
    if first is None:
        return hobby_curve(knots, closed=True)
    order = [(first + step) % count for step in range(count)]
    segments: list[Segment] = []
    run: list[Knot] = []
    for i in order:
        piece = straight[i]
        run.append(knots[i])
        if piece is None:
            continue
        if len(run) > 1:
            segments.extend(hobby_curve(run))
        segments.append(piece)
        run = []
    if run:
        segments.extend(hobby_curve([*run, knots[first]]))
    radii = {nodes[i].point: r for i in order if (r := _radius(nodes[i].rule, values)) > 0}
    return rounded(tuple(segments), radii, name)


def _straight(node: Node, after: Node, values: Values) -> Line | Arc | None:
    """Return the line or arc from a node to the next; None where a curve goes."""
    if node.rule.next == "line":
        return Line(start=node.point, end=after.point)
    if node.rule.next == "arc":
        sweep = math.radians(node.rule.sweep.value(values)) if node.rule.sweep else 0.0
        if abs(sweep) < 1e-9:
            return Line(start=node.point, end=after.point)
        if abs(sweep) > 1.9 * math.pi:
            raise InputError("an arc turns nearly all the way round.", where="Family")
        return Arc(start=node.point, end=after.point, sweep_rad=sweep)
    return None


def _knot(node: Node, before: Segment | None, after: Segment | None, values: Values) -> Knot:
    """Return the node as a knot, a smooth one taking the direction of a line or arc beside it."""
    tension, curl = node.rule.tension.value(values), node.rule.curl.value(values)
    if tension < MIN_TENSION or curl < 0:
        raise InputError(
            f"a node's tension is {tension:g} and its curl {curl:g}.",
            where="Family",
            remedy=f"Keep tension at least {MIN_TENSION:g} and curl at least 0.",
        )
    arrive, leave = node.arrive_rad, node.leave_rad
    if not node.rule.corner and arrive is None:
        if before is not None:
            arrive = leave = math.atan2(*reversed(before.end_direction))
        elif after is not None:
            arrive = leave = math.atan2(*reversed(after.start_direction))
    return Knot(
        point=node.point,
        corner=node.rule.corner,
        into_rad=arrive,
        out_rad=leave,
        tension_in=tension,
        tension_out=tension,
        curl=curl,
    )


def _radius(rule: NodeRule, values: Values) -> float:
    return rule.rounding.value(values) if rule.rounding else 0.0


def _holes(
    family: Family, values: Values, ground: Ground, edge: shapely.Polygon
) -> tuple[Hole, ...]:
    """Return all holes; InputError when one has too little steel round it."""
    holes: list[Hole] = []
    for rule in family.holes:
        for hole, web_mm in _row(rule, values, ground, family.name):
            _check_web(hole, web_mm, edge, holes, family.name)
            holes.append(hole)
    return tuple(holes)


def _row(rule: HoleRule, values: Values, ground: Ground, name: str) -> Iterator[tuple[Hole, float]]:
    """Yield a row's holes, each with the steel to leave round it."""
    count = round(rule.count.value(values))
    if count > MAX_HOLES:
        raise InputError(f"{count} holes in one row.", where=name, remedy=f"At most {MAX_HOLES}.")
    for i in range(count):
        here = {**values, "i": float(i), "n": float(count)}
        diameter = rule.diameter.value(here)
        if diameter >= MIN_HOLE_MM:
            x, y = ground.spot(rule.x, rule.y, here)
            hole = Hole(x_mm=x, y_mm=y, diameter_mm=diameter, kind=rule.kind)
            yield hole, rule.web.value(here)


def _check_web(
    hole: Hole, web_mm: float, edge: shapely.Polygon, others: list[Hole], name: str
) -> None:
    """Check the steel between a hole and the edge, and the holes before it."""
    centre = shapely.Point(hole.x_mm, hole.y_mm)
    radius = hole.diameter_mm / 2
    left = (edge.exterior.distance(centre) if edge.contains(centre) else 0.0) - radius
    if left < web_mm:
        raise InputError(
            f"it is too narrow for a {hole.kind} hole of {hole.diameter_mm:.3g} mm with {web_mm:g} "
            f"mm of steel beside it; {math.floor(10 * max(left, 0)) / 10:.1f} mm would be left.",
            where=name,
            remedy="Make it wider there, or the hole smaller.",
        )
    for other in others:
        apart = math.dist((hole.x_mm, hole.y_mm), (other.x_mm, other.y_mm))
        if apart - radius - other.diameter_mm / 2 < web_mm:
            raise InputError(
                f"a {hole.kind} hole and a {other.kind} hole have less than {web_mm:g} mm of "
                "steel between them.",
                where=name,
                remedy="Take fewer or smaller ones, or a longer handle.",
            )


def _mark(rule: MarkRule, values: Values, ground: Ground) -> Mark:
    if rule.across is not None:
        x = ground.x(rule.across, values)
        low, high = section_mm(ground.ring, x)
        return Mark(kind=rule.kind, points_mm=((x, low), (x, high)))
    points = tuple(ground.spot(x, y, values) for x, y in rule.points)
    return Mark(kind=rule.kind, points_mm=points)


def _stations(
    family: Family, nodes: list[Node], values: Values, ground: Ground
) -> tuple[Station, ...]:
    named = [(node.rule.station, node.point) for node in nodes if node.rule.station]
    named += [(rule.name, ground.spot(rule.x, rule.y, values)) for rule in family.stations]
    return tuple(Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in named)


def section_mm(ring: Ring, x_mm: float) -> tuple[float, float]:
    """Return the lowest and highest y of a ring at an x, mm; InputError when it is not there."""
    x0, y0 = ring.T
    x1, y1 = np.roll(ring, -1, axis=0).T
    over = (x0 <= x_mm) != (x1 <= x_mm)
    if not over.any():
        raise InputError(
            f"it does not reach x {x_mm:.1f} mm.", where="Family", remedy="Change the lengths."
        )
    share = (x_mm - x0[over]) / (x1[over] - x0[over])
    y = y0[over] + share * (y1[over] - y0[over])
    return float(y.min()), float(y.max())

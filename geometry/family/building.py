"""From a family's rules and a set of values to the outline."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from geometry.closed_chain import JOIN_MM, MAX_MM
from geometry.curves import Arc, Chain, Line, Point, Segment
from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.family.ground import Ground, Values
from geometry.family.holes import family_holes, front_mm
from geometry.family.marks import jimping, mark
from geometry.family.model import Family
from geometry.family.rounding import rounded
from geometry.family.rules import NodeRule
from geometry.family.true_ends import kept_on_edge
from geometry.hobby import MIN_TENSION, Knot, hobby_curve
from geometry.outline import Outline, Station


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
    stretched, edge = family.profile.edge(family.profile.map_for(values))
    try:
        chain = edge or _chain(_apart(nodes), values, family.name)
    except np.linalg.LinAlgError as error:
        raise InputError("no smooth curve goes through its nodes.", where=family.name) from error
    bare = Outline(name=family.name, chain=chain, cutouts=family.profile.openings(stretched))
    steel = bare.polygon()  # first of all: on an edge that crosses itself nothing else means much
    ground = Ground(
        name=family.name,
        chain=bare.chain,
        ring=bare.ring(),
        steel=steel,
        stretched=stretched,
        moved=stretched.moved(family.drawn_places()),
    )
    marks = [mark(rule, values, ground) for rule in family.marks]
    ticks = [tick for rule in family.jimping for tick in jimping(rule, values, ground)]
    stations = _stations(family, nodes, values, ground)
    front = front_mm(marks, stations)
    outline = replace(
        bare,
        holes=family_holes(family.holes, family.lightening, values, ground, front),
        marks=(*marks, *ticks),
        stations=stations,
    )
    outline.polygon()
    return outline


def _nodes(family: Family, values: Values) -> list[Node]:
    """Return the nodes; InputError when one lies beyond all measure."""
    nodes = [
        Node(
            rule=rule,
            point=(rule.x.value(values), rule.y.value(values)),
            arrive_rad=_radians(rule.arrive, values),
            leave_rad=_radians(rule.leave, values),
        )
        for rule in family.nodes
    ]
    for node in nodes:
        if not all(abs(number) <= MAX_MM for number in node.point):
            raise InputError(
                f"a node of it lies beyond {MAX_MM / 1000:g} m.",
                where=family.name,
                remedy="Check the unit.",
            )
    return nodes


def _apart(nodes: list[Node]) -> list[Node]:
    """Return the nodes without those that lie on the next (a notch of radius zero)."""
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


def _stations(
    family: Family, nodes: list[Node], values: Values, ground: Ground
) -> tuple[Station, ...]:
    named = [(node.rule.station, node.point) for node in nodes if node.rule.station]
    drawn = family.profile.chain
    for rule in family.stations:
        spot = ground.spot(rule.x, rule.y, values)
        if drawn and rule.y is not None and not ground.stretched.is_none:
            place = rule.x.value(values), rule.y.value(values)
            spot = kept_on_edge(place, spot, drawn, ground.chain)
        named.append((rule.name, spot))
    return tuple(Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in named)

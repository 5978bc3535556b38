"""A profile that was drawn once, with numbers, and the stretches that make a family of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment
from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.family.table import Table
from geometry.family.true_ends import stretched_edge
from geometry.outline import Outline
from geometry.pose import Pose
from geometry.stretch import Axis, RigidZone, Stretch, StretchAt, StretchMap

CORNERS = {"line": 2, "arc": 2, "cubic": 4}  # how many points each kind of piece has


@dataclass(frozen=True, slots=True, kw_only=True)
class StretchRule:
    """A stretch whose change follows from the measures."""

    at: StretchAt
    by: Expression

    def stretch(self, values: Mapping[str, float]) -> Stretch:
        """Return the stretch for some values."""
        return Stretch(at=self.at, by_mm=self.by.value(values))


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """An edge as it was drawn, and how it stretches.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge; empty for a family whose edge goes through nodes.
    cutouts : tuple of chain
        Openings that are not round; they move and keep their shape.
    stretches : tuple of StretchRule
        They add up.
    rigid : tuple of RigidZone
        Where the shape is kept.
    kept : tuple of float, optional
        A place that does not move.
    """

    chain: Chain = ()
    cutouts: tuple[Chain, ...] = ()
    stretches: tuple[StretchRule, ...] = ()
    rigid: tuple[RigidZone, ...] = ()
    kept: Point | None = None

    def map_for(self, values: Mapping[str, float]) -> StretchMap:
        """Return the map that stretches it for some values."""
        return StretchMap(
            stretches=tuple(rule.stretch(values) for rule in self.stretches),
            rigid=self.rigid,
            kept=self.kept,
        )

    def edge(self, stretched: StretchMap) -> tuple[StretchMap, Chain]:
        """Return the edge under a map, as drawn when it changes nothing, and the map it is under.

        That one brings its ends exactly where they were told.
        """
        if stretched.is_none or not self.chain:
            return stretched, self.chain
        return stretched_edge(self.chain, stretched)

    def openings(self, stretched: StretchMap) -> tuple[Chain, ...]:
        """Return the cutouts, each moved as its middle moves."""
        return tuple(_carried(cutout, stretched) for cutout in self.cutouts)


NO_PROFILE = Profile()  # of a family whose edge goes through nodes


def _carried(cutout: Chain, stretched: StretchMap) -> Chain:
    xs, ys = zip(*(segment.start for segment in cutout), strict=True)
    middle = ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    x, y = stretched.point(middle)
    if (x, y) == middle:
        return cutout
    pose = Pose(x_mm=x - middle[0], y_mm=y - middle[1])
    return tuple(segment.moved(pose) for segment in cutout)


def profile_of(
    pieces: Sequence[tuple[int, Segment]],
    stretches: tuple[StretchRule, ...],
    rigid: tuple[RigidZone, ...],
    kept: Point | None,
    where: str,
) -> Profile:
    """Return the profile of a file's entries.

    Raises
    ------
    InputError
        If the pieces do not close, or nothing is there that could stretch.
    """
    chains: dict[int, list[Segment]] = {}
    for number, piece in pieces:
        chains.setdefault(number, []).append(piece)
    edge = tuple(chains.pop(0, ()))
    cutouts = tuple(tuple(chain) for chain in chains.values())
    if not edge and (cutouts or stretches or rigid or kept):
        raise InputError("it has no pieces of an edge to stretch.", where=where)
    if edge:
        Outline(name=where, chain=edge, cutouts=cutouts)  # refuses what does not close
    return Profile(chain=edge, cutouts=cutouts, stretches=stretches, rigid=rigid, kept=kept)


def piece_entry(table: Table) -> tuple[int, Segment]:
    """Return a piece of the edge (0) or of a cutout by its number from 1."""
    kind = table.choice("kind", tuple(CORNERS))
    points = table.places("points")
    number = table.whole("cutout", 0)
    if number < 0:
        raise table.refusal("cutout", "it has to be a number from 1, or left out for the edge")
    if len(points) != CORNERS[kind]:
        raise table.refusal("points", f"a {kind} has {CORNERS[kind]} of them")
    if kind == "line":
        return number, Line(start=points[0], end=points[1])
    if kind == "cubic":
        p0, p1, p2, p3 = points
        return number, Cubic(start=p0, control1=p1, control2=p2, end=p3)
    try:
        sweep = math.radians(table.number("sweep"))
        return number, Arc(start=points[0], end=points[1], sweep_rad=sweep)
    except ValueError as error:
        raise table.refusal("sweep", "there is no such arc") from error


def stretch_entry(table: Table) -> StretchRule:
    """Return a stretch; what concerns heights only along y."""
    axis: Axis = table.choice("axis", ("x", "y"))
    across = axis == "y"
    fades = across and table.has("gone_at")
    start, end = table.number("from"), table.number("to")
    gone = table.number("gone_at") if fades else None
    full = table.number("full_at") if fades else None
    by = table.expression("by")
    if start == end or (fades and gone == full):
        raise table.refusal("to", "a stretch begins and ends at two places")
    at = StretchAt(
        axis=axis,
        start_mm=start,
        end_mm=end,
        about_mm=table.number("about") if across else 0.0,
        gone_at_mm=gone,
        full_at_mm=full,
        carried_mm=table.number("carried") if fades and table.has("carried") else None,
        goes_on=not across and table.flag("goes_on"),
    )
    return StretchRule(at=at, by=by)


def rigid_entry(table: Table) -> RigidZone:
    """Return a zone that keeps its shape."""
    zone = RigidZone(
        x_mm=table.number("x"),
        y_mm=table.number("y"),
        radius_mm=table.number("radius"),
        fade_mm=table.number("fade"),
        anchor_mm=table.place_or_none("anchor"),
        foot_mm=table.place_or_none("foot"),
        lean=table.number("lean") if table.has("lean") else 0.0,
    )
    if zone.radius_mm <= 0 or zone.fade_mm < zone.radius_mm / 2:
        raise table.refusal("fade", "it has to be half the radius at least, and that above zero")
    return zone

"""What a family's file says of each part of the outline, as rules over the measures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from geometry.family.expressions import Expression

Next: TypeAlias = Literal["curve", "line", "arc"]
Side: TypeAlias = Literal["spine", "edge"]


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeRule:
    """A point of the profile and how the edge goes through it and on to the next.

    Directions and the sweep are in degrees, counter-clockwise; ``rounding`` is a corner's radius
    between two lines, mm.
    """

    x: Expression
    y: Expression
    corner: bool
    arrive: Expression | None
    leave: Expression | None
    tension: Expression
    curl: Expression
    next: Next
    sweep: Expression | None
    rounding: Expression | None
    station: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoleRule:
    """A hole, or a row of ``count`` of them numbered ``i`` from 0.

    Without ``y`` it lies midway between the two sides; ``web`` is the least steel to leave round
    it, mm. A diameter below any drill's leaves the hole out.
    """

    kind: str
    x: Expression
    y: Expression | None
    diameter: Expression
    count: Expression
    web: Expression


@dataclass(frozen=True, slots=True, kw_only=True)
class LighteningRule:
    """Round holes in hexagonal rows that fill the outline between two x.

    ``web`` is the least steel to leave to the edge, to other holes and between them, mm. A
    diameter below any drill's leaves them out.
    """

    from_x: Expression
    to_x: Expression
    diameter: Expression
    web: Expression


@dataclass(frozen=True, slots=True, kw_only=True)
class JimpingRule:
    """A row of ticks square to the spine or the edge, from x ``start`` on toward the tip.

    ``pitch`` is their distance along the curve and ``depth`` their length inward, mm. A row that is
    not even has ``gaps`` from each tick to the next, mm, in place of pitch and count.
    """

    start: Expression
    pitch: Expression
    count: Expression
    depth: Expression
    side: Side
    gaps: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkRule:
    """A line to draw: across the outline at an x, or through points, y midway if not given.

    ``smooth`` draws a curve through the points, in place of straight pieces.
    """

    kind: str
    across: Expression | None
    points: tuple[tuple[Expression, Expression | None], ...]
    smooth: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StationRule:
    """A named place that is no node."""

    name: str
    x: Expression
    y: Expression | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstraintRule:
    """What has to hold between the measures: ``value`` at least ``least``, or the message.

    In message and remedy, ``{value}``, ``{least}`` and the name of any measure in braces stand
    for their numbers.
    """

    value: Expression
    least: Expression
    message: str
    remedy: str

"""One entry of each kind in a family's file: which keys it has, and what each may be."""

from __future__ import annotations

from collections.abc import Mapping
from typing import get_args

from geometry.family.model import Parameter, Size, Unit
from geometry.family.rules import (
    ConstraintRule,
    HoleRule,
    JimpingRule,
    LighteningRule,
    MarkRule,
    Next,
    NodeRule,
    Side,
    StationRule,
)
from geometry.family.table import Table

MAX_SMOOTH = 200  # points of one curve; a bevel line has five


def parameter_entry(table: Table) -> Parameter:
    """Return a measure, its default inside its range."""
    parameter = Parameter(
        key=table.text("key"),
        label=table.text("label"),
        unit=table.choice("unit", get_args(Unit)),
        default=table.number("default"),
        low=table.number("low"),
        high=table.number("high"),
        help=table.text("help"),
        whole=table.flag("whole"),
    )
    if not parameter.low <= parameter.default <= parameter.high:
        raise table.refusal("default", "it is not between low and high")
    return parameter


def node_entry(table: Table) -> NodeRule:
    """Return a node; directions and sweep only where they mean something."""
    corner = table.choice("joint", ("smooth", "corner"), "smooth") == "corner"
    direction = table.expression_or_none("direction")
    arrive, leave = table.expression_or_none("arrive"), table.expression_or_none("leave")
    if (arrive or leave) and not corner:
        raise table.refusal("joint", "a smooth node has one direction, not arrive and leave")
    step: Next = table.choice("next", get_args(Next), "curve")
    sweep = table.expression_or_none("sweep")
    if (step == "arc") != (sweep is not None):
        raise table.refusal("sweep", "an arc, and nothing else, has a sweep")
    return NodeRule(
        x=table.expression("x"),
        y=table.expression("y"),
        corner=corner,
        arrive=arrive or direction,
        leave=leave or direction,
        tension=table.expression("tension", "1"),
        curl=table.expression("curl", "1"),
        next=step,
        sweep=sweep,
        rounding=table.expression_or_none("round"),
        station=table.text("station", ""),
    )


def hole_entry(table: Table) -> HoleRule:
    """Return a hole or a row of holes."""
    return HoleRule(
        kind=table.text("kind"),
        x=table.expression("x"),
        y=table.expression_or_none("y"),
        diameter=table.expression("diameter"),
        count=table.expression("count", "1"),
        web=table.expression("web"),
    )


def lightening_entry(table: Table) -> LighteningRule:
    """Return a stretch of the outline filled with round holes."""
    return LighteningRule(
        from_x=table.expression("from"),
        to_x=table.expression("to"),
        diameter=table.expression("diameter"),
        web=table.expression("web"),
    )


def jimping_entry(table: Table) -> JimpingRule:
    """Return a row of ticks: with a pitch and a count, or with the gaps between."""
    gaps = table.numbers("gaps") if table.has("gaps") else ()
    if gaps and (table.has("pitch") or table.has("count")):
        raise table.refusal("gaps", "they take the place of pitch and count")
    return JimpingRule(
        start=table.expression("start"),
        pitch=table.expression("pitch", str(min(gaps)) if gaps else None),
        count=table.expression("count", str(len(gaps) + 1) if gaps else None),
        depth=table.expression("depth", "1"),
        side=table.choice("side", get_args(Side), "spine"),
        gaps=gaps,
    )


def mark_entry(table: Table) -> MarkRule:
    """Return a line to draw."""
    across = table.expression_or_none("across")
    points = table.points("points")
    if (across is None) == (len(points) < 2):
        raise table.refusal("points", "a mark goes across at an x, or through two points or more")
    smooth = table.choice("joint", ("smooth", "corner"), "corner") == "smooth"
    if smooth and len(points) > MAX_SMOOTH:
        raise table.refusal("points", f"a curve goes through at most {MAX_SMOOTH} of them")
    return MarkRule(kind=table.text("kind"), across=across, points=points, smooth=smooth)


def station_entry(table: Table) -> StationRule:
    """Return a named place."""
    return StationRule(
        name=table.text("name"), x=table.expression("x"), y=table.expression_or_none("y")
    )


def constraint_entry(table: Table) -> ConstraintRule:
    """Return what has to hold between the measures."""
    return ConstraintRule(
        value=table.expression("value"),
        least=table.expression("least"),
        message=table.text("message"),
        remedy=table.text("remedy"),
    )


def size_entry(table: Table, parameters: Mapping[str, Parameter]) -> Size:
    """Return a named set of values, each inside its parameter's range."""
    name = table.text("name")
    values = table.table("values")
    for key in values.names():
        if key not in parameters:
            raise values.refusal(key, f"it is none of the measures {', '.join(parameters)}")
    numbers = [(key, parameters[key].checked(values.number(key), name)) for key in values.names()]
    return Size(name=name, values=tuple(numbers))

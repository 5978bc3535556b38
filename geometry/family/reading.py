"""Family files: TOML checked key by key, with one clear line for what is wrong.

::

    format = 1
    name = "..."                      what the screen shows
    notes = "..."
    [[parameter]]                     key, label, unit, default, low, high, help, whole
    [values]                          name = "expression", each from the parameters and those above
    [[node]]                          x, y, joint, direction | arrive, leave, tension, curl,
                                      next = "curve" | "line" | "arc", sweep, round, station
    [[hole]]                          kind, x, y, diameter, count, web
    [[mark]]                          kind, across | points = [["x", "y"], ["x"]]
    [[station]]                       name, x, y
    [[constraint]]                    value, least, message, remedy with {names}

Every number may be an expression in quotes. Nodes go counter-clockwise.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable
from typing import Any, TypeVar, get_args

from geometry.errors import InputError
from geometry.family.expressions import FUNCTIONS, Expression
from geometry.family.model import (
    ConstraintRule,
    Family,
    HoleRule,
    MarkRule,
    Next,
    NodeRule,
    Parameter,
    StationRule,
    Unit,
)
from geometry.family.table import Table

FORMAT = 1
MAX_LETTERS = 200_000  # the built-in families have under 10,000
MAX_ENTRIES = 200  # of one kind
ROW_NAMES = frozenset({"i", "n"})  # a hole's number in its row, and how many there are
OWN_NAMES = ROW_NAMES | {"value", "least"}
R = TypeVar("R")


def family_from_text(text: str, key: str) -> Family:
    """Return the family in a TOML text.

    Parameters
    ----------
    text : str
        The file's text.
    key : str
        The name to call it by, the file's stem.

    Raises
    ------
    InputError
        If it is no family: one line that says what and where.
    """
    if len(text) > MAX_LETTERS:
        raise InputError("the family's file is too long.", where=key)
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(f"the family's file is not TOML ({error}).", where=key) from error
    top = Table(data, key)
    version = top.whole("format")
    if version != FORMAT:
        raise InputError(
            f"the family's file has format {version}, and {FORMAT} is known.",
            where=key,
            remedy="Use a newer version of the program." if version > FORMAT else "",
        )
    family = _family(top, key)
    top.finish()
    _check_names(family)
    return family


def _family(top: Table, key: str) -> Family:
    values = top.table("values")
    derived = tuple((name, values.expression(name)) for name in values.names())
    return Family(
        key=key,
        name=top.text("name"),
        notes=top.text("notes", ""),
        parameters=_each(top, "parameter", _parameter),
        derived=derived,
        nodes=_each(top, "node", _node),
        holes=_each(top, "hole", _hole),
        marks=_each(top, "mark", _mark),
        stations=_each(top, "station", _station),
        constraints=_each(top, "constraint", _constraint),
    )


def _each(top: Table, name: str, read: Callable[[Table], R]) -> tuple[R, ...]:
    tables = top.tables(name)
    if len(tables) > MAX_ENTRIES:
        raise top.refusal(name, f"there are more than {MAX_ENTRIES}")
    found = []
    for table in tables:
        found.append(read(table))
        table.finish()
    return tuple(found)


def _parameter(table: Table) -> Parameter:
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


def _node(table: Table) -> NodeRule:
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


def _hole(table: Table) -> HoleRule:
    return HoleRule(
        kind=table.text("kind"),
        x=table.expression("x"),
        y=table.expression_or_none("y"),
        diameter=table.expression("diameter"),
        count=table.expression("count", "1"),
        web=table.expression("web"),
    )


def _mark(table: Table) -> MarkRule:
    across = table.expression_or_none("across")
    points = table.points("points")
    if (across is None) == (len(points) < 2):
        raise table.refusal("points", "a mark goes across at an x, or through two points or more")
    return MarkRule(kind=table.text("kind"), across=across, points=points)


def _station(table: Table) -> StationRule:
    return StationRule(
        name=table.text("name"), x=table.expression("x"), y=table.expression_or_none("y")
    )


def _constraint(table: Table) -> ConstraintRule:
    return ConstraintRule(
        value=table.expression("value"),
        least=table.expression("least"),
        message=table.text("message"),
        remedy=table.text("remedy"),
    )


def _check_names(family: Family) -> None:
    """Check that each expression uses only what is known where it stands."""
    known: set[str] = set()
    for name in [*family.defaults, *(name for name, _ in family.derived)]:
        if not name.isidentifier() or name in FUNCTIONS | OWN_NAMES:
            raise InputError(f"“{name!r}” cannot be a name.".replace("'", ""), where=family.key)
    if len(family.defaults) < len(family.parameters):
        raise InputError("two parameters have one key.", where=family.key)
    known.update(family.defaults)
    for name, rule in family.derived:
        _check_known([rule], known, family.key)
        known.add(name)
    if len(known) < len(family.parameters) + len(family.derived):
        raise InputError("a value has a parameter's name.", where=family.key)
    _check_known(_expressions([family.nodes, family.marks, family.stations]), known, family.key)
    _check_known(_expressions([family.constraints]), known, family.key)
    _check_known(_expressions([family.holes]), known | ROW_NAMES, family.key)


def _expressions(rules: Any) -> Iterable[Expression]:
    """Yield every expression in rules, however deep."""
    if isinstance(rules, Expression):
        yield rules
    elif isinstance(rules, list | tuple):
        for rule in rules:
            yield from _expressions(rule)
    elif hasattr(rules, "__dataclass_fields__"):
        for name in rules.__dataclass_fields__:
            yield from _expressions(getattr(rules, name))


def _check_known(rules: Iterable[Expression], known: set[str], key: str) -> None:
    for rule in rules:
        for name in sorted(rule.names - known):
            raise InputError(
                f"“{rule.text}” uses “{name}”, which nothing above it gives.",
                where=key,
                remedy="Check the spelling, and the order of the values.",
            )

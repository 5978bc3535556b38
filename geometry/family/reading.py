"""Family files: TOML checked key by key, with one clear line for what is wrong.

::

    format = 2
    name = "..."                      what the screen shows
    notes = "..."
    [[parameter]]                     key, label, unit, default, low, high, help, whole
    [values]                          name = "expression", each from the parameters and those above
    [[node]]                          x, y, joint, direction | arrive, leave, tension, curl,
                                      next = "curve" | "line" | "arc", sweep, round, station
    [[hole]]                          kind, x, y, diameter, count, web
    [[lightening]]                    from, to, diameter, web
    [[jimping]]                       start, pitch, count | gaps, depth, side = "spine" | "edge"
    [[mark]]                          kind, across | points = [["x", "y"], ["x"]], joint
    [[station]]                       name, x, y
    [[constraint]]                    value, least, message, remedy with {names}
    [[size]]                          name, values = { key = number }

An edge that was drawn once and stretches has, in place of nodes:

::

    kept = [x, y]                     a place that does not move
    [[piece]]                         kind = "line" | "arc" | "cubic", points = [[x, y], ...],
                                      sweep of an arc, cutout = its number for an opening's piece
    [[stretch]]                       axis = "x" | "y", from, to, by; along x goes_on = true
                                      where it grows on beyond its end; along y about, and
                                      gone_at, full_at: between which x it fades, carried:
                                      the height that all moves with where it is gone
    [[rigid]]                         x, y, radius of a zone that keeps its shape, fade round
                                      it, anchor = [x, y] that it moves with; at a step's end
                                      foot = [x, y] of the step, and its lean, x over y

Every number may be an expression in quotes but for those of parameters, sizes and what is drawn
(of a stretch, ``by`` may be one). Nodes and pieces go counter-clockwise. A file of an older format
is brought up to date before it is read, and may use what came later.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable
from functools import partial
from typing import Any, TypeVar

from geometry.errors import InputError
from geometry.family.entries import (
    constraint_entry,
    hole_entry,
    jimping_entry,
    lightening_entry,
    mark_entry,
    node_entry,
    parameter_entry,
    size_entry,
    station_entry,
)
from geometry.family.expressions import FUNCTIONS, Expression
from geometry.family.model import Family, Parameter, Size
from geometry.family.profile import (
    Profile,
    piece_entry,
    profile_of,
    rigid_entry,
    stretch_entry,
)
from geometry.family.rules import MarkRule
from geometry.family.table import MEND, Table, plain
from geometry.outline import Outline

FORMAT = 2
MAX_LETTERS = 1_000_000  # the built-in families have under 10,000, a traced edge up to 100,000
MAX_ENTRIES = 200  # of one kind
MAX_POINTS = 20_000  # of all marks
MAX_PIECES = 5000  # of an edge: a traced one has a few hundred
MAX_STRETCHES = 40  # a knife has four; each is worked out at every place
MAX_EDGE_MM = 10_000.0  # all along a drawn edge: that of a long sword is 3 m
MAX_LEVELS = 16  # of a dotted key, which a family has no use for: parsing takes their square
MAX_TOLD = 200  # letters of what the parser says
ROW_NAMES = frozenset({"i", "n"})  # a hole's number in its row, and how many there are
OWN_NAMES = ROW_NAMES | {"value", "least"}
R = TypeVar("R")
_PART = r"""(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')"""
_DEEP = re.compile(rf"(?<![\w-])(?:{_PART}[ \t]*+\.[ \t]*+){{{MAX_LEVELS}}}")


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
    top = Table(up_to_date(_parsed(text, key), key), key)
    top.whole("format")
    family = _family(top, key)
    top.finish()
    if family.nodes and family.profile.chain:
        raise top.refusal("piece", "an edge goes through nodes, or is made of pieces, not both")
    _check_names(family)
    return family


def _parsed(text: str, key: str) -> dict[str, Any]:
    """Return what TOML makes of a text; InputError when it cannot, or would take ages."""
    if len(text) > MAX_LETTERS:
        raise InputError("the family's file is too long.", where=key)
    if _DEEP.search(text):
        raise InputError(
            f"the family's file has a name of more than {MAX_LEVELS} parts with dots between.",
            where=key,
            remedy=MEND,
        )
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # a number of too many digits is a ValueError
        why = "a number in it is too long, or a list too deep"
        if isinstance(error, tomllib.TOMLDecodeError):
            why = plain(str(error))[:MAX_TOLD]
        raise InputError(f"the family's file is not TOML ({why}).", where=key) from error


def up_to_date(data: dict[str, Any], key: str) -> dict[str, Any]:
    """Return a file's data in the present format; InputError when it is of a newer one."""
    version = Table(data, key).whole("format")
    if version > FORMAT:
        raise InputError(
            f"the family's file has format {version}, and this program knows up to {FORMAT}.",
            where=key,
            remedy="Use a newer version of the program.",
        )
    if version < 1:
        raise InputError(f"the family's file has format {version}.", where=key, remedy=MEND)
    for step in MIGRATIONS[version - 1 :]:
        data = step(data)
    return data


def _from_1(data: dict[str, Any]) -> dict[str, Any]:
    """Format 2 only adds: lightening, jimping, sizes, smooth marks and drawn edges that stretch.

    A file marked as format 1 that has one of them is read all the same.
    """
    return {**data, "format": 2}


MIGRATIONS: tuple[Callable[[dict[str, Any]], dict[str, Any]], ...] = (_from_1,)


def _family(top: Table, key: str) -> Family:
    values = top.table("values")
    parameters = _each(top, "parameter", parameter_entry)
    derived = tuple((name, values.expression(name)) for name in values.names())
    return Family(
        key=key,
        name=top.text("name"),
        notes=top.text("notes", ""),
        parameters=parameters,
        derived=derived,
        nodes=_each(top, "node", node_entry),
        holes=_each(top, "hole", hole_entry),
        lightening=_each(top, "lightening", lightening_entry),
        jimping=_each(top, "jimping", jimping_entry),
        marks=_marks(top),
        stations=_each(top, "station", station_entry),
        constraints=_each(top, "constraint", constraint_entry),
        sizes=_sizes(top, parameters),
        profile=_profile(top, key),
    )


def _profile(top: Table, key: str) -> Profile:
    """Return the profile, checked as it was drawn before anything stretches it."""
    profile = profile_of(
        _each(top, "piece", piece_entry, MAX_PIECES),
        _each(top, "stretch", stretch_entry, MAX_STRETCHES),
        _each(top, "rigid", rigid_entry),
        top.place_or_none("kept"),
        key,
    )
    if profile.chain:
        drawn = Outline(name=key, chain=profile.chain, cutouts=profile.cutouts)
        if drawn.perimeter_mm > MAX_EDGE_MM:
            raise top.refusal("piece", f"the edge is more than {MAX_EDGE_MM / 1000:g} m long")
        drawn.polygon()
    return profile


def _marks(top: Table) -> tuple[MarkRule, ...]:
    marks = _each(top, "mark", mark_entry)
    if sum(len(mark.points) for mark in marks) > MAX_POINTS:
        raise top.refusal("mark", f"there are more than {MAX_POINTS} points in all")
    return marks


def _sizes(top: Table, parameters: tuple[Parameter, ...]) -> tuple[Size, ...]:
    by_key = {parameter.key: parameter for parameter in parameters}
    sizes = _each(top, "size", partial(size_entry, parameters=by_key))
    if len({size.name.casefold() for size in sizes}) < len(sizes):
        raise top.refusal("size", "two of them have one name")
    return sizes


def _each(
    top: Table, name: str, read: Callable[[Table], R], most: int = MAX_ENTRIES
) -> tuple[R, ...]:
    tables = top.tables(name)
    if len(tables) > most:
        raise top.refusal(name, f"there are more than {most}")
    found = []
    for table in tables:
        found.append(read(table))
        table.finish()
    return tuple(found)


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
    plain = [family.nodes, family.lightening, family.jimping, family.marks, family.stations]
    plain += [family.profile.stretches, family.constraints]
    _check_known(_expressions(plain), known, family.key)
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

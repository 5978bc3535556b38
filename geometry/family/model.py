"""A family: a reusable outline whose shape follows from a few measures that a maker thinks in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from geometry.curves import Point
from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.family.profile import NO_PROFILE, Profile
from geometry.family.rules import (
    ConstraintRule,
    HoleRule,
    JimpingRule,
    LighteningRule,
    MarkRule,
    NodeRule,
    StationRule,
)
from geometry.outline import Outline

Unit: TypeAlias = Literal["mm", "deg", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """One measure that a maker may change.

    Parameters
    ----------
    key, label : str
        Its name in files and on the command line, and on the screen.
    unit : str
        ``mm``, ``deg``, or ``none`` for a count or a share.
    default, low, high : float
        Its usual value, and its range, both ends allowed.
    help : str
        One line on what it does.
    whole : bool
        Whether it counts things.
    """

    key: str
    label: str
    unit: Unit
    default: float
    low: float
    high: float
    help: str
    whole: bool = False

    def checked(self, value: float, family: str) -> float:
        """Return a value that lies in the range; InputError naming the range when it does not."""
        if not self.low <= value <= self.high:
            problem = f"{value:g} is out of range"
        elif self.whole and value != int(value):
            problem = f"{value:g} is not a whole number"
        else:
            return float(value)
        raise InputError(
            f"{self.label.lower()} ({self.key}): {problem}.",
            where=family,
            remedy=f"Give {self.range_text}.",
        )

    @property
    def range_text(self) -> str:
        """The range in words: ``60 to 150 mm``."""
        unit = {"mm": " mm", "deg": "°", "none": ""}[self.unit]
        return f"{self.low:g} to {self.high:g}{unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A named set of values; the measures that it does not name keep their defaults."""

    name: str
    values: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A family as read from its file; `outline` makes one of it.

    Parameters
    ----------
    key, name, notes : str
        The name in files, the name on the screen, and a few lines for the maker.
    parameters : tuple of Parameter
        In the order to show them.
    derived : tuple of (str, Expression)
        Values worked out from the parameters, each from those before it.
    nodes, holes, lightening, jimping, marks, stations, constraints : tuple of rules
        What the outline is made of, and what has to hold between the measures.
    sizes : tuple of Size
        Sets of values that the maker named.
    profile : Profile
        An edge that was drawn once and stretches, in place of the nodes.
    """

    key: str
    name: str
    notes: str
    parameters: tuple[Parameter, ...]
    derived: tuple[tuple[str, Expression], ...]
    nodes: tuple[NodeRule, ...]
    holes: tuple[HoleRule, ...]
    marks: tuple[MarkRule, ...]
    stations: tuple[StationRule, ...]
    constraints: tuple[ConstraintRule, ...]
    jimping: tuple[JimpingRule, ...] = ()
    lightening: tuple[LighteningRule, ...] = ()
    sizes: tuple[Size, ...] = ()
    profile: Profile = NO_PROFILE

    @property
    def defaults(self) -> dict[str, float]:
        """The usual value of each parameter."""
        return {parameter.key: parameter.default for parameter in self.parameters}

    def drawn_places(self) -> list[Point]:
        """Return the places of holes, marks and stations that are plain numbers, mm."""
        pairs = [(hole.x, hole.y) for hole in self.holes]
        pairs += [(station.x, station.y) for station in self.stations]
        pairs += [pair for mark in self.marks for pair in mark.points]
        return [(x.value({}), y.value({})) for x, y in pairs if y and not x.names | y.names]

    def size_named(self, text: str) -> Size:
        """Return the size with a name, however it is written; InputError naming those there are."""
        for size in self.sizes:
            if size.name.casefold() == " ".join(text.casefold().split()):
                return size
        names = ", ".join(size.name for size in self.sizes)
        raise InputError(
            f"it has no size “{text}”.",
            where=self.name,
            remedy=f"It has: {names}." if names else "No sizes are kept in it yet.",
        )

    def values(self, given: Mapping[str, float]) -> dict[str, float]:
        """Return all values by name, derived ones too.

        Raises
        ------
        InputError
            If a name is unknown, a value is out of range, or a constraint does not hold.
        """
        values = {
            parameter.key: parameter.checked(given.get(parameter.key, parameter.default), self.name)
            for parameter in self.parameters
        }
        for key in given:
            if key not in values:
                raise InputError(
                    f"it has no “{key}”.",
                    where=self.name,
                    remedy=f"It has: {', '.join(values)}.",
                )
        for key, rule in self.derived:
            values[key] = rule.value(values)
        for constraint in self.constraints:
            self._check(constraint, values)
        return values

    def outline(self, values: Mapping[str, float] | None = None) -> Outline:
        """Return the outline for some values; the others keep their defaults.

        Parameters
        ----------
        values : mapping of str to float
            By parameter key, in the parameter's unit.

        Raises
        ------
        InputError
            If a name is unknown, a value is out of range, or the values do not go together.
        """
        from geometry.family.building import build  # here, as building needs the rules above

        return build(self, self.values(values or {}))

    def _check(self, constraint: ConstraintRule, values: Mapping[str, float]) -> None:
        value, least = constraint.value.value(values), constraint.least.value(values)
        if math.isfinite(value) and value >= least - 1e-9:
            return
        known = {**values, "value": value, "least": least}
        raise InputError(
            filled(constraint.message, known),
            where=self.name,
            remedy=filled(constraint.remedy, known),
        )


def filled(message: str, values: Mapping[str, float]) -> str:
    """Return a message with each ``{name}`` replaced by that value; nothing else is looked at.

    Examples
    --------
    >>> filled("too narrow for a {pin} mm pin", {"pin": 6.0})
    'too narrow for a 6 mm pin'
    """
    for name, value in values.items():
        message = message.replace(f"{{{name}}}", f"{value:.4g}")
    return message

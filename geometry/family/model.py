"""A family: a reusable outline whose shape follows from a few measures that a maker thinks in."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.outline import Outline

Unit: TypeAlias = Literal["mm", "deg", "none"]
Next: TypeAlias = Literal["curve", "line", "arc"]


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
class MarkRule:
    """A line to draw: across the outline at an x, or through points, y midway if not given."""

    kind: str
    across: Expression | None
    points: tuple[tuple[Expression, Expression | None], ...]


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

    @property
    def defaults(self) -> dict[str, float]:
        """The usual value of each parameter."""
        return {parameter.key: parameter.default for parameter in self.parameters}

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

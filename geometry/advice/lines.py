"""Straight lines of values from what the measures are: one measure, or two together."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from geometry.advice.model import Measure, Values

ON_GRID = 1e-6  # of a step: nearer to a round value is that value
DIGITS = 10  # behind the mark: 263 steps of 0.1 are 26.3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """Values at the whole numbers 1 to ``count``; 0 is the outline as it is.

    Parameters
    ----------
    measures : tuple of Measure
        Those that change.
    count : int
        The last number.
    at : callable
        Gives the values there.
    """

    measures: tuple[Measure, ...]
    count: int
    at: Callable[[int], Values]

    def share(self, values: Values) -> float:
        """Return how much values change: of each measure the share of its range, added up."""
        told = dict(values)
        return sum(each.share(told[each.key]) for each in self.measures)


def line_of(measure: Measure, *, up: bool) -> Line:
    """Return the round values on one side of a measure's own, the nearest first, then the end.

    Examples
    --------
    >>> width = Measure(key="width", value=26.04, low=25.8, high=27.0, step=0.1)
    >>> line = line_of(width, up=False)
    >>> [line.at(number)[0][1] for number in range(1, line.count + 1)]
    [26.0, 25.9, 25.8]
    """
    sign, end = (1.0, measure.high) if up else (-1.0, measure.low)
    first = math.floor(sign * measure.value / measure.step + ON_GRID) + 1
    last = math.floor(sign * end / measure.step - ON_GRID)
    left = abs(end - measure.value) > ON_GRID * measure.step
    count = max(0, last - first + 1) + 1 if left else 0

    def at(number: int) -> Values:
        value = round(sign * (first + number - 1) * measure.step, DIGITS)
        return ((measure.key, end if number == count else value),)

    return Line(measures=(measure,), count=count, at=at)


def line_between(one: Measure, its: float, other: Measure, others: float) -> Line:
    """Return the line to one value of a measure and one of another, both rounded on the way."""
    pairs = ((one, its), (other, others))
    steps = [abs(end - measure.value) / measure.step for measure, end in pairs]
    count = max(1, math.ceil(max(steps) - ON_GRID))

    def at(number: int) -> Values:
        return tuple(
            (measure.key, _rounded(measure, end, number / count)) for measure, end in pairs
        )

    return Line(measures=(one, other), count=count, at=at)


def _rounded(measure: Measure, end: float, part: float) -> float:
    """Return the round value so far on the way from a measure's own to an end of the way."""
    if part >= 1.0:
        return end
    value = measure.value + part * (end - measure.value)
    value = round(round(value / measure.step) * measure.step, DIGITS)
    low, high = sorted((measure.value, end))
    return min(max(value, low), high)

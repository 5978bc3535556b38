"""What a measure of a shape moves, found by changing it a little."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from app.document.flow import chosen_outline
from app.document.job import OutlineChoice
from geometry.errors import ToolError
from geometry.family import Family, Parameter
from geometry.moved_lines import MovedLines, moved_lines

SHARES = (0.08, -0.08, 0.25, -0.25, 0.6, -0.6, 0.03, -0.03)  # of the range: steps to try
SEEN_SHARE = 0.007  # of the length: what moves by this is seen on a screen


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureStep:
    """A measure at another value near its own, and the lines that moved by that."""

    parameter: Parameter
    value: float
    moved: MovedLines


def measure_step(choice: OutlineChoice, family: Family, key: str) -> MeasureStep | None:
    """Return what a measure moves from where it is; None if it moves nothing, or there is none.

    The smallest step that moves something so far that it is seen, else the one that moves it
    farthest. A step after which the measures do not go together is passed over.
    """
    parameter = next((one for one in family.parameters if one.key == key), None)
    if parameter is None:
        return None  # it was another family's
    before = chosen_outline(choice)
    seen_mm = SEEN_SHARE * before.overall_length_mm
    best, farthest_mm = None, 0.0
    for value in _values(parameter, dict(choice.values).get(key, parameter.default)):
        try:
            moved = moved_lines(before, chosen_outline(choice.with_value(key, value)))
        except ToolError:
            continue
        by_mm = 0.0 if moved is None else math.dist(moved.start_mm, moved.end_mm)
        if moved is not None and by_mm > farthest_mm:
            best = MeasureStep(parameter=parameter, value=value, moved=moved)
            farthest_mm = by_mm
        if farthest_mm >= seen_mm:
            break
    return best


def _values(parameter: Parameter, value: float) -> Iterator[float]:
    """Yield values near one, within the measure's range."""
    span = parameter.high - parameter.low
    tried = {value}
    for share in SHARES:
        by = share * span
        if parameter.whole:
            by = max(1.0, round(abs(by))) * (1.0 if share > 0 else -1.0)
        to = min(max(value + by, parameter.low), parameter.high)
        if to not in tried:
            tried.add(to)
            yield to

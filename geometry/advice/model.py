"""Measures that may give, ways to make an outline fit, and what an advice holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

from geometry.advice.piece import Piece
from geometry.clearance import Clearance
from geometry.decision import FitAnswer
from geometry.placement import Placement
from geometry.pose import Pose

Values: TypeAlias = tuple[tuple[str, float], ...]  # of the measures that change, by key
Beside: TypeAlias = FitAnswer | Literal["cannot be drawn", "not looked at"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One measure of an outline that may be changed.

    Parameters
    ----------
    key : str
        Its name.
    value, low, high : float
        As it is, and its range; ``low <= value <= high``.
    step : float
        How finely it is told; > 0.
    """

    key: str
    value: float
    low: float
    high: float
    step: float

    def share(self, value: float) -> float:
        """Return a change to a value as a share of the range."""
        span = self.high - self.low
        return abs(value - self.value) / span if span > 0.0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A change that makes the outline fit, and the next smaller one.

    Parameters
    ----------
    values : tuple of (str, float)
        What changes, and to what.
    share : float
        How much that is: of each measure the share of its range, added up.
    pose, clearance : Pose, Clearance
        A pose that keeps the margin, and its exact clearance.
    beside : tuple of (str, float)
        The same measures a step nearer to what they are.
    beside_answer : str
        Whether it fits there: "does not fit" is proven.
    """

    values: Values
    share: float
    pose: Pose
    clearance: Clearance
    beside: Values
    beside_answer: Beside


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """A measure that gave room, but was not found to give enough alone.

    ``value`` is where it gave most of those tried, ``clearance_mm`` the best clearance met there.
    """

    key: str
    value: float
    clearance_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What must give.

    Parameters
    ----------
    present : Placement
        The roomiest place of the outline as it is.
    answer : {"fits", "does not fit", "too close to call"}
        Whether it fits as it is.
    ways : tuple of Way
        Changes that make it fit, the smallest first; none where it fits as it is.
    short : tuple of Short
        Measures that gave some room, but alone not enough, the most room first.
    piece : Piece, optional
        What size of piece would hold it as it is; None where it fits.
    complete : bool
        Whether all that was to be looked at was; else the time or the decisions ran out.
    decisions : int
        How often the whole steel was searched.
    """

    present: Placement
    answer: FitAnswer
    ways: tuple[Way, ...] = ()
    short: tuple[Short, ...] = ()
    piece: Piece | None = None
    complete: bool = True
    decisions: int = 0

"""Whether a stretched edge is as fair as it was drawn: its waves, and its inside curves."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import zip_longest

from geometry.curves import Chain, Line
from geometry.errors import InputError
from geometry.family.model import Family
from geometry.stretch import StretchAt
from geometry.turn_overs import (
    LEAST_BEND_RAD,
    HollowBend,
    hollow_bends,
    turn_overs,
    typical_joint_rad,
)

NEW_MM, NEW_RAD = 25.0, math.radians(15)  # how tight an inside curve not drawn may be, and turn
TIGHTER, FAIR_MM = 0.5, 10.0  # of its radius, or a radius: what a measure may bring a drawn one to
MORE_RAD = math.radians(20)  # what it may make it turn by more; a shorter handle does both
AT_ONCE = 2  # so many measures may do so together, to drawn curves and new ones
AT_ABOUT_MM = 1.0  # a line this near to the height that stays is not bent by a width


@dataclass(frozen=True, slots=True, kw_only=True)
class Fairness:
    """How an edge was drawn, to compare others with.

    Parameters
    ----------
    waves : int
        How often it may bend over.
    hollows : tuple of HollowBend
        Its inside curves.
    least_rad : float
        The least turn that counts.
    """

    waves: int
    hollows: tuple[HollowBend, ...]
    least_rad: float

    def holds_for(self, family: Family, values: Mapping[str, float]) -> bool:
        """Return whether a family can be drawn at some values, and is as fair there.

        Curves are compared from the tightest on, and from the one that turns most on.
        """
        chain = drawn_chain(family, values)
        if chain is None or turn_overs(chain, self.least_rad) > self.waves:
            return False
        now, count = hollow_bends(chain, self.least_rad), min(len(values), AT_ONCE)
        tighter, more = TIGHTER**count, count * MORE_RAD
        newest_mm, newest_rad = NEW_MM * TIGHTER ** (count - 1), count * NEW_RAD
        radii = (sorted(each.radius_mm for each in bends) for bends in (self.hollows, now))
        turns = (
            sorted((each.turn_rad for each in bends), reverse=True) for bends in (self.hollows, now)
        )
        return all(
            new >= (min(tighter * old, FAIR_MM) if old < math.inf else newest_mm)
            for old, new in zip_longest(*radii, fillvalue=math.inf)
        ) and all(
            new <= (old + more if old else newest_rad)
            for old, new in zip_longest(*turns, fillvalue=0.0)
        )


def fairness_of(family: Family) -> Fairness:
    """Return how a family is drawn at its defaults.

    A straight side has to bend twice on its way from one width to another, and may.
    """
    least_rad = LEAST_BEND_RAD + typical_joint_rad(family.profile.chain)
    chain = drawn_chain(family, {}) or ()
    return Fairness(
        waves=turn_overs(chain, least_rad) + 2 * _straight_sides(family) if chain else 0,
        hollows=tuple(hollow_bends(chain, least_rad)) if chain else (),
        least_rad=least_rad,
    )


def drawn_chain(family: Family, values: Mapping[str, float]) -> Chain | None:
    """Return a family's edge at some values; None where it cannot be drawn."""
    try:
        return family.outline(values).chain
    except InputError:
        return None


def _straight_sides(family: Family) -> int:
    """Return how many straight sides go along by more than half of where a width fades."""
    fades = {rule.by.names: rule.at for rule in family.profile.stretches if rule.at.axis == "y"}
    lines = [segment for segment in family.profile.chain if isinstance(segment, Line)]
    return sum(_crosses(line, at) for line in lines for at in fades.values())


def _crosses(line: Line, at: StretchAt) -> bool:
    if at.gone_at_mm is None or at.full_at_mm is None:
        return False
    low, high = sorted((at.gone_at_mm, at.full_at_mm))
    (x0, y0), (x1, y1) = sorted((line.start, line.end))
    stays = at.about_mm if at.carried_mm is None else at.carried_mm
    near = max(abs(y0 - stays), abs(y1 - stays)) < AT_ABOUT_MM
    return min(high, x1) - max(low, x0) > (high - low) / 2 and not near

"""Ranges of an own family's measures: as far as all of them together can be drawn, and fairly."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np

from geometry.family.fairness import Fairness, drawn_chain, fairness_of
from geometry.family.model import Family, Parameter
from geometry.stretch import RigidZone
from geometry.turn_overs import turn_overs, typical_joint_rad

ROOM = 0.8  # a range shrinks to this share until all ends can be drawn
MOST_SHRINKS = 13  # to a twentieth of what was proposed
LEAST_RANGE = 0.03  # of a measure: less is not worth telling apart
SLIGHT_RAD = math.radians(1)  # the least bend that tells whether a corner is better drawn out
PLACES = 24  # in the box of ranges, besides its ends
PRIMES = (2, 3, 5, 7)
LITTLE = 0.3  # of the way to the end of a range
MOST_LOOKED_AT = 12  # zones: more are kept unasked


def with_fair_zones(family: Family) -> Family:
    """Return the family without those rounded corners that keeping as they are bends their sides.

    Such a corner is drawn out with the sides that it joins, its radius with it.
    """
    zones = [z for z in family.profile.rigid if z.anchor_mm and z.foot_mm is None]
    if not 0 < len(zones) <= MOST_LOOKED_AT:
        return family
    waves = _waves(family)
    for zone in zones:
        without = _without_zone(family, zone)
        left = _waves(without)
        both = [(a, b) for a, b in zip(waves, left, strict=True) if a is not None and b is not None]
        if sum(b - a for a, b in both) < 0:
            family, waves = without, left
    return family


def _without_zone(family: Family, zone: RigidZone) -> Family:
    rigid = tuple(each for each in family.profile.rigid if each is not zone)
    return replace(family, profile=replace(family.profile, rigid=rigid))


def _waves(family: Family) -> list[int | None]:
    """Return how often the edge bends over, each measure by itself a little and much changed."""
    ends = [
        {each.key: each.default + share * (end - each.default)}
        for each in family.parameters
        for end in (each.low, each.high)
        for share in (LITTLE, 1.0)
    ]
    least_rad = SLIGHT_RAD + typical_joint_rad(family.profile.chain)
    chains = [drawn_chain(family, values) for values in ends]
    return [None if chain is None else turn_overs(chain, least_rad) for chain in chains]


def with_room(family: Family) -> Family:
    """Return the family with ranges in which it can be drawn, as fair as it was.

    They are looked at with all ends together and at places spread between. Where it cannot,
    those measures alone come nearer to what was drawn that mend it by themselves; one that can
    hardly be changed is left out.
    """
    drawn = fairness_of(family)
    family = _each_by_itself(family, drawn)
    for shares in _shares(len(family.parameters)):
        for _ in range(MOST_SHRINKS):
            values = _values(family, shares)
            if drawn.holds_for(family, values):
                break
            keys = [
                key
                for key in values
                if drawn.holds_for(family, {k: v for k, v in values.items() if k != key})
            ]
            family = replace(
                family,
                parameters=tuple(
                    _shrunk(p, upper=values[p.key] > p.default) if p.key in (keys or values) else p
                    for p in family.parameters
                ),
            )
        else:
            return with_room(_without_narrowest(family))
    stiff = any(p.high - p.low < LEAST_RANGE * p.default for p in family.parameters)
    return with_room(_without_narrowest(family)) if stiff else family


def _shares(measures: int) -> list[tuple[float | None, ...]]:
    """Return the shares of ranges to look at, None where a measure stays: ends, and between them.

    Multiples of the roots of primes, as far as they go beyond a whole, are spread evenly (Weyl); a
    third of them is drawn out to the ends.
    """
    spread = np.outer(np.arange(1, PLACES + 1), np.sqrt(PRIMES[:measures])) % 1
    inner = np.clip(1.5 * spread - 0.25, 0.0, 1.0).tolist()
    return [*product((0.0, 1.0, None), repeat=measures), *map(tuple, inner)]


def _values(family: Family, shares: tuple[float | None, ...]) -> dict[str, float]:
    """Return the values at some shares of the ranges."""
    return {
        p.key: p.low + share * (p.high - p.low)
        for p, share in zip(family.parameters, shares, strict=True)
        if share is not None
    }


def _each_by_itself(family: Family, drawn: Fairness) -> Family:
    """Return the family with ranges at whose ends each measure by itself is fair."""
    found = list(family.parameters)
    for i, upper in product(range(len(found)), (False, True)):
        for _ in range(MOST_SHRINKS):
            end = found[i].high if upper else found[i].low
            if drawn.holds_for(family, {found[i].key: end}):
                break
            found[i] = _shrunk(found[i], upper=upper)
    return replace(family, parameters=tuple(found))


def _without_narrowest(family: Family) -> Family:
    """Return the family without the measure that can be changed least for its size."""
    gone = min(family.parameters, key=lambda p: (p.high - p.low) / p.default)
    rules = family.profile.stretches
    return replace(
        family,
        parameters=tuple(p for p in family.parameters if p is not gone),
        profile=replace(
            family.profile, stretches=tuple(r for r in rules if gone.key not in r.by.names)
        ),
    )


def _shrunk(parameter: Parameter, *, upper: bool) -> Parameter:
    if upper:
        high = parameter.default + ROOM * (parameter.high - parameter.default)
        return replace(parameter, high=round(high, 2))
    low = parameter.default - ROOM * (parameter.default - parameter.low)
    return replace(parameter, low=round(low, 2))

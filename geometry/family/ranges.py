"""Ranges of an own family's measures: as far as all of them together can be drawn, and fairly."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from itertools import product

from geometry.curves import Line
from geometry.errors import InputError
from geometry.family.model import Family, Parameter
from geometry.stretch import RigidZone, StretchAt
from geometry.turn_overs import LEAST_BEND_RAD, turn_overs, typical_joint_rad

ROOM = 0.8  # a range shrinks to this share until all ends can be drawn
MOST_SHRINKS = 13  # to a twentieth of what was proposed
LEAST_RANGE = 0.03  # of a measure: less is not worth telling apart
SLIGHT_RAD = math.radians(1)  # the least bend that tells whether a corner is better drawn out
LITTLE = 0.3  # of the way to the end of a range
MOST_LOOKED_AT = 12  # zones: more are kept unasked
AT_ABOUT_MM = 1.0  # a line this near to the height that stays is not bent by a width


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
    return [_turn_overs(family, values, least_rad) for values in ends]


def _turn_overs(family: Family, values: Mapping[str, float], least_rad: float) -> int | None:
    """Return how often the edge bends over at some values; None where it cannot be drawn."""
    try:
        chain = family.outline(values).chain
    except InputError:
        return None
    return turn_overs(chain, least_rad)


def with_room(family: Family) -> Family:
    """Return the family with ranges at all of whose ends it can be drawn without a new wave.

    Where it cannot, those measures alone come nearer to what was drawn that mend it by themselves;
    one that can hardly be changed is left out. A straight side has to bend twice on its way from
    one width to another, and may.
    """
    least_rad = LEAST_BEND_RAD + typical_joint_rad(family.profile.chain)
    most = (_turn_overs(family, {}, least_rad) or 0) + 2 * _straight_sides(family)
    family = _each_by_itself(family, most, least_rad)
    for upper in product((False, True), repeat=len(family.parameters)):
        for _ in range(MOST_SHRINKS):
            if _is_fair(family, upper, most, least_rad):
                break
            every = range(len(upper))
            mend = [i for i in every if _is_fair(family, upper, most, least_rad, at_default=i)]
            family = replace(
                family,
                parameters=tuple(
                    _shrunk(p, upper[i]) if i in (mend or every) else p
                    for i, p in enumerate(family.parameters)
                ),
            )
        else:
            return with_room(_without_narrowest(family))
    stiff = any(p.high - p.low < LEAST_RANGE * p.default for p in family.parameters)
    return with_room(_without_narrowest(family)) if stiff else family


def _each_by_itself(family: Family, most: int, least_rad: float) -> Family:
    """Return the family with ranges at whose ends each measure by itself is fair."""
    found = list(family.parameters)
    for i, upper in product(range(len(found)), (False, True)):
        for _ in range(MOST_SHRINKS):
            end = found[i].high if upper else found[i].low
            waves = _turn_overs(family, {found[i].key: end}, least_rad)
            if waves is not None and waves <= most:
                break
            found[i] = _shrunk(found[i], upper)
    return replace(family, parameters=tuple(found))


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


def _is_fair(
    family: Family, upper: tuple[bool, ...], most: int, least_rad: float, at_default: int = -1
) -> bool:
    """Return whether the ends of all ranges go together, one measure at its default if so told."""
    values = {
        p.key: p.high if up else p.low for p, up in zip(family.parameters, upper, strict=True)
    }
    if at_default >= 0:
        del values[family.parameters[at_default].key]
    found = _turn_overs(family, values, least_rad)
    return found is not None and found <= most


def _shrunk(parameter: Parameter, upper: bool) -> Parameter:
    if upper:
        high = parameter.default + ROOM * (parameter.high - parameter.default)
        return replace(parameter, high=round(high, 2))
    low = parameter.default - ROOM * (parameter.default - parameter.low)
    return replace(parameter, low=round(low, 2))

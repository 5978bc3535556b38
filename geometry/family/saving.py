"""Any outline as a family of the maker's own, with proposed places to stretch it at."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from itertools import product

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.curves import Arc, Chain
from geometry.errors import InputError
from geometry.family.changes import checked_name
from geometry.family.expressions import Expression
from geometry.family.measured import PARTS, Measured, measured, told_parts
from geometry.family.model import Family, Parameter
from geometry.family.parts import framed_outline
from geometry.family.profile import Profile, StretchRule
from geometry.family.reading import MAX_ENTRIES, family_from_text
from geometry.family.rules import HoleRule, MarkRule, StationRule
from geometry.family.writing import degrees_told, family_text
from geometry.outline import Hole, Outline
from geometry.rigid_zones import rigid_zones

__all__ = ["family_of", "family_text", "key_of"]

WEB_MM = {"pin": 2.0, "bolt": 3.0, "tube": 4.0, "lightening": 3.0, "cord": 3.0}  # trade practice
USUAL_WEB_MM = 2.0
CLOSER = 0.8  # of the steel that a hole has beside it now, where that is less than usual
ROOM = 0.7  # a range shrinks to this share until all ends can be drawn
MOST_SHRINKS = 8  # to a twentieth of what was proposed
LEAST_RANGE = 0.03  # of a measure: less is not worth telling apart
MAX_KEY = 60


def family_of(
    outline: Outline,
    *,
    name: str,
    key: str = "",
    notes: str = "",
    stretch: Mapping[str, tuple[float, float] | None] | None = None,
) -> Family:
    """Return an outline as a family whose lengths and widths stretch smoothly.

    Parameters
    ----------
    outline : Outline
        Any outline. One without a tip and a butt gets them proposed, and is turned into the outline
        frame where it does not lie so already.
    name, key, notes : str
        What to call it, on the screen and in files; the key follows from the name if left out.
    stretch : mapping, optional
        By measure (``blade_length``, ``handle_length``, ``blade_width``, ``handle_width``) the two
        places between which it stretches, x from the front on, or the two heights; None leaves
        that measure out. What is not told is proposed.

    Returns
    -------
    Family
        At its defaults it is the outline as given, edge and holes unchanged.

    Raises
    ------
    InputError
        If the name cannot be used, the outline is not valid, or a place to stretch at makes no
        sense.
    """
    checked_name(name)
    outline.polygon()
    drawn = _told_exactly(framed_outline(outline))
    found = measured(drawn, told_parts(stretch or {}))
    parameters, rules = _measures(found)
    family = Family(
        key=key or key_of(name),
        name=checked_name(name),
        notes=" ".join(notes.split()),
        parameters=parameters,
        derived=(),
        nodes=(),
        holes=_holes(drawn),
        marks=_marks(drawn),
        stations=tuple(
            StationRule(name=s.name, x=_number(s.x_mm), y=_number(s.y_mm)) for s in drawn.stations
        ),
        constraints=(),
        profile=Profile(
            chain=drawn.chain,
            cutouts=drawn.cutouts,
            stretches=rules,
            rigid=rigid_zones(drawn.chain)[:MAX_ENTRIES],
            kept=found.kept_mm,
        ),
    )
    family = family_from_text(family_text(family), family.key)  # as it will be read again
    return _with_room(family)


def key_of(name: str) -> str:
    """Return a name as a family's key, safe as a file's name anywhere.

    Examples
    --------
    >>> key_of("Elk skinner, Nº 2"), key_of("CON"), key_of("…")
    ('elk_skinner_no_2', 'family_con', 'family')
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().casefold()
    key = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")[:MAX_KEY].strip("_")
    if not key:
        return "family"
    reserved = re.fullmatch(r"con|prn|aux|nul|com\d|lpt\d", key)  # Windows keeps these for devices
    return f"family_{key}" if reserved or key[0].isdigit() else key


def _measures(found: Measured) -> tuple[tuple[Parameter, ...], tuple[StretchRule, ...]]:
    parameters, rules = [], []
    for part in found.parts:
        about = PARTS[part.key]
        parameters.append(
            Parameter(
                key=part.key,
                label=about.label,
                unit="mm",
                default=part.size_mm,
                low=part.low_mm,
                high=part.high_mm,
                help=found.help_for(part.key),
            )
        )
        rules.append(
            StretchRule(
                axis=about.axis,
                start_mm=part.start_mm,
                end_mm=part.end_mm,
                by=Expression(f"{part.key} - {part.size_mm!r}"),
                about_mm=part.about_mm,
                gone_at_mm=part.gone_at_mm,
                full_at_mm=part.full_at_mm,
                carried_mm=part.carried_mm,
            )
        )
    return tuple(parameters), tuple(rules)


def _holes(outline: Outline) -> tuple[HoleRule, ...]:
    edges = replace(outline, holes=()).polygon().boundary  # of the cutouts, too
    return tuple(
        HoleRule(
            kind=hole.kind or "hole",
            x=_number(hole.x_mm),
            y=_number(hole.y_mm),
            diameter=_number(hole.diameter_mm),
            count=Expression("1"),
            web=_number(_web_mm(hole, outline.holes, edges)),
        )
        for hole in outline.holes
    )


def _web_mm(hole: Hole, holes: tuple[Hole, ...], edges: BaseGeometry) -> float:
    """Return the steel to leave round a hole: the usual, or less where it has less now."""
    centre = shapely.Point(hole.x_mm, hole.y_mm)
    gaps = [edges.distance(centre)] + [
        centre.distance(shapely.Point(other.x_mm, other.y_mm)) - other.diameter_mm / 2
        for other in holes
        if other is not hole
    ]
    now_mm = min(gaps) - hole.diameter_mm / 2
    usual = WEB_MM.get(hole.kind, USUAL_WEB_MM)
    return usual if now_mm >= usual / CLOSER else max(round(CLOSER * now_mm, 2), 0.0)


def _marks(outline: Outline) -> tuple[MarkRule, ...]:
    return tuple(
        MarkRule(
            kind=mark.kind or "line",
            across=None,
            points=tuple((_number(x), _number(y)) for x, y in mark.points_mm),
        )
        for mark in outline.marks
        if len(mark.points_mm) > 1
    )


def _number(value: float) -> Expression:
    return Expression(repr(value))


def _told_exactly(outline: Outline) -> Outline:
    """Return the outline with its arcs' angles as a file tells them."""
    return replace(
        outline,
        chain=_arcs_told(outline.chain),
        cutouts=tuple(_arcs_told(cutout) for cutout in outline.cutouts),
    )


def _arcs_told(chain: Chain) -> Chain:
    return tuple(
        replace(s, sweep_rad=float(np.radians(round(degrees_told(s.sweep_rad), 9))))
        if isinstance(s, Arc)
        else s
        for s in chain
    )


def _with_room(family: Family) -> Family:
    """Return the family with ranges at all of whose ends it can be drawn.

    Where it cannot, those measures alone come nearer to what was drawn that mend it by themselves;
    one that can hardly be changed is left out.
    """
    family.outline()
    for upper in product((False, True), repeat=len(family.parameters)):
        for _ in range(MOST_SHRINKS):
            if _is_drawn(family, upper):
                break
            alone = [i for i in range(len(upper)) if _is_drawn(family, upper, at_default=i)]
            mend = alone or range(len(upper))
            family = replace(
                family,
                parameters=tuple(
                    _shrunk(p, upper[i]) if i in mend else p
                    for i, p in enumerate(family.parameters)
                ),
            )
        else:
            return _with_room(_without_narrowest(family))
    stiff = any(p.high - p.low < LEAST_RANGE * p.default for p in family.parameters)
    return _with_room(_without_narrowest(family)) if stiff else family


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


def _is_drawn(family: Family, upper: tuple[bool, ...], at_default: int = -1) -> bool:
    """Return whether the ends of all ranges go together, one measure at its default if so told."""
    values = {
        p.key: p.high if up else p.low for p, up in zip(family.parameters, upper, strict=True)
    }
    if at_default >= 0:
        del values[family.parameters[at_default].key]
    try:
        family.outline(values)
    except InputError:
        return False
    return True


def _shrunk(parameter: Parameter, upper: bool) -> Parameter:
    if upper:
        high = parameter.default + ROOM * (parameter.high - parameter.default)
        return replace(parameter, high=round(high, 2))
    low = parameter.default - ROOM * (parameter.default - parameter.low)
    return replace(parameter, low=round(low, 2))

"""A family as the text of its file; reading that text gives an equal family."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable
from typing import Any, TypeAlias

import tomlkit

from geometry.curves import Arc, Chain, Cubic, Segment
from geometry.family.expressions import Expression
from geometry.family.model import Family, Parameter, Size
from geometry.family.profile import Profile, StretchRule
from geometry.family.reading import FORMAT
from geometry.family.rules import (
    ConstraintRule,
    HoleRule,
    JimpingRule,
    LighteningRule,
    MarkRule,
    NodeRule,
    StationRule,
)
from geometry.stretch import RigidZone

Entry: TypeAlias = dict[str, Any]
AFTER_PIECES = (
    "stretch", "rigid", "hole", "lightening", "jimping", "mark", "station", "constraint"
)  # fmt: skip
LINE = 96  # letters in a line of the notes
TOLD_PLACES = 9  # of a degree: a tenth of a millionth of a millimetre on any knife


def family_text(family: Family) -> str:
    """Return a family as TOML in the newest format.

    Parameters
    ----------
    family : Family
        Any family; its key is the file's name, and not in the text.

    Examples
    --------
    >>> from geometry.family import built_in_families, family_from_text
    >>> family = built_in_families()[0]
    >>> family_from_text(family_text(family), family.key) == family
    True
    """
    profile = family.profile
    top: Entry = {
        "format": FORMAT,
        "name": family.name,
        "notes": _notes(family.notes),
        "kept": None if profile.kept is None else _numbers(profile.kept),
        "parameter": [_parameter(each) for each in family.parameters],
        "values": {name: _expression(rule) for name, rule in family.derived},
        "size": [_size(each) for each in family.sizes],
        "node": [_node(each) for each in family.nodes],
        "piece": _pieces(profile),
        "stretch": [_stretch(each) for each in profile.stretches],
        "rigid": [_rigid(each) for each in profile.rigid],
        "hole": [_hole(each) for each in family.holes],
        "lightening": [_lightening(each) for each in family.lightening],
        "jimping": [_jimping(each) for each in family.jimping],
        "mark": [_mark(each) for each in family.marks],
        "station": [_station(each) for each in family.stations],
        "constraint": [_constraint(each) for each in family.constraints],
    }
    told = {key: value for key, value in top.items() if value not in (None, [], {})}
    pieces = "".join(map(_piece_text, told.pop("piece", [])))
    after = {key: told.pop(key) for key in AFTER_PIECES if key in told}
    parts = (tomlkit.dumps(told), pieces, tomlkit.dumps(after) if after else "")
    return "\n".join(part.rstrip("\n") + "\n" for part in parts if part)


def _piece_text(entry: Entry) -> str:
    """Return a piece as the library would write it, which takes long over thousands of them."""
    lines = (
        f'{key} = "{told}"' if key == "kind" else f"{key} = {told}" for key, told in entry.items()
    )
    return "\n".join(["[[piece]]", *lines, "", ""])


def _notes(text: str) -> Any:
    """Return notes in lines; reading makes one line of them again."""
    if len(text) <= LINE or len(text) > LINE * 18:
        return text or None
    lines = textwrap.wrap(text, LINE, break_long_words=False, break_on_hyphens=False)
    return tomlkit.string("\n" + "\n".join(lines) + "\n", multiline=True)


def _parameter(each: Parameter) -> Entry:
    return _without_none(
        key=each.key,
        label=each.label,
        unit=each.unit,
        default=_number(each.default),
        low=_number(each.low),
        high=_number(each.high),
        help=each.help,
        whole=each.whole or None,
    )


def _size(each: Size) -> Entry:
    return {"name": each.name, "values": {key: _number(value) for key, value in each.values}}


def _node(each: NodeRule) -> Entry:
    return _without_none(
        x=_expression(each.x),
        y=_expression(each.y),
        joint="corner" if each.corner else "smooth",
        direction=None if each.corner else _expression(each.arrive),
        arrive=_expression(each.arrive) if each.corner else None,
        leave=_expression(each.leave) if each.corner else None,
        tension=_expression(each.tension),
        curl=_expression(each.curl),
        next=each.next,
        sweep=_expression(each.sweep),
        round=_expression(each.rounding),
        station=each.station or None,
    )


def _pieces(profile: Profile) -> list[Entry]:
    chains: list[Chain] = [profile.chain, *profile.cutouts]
    return [_piece(each, number) for number, chain in enumerate(chains) for each in chain]


def _piece(each: Segment, number: int) -> Entry:
    points = [each.start, each.end]
    kind, sweep = "line", None
    if isinstance(each, Cubic):
        kind, points = "cubic", [each.start, each.control1, each.control2, each.end]
    elif isinstance(each, Arc):
        kind, sweep = "arc", degrees_told(each.sweep_rad)
    return _without_none(
        cutout=number or None,
        kind=kind,
        points=[_numbers(point) for point in points],
        sweep=None if sweep is None else _number(sweep),
    )


def degrees_told(angle_rad: float) -> float:
    """Return an angle in degrees such that reading gives the same radians, short where it can be.

    Examples
    --------
    >>> degrees_told(math.pi / 2), degrees_told(math.radians(33.3))
    (90.0, 33.3)
    """
    exact = math.degrees(angle_rad)
    near = (round(exact, TOLD_PLACES), exact, math.nextafter(exact, 0), math.nextafter(exact, 999))
    return next((each for each in near if math.radians(each) == angle_rad), exact)


def _stretch(each: StretchRule) -> Entry:
    at = each.at
    entry: Entry = {"axis": at.axis, "from": _number(at.start_mm), "to": _number(at.end_mm)}
    entry["by"] = _expression(each.by)
    if at.goes_on:
        entry["goes_on"] = True
    if at.axis == "y":
        entry["about"] = _number(at.about_mm)
    if at.gone_at_mm is not None and at.full_at_mm is not None:
        entry |= {"gone_at": _number(at.gone_at_mm), "full_at": _number(at.full_at_mm)}
    if at.carried_mm is not None:
        entry["carried"] = _number(at.carried_mm)
    return entry


def _rigid(each: RigidZone) -> Entry:
    return _without_none(
        x=_number(each.x_mm),
        y=_number(each.y_mm),
        radius=_number(each.radius_mm),
        fade=_number(each.fade_mm),
        anchor=None if each.anchor_mm is None else _numbers(each.anchor_mm),
        foot=None if each.foot_mm is None else _numbers(each.foot_mm),
        lean=_number(each.lean) if each.lean else None,
    )


def _hole(each: HoleRule) -> Entry:
    return _without_none(
        kind=each.kind,
        x=_expression(each.x),
        y=_expression(each.y),
        diameter=_expression(each.diameter),
        count=_expression(each.count),
        web=_expression(each.web),
    )


def _lightening(each: LighteningRule) -> Entry:
    return {
        "from": _expression(each.from_x),
        "to": _expression(each.to_x),
        "diameter": _expression(each.diameter),
        "web": _expression(each.web),
    }


def _jimping(each: JimpingRule) -> Entry:
    return _without_none(
        start=_expression(each.start),
        pitch=None if each.gaps else _expression(each.pitch),
        count=None if each.gaps else _expression(each.count),
        gaps=[_number(gap) for gap in each.gaps] or None,
        depth=_expression(each.depth),
        side=each.side,
    )


def _mark(each: MarkRule) -> Entry:
    return _without_none(
        kind=each.kind,
        across=_expression(each.across),
        points=[[_expression(part) for part in point if part] for point in each.points] or None,
        joint="smooth" if each.smooth else None,
    )


def _station(each: StationRule) -> Entry:
    return _without_none(name=each.name, x=_expression(each.x), y=_expression(each.y))


def _constraint(each: ConstraintRule) -> Entry:
    return _without_none(
        value=_expression(each.value),
        least=_expression(each.least),
        message=each.message,
        remedy=each.remedy,
    )


def _expression(rule: Expression | None) -> str | float | int | None:
    """Return a rule as it was written; a bare number as a number."""
    if rule is None:
        return None
    for kind in (int, float):
        try:
            number = kind(rule.text)
        except ValueError:
            continue
        if repr(number) == rule.text and math.isfinite(number):
            return number
    return rule.text


def _number(value: float) -> float | int:
    return int(value) if value == int(value) else value


def _numbers(point: Iterable[float]) -> list[float | int]:
    return [_number(value) for value in point]


def _without_none(**entry: Any) -> Entry:
    return {key: value for key, value in entry.items() if value is not None}

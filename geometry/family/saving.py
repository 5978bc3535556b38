"""Any outline as a family of the maker's own, with proposed places to stretch it at."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from geometry.curves import Arc, Chain
from geometry.errors import InputError
from geometry.family.changes import checked_name
from geometry.family.drawn_features import hole_rules, mark_rules, station_rules
from geometry.family.expressions import Expression
from geometry.family.measured import PARTS, Measured, Part, measured, told_parts
from geometry.family.model import Family, Parameter
from geometry.family.parts import framed_outline
from geometry.family.profile import Profile, StretchRule
from geometry.family.ranges import with_fair_zones, with_room
from geometry.family.reading import MAX_ENTRIES, MAX_PIECES, family_from_text
from geometry.family.writing import degrees_told, family_text
from geometry.outline import Outline

__all__ = ["family_of", "family_text", "key_of"]

MAX_KEY = 120  # bytes: a file's name has room for a number and its ending beside it anywhere


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
    _check_drawing(outline, name)
    outline.polygon()
    drawn = _told_exactly(framed_outline(outline))
    found = measured(drawn, told_parts(stretch or {}))
    parameters, rules = _measures(found)
    marks, jimping = mark_rules(drawn)
    family = Family(
        key=key or key_of(name),
        name=checked_name(name),
        notes=" ".join(notes.split()),
        parameters=parameters,
        derived=(),
        nodes=(),
        holes=hole_rules(drawn),
        marks=marks,
        jimping=jimping,
        stations=station_rules(drawn),
        constraints=(),
        profile=Profile(
            chain=drawn.chain,
            cutouts=drawn.cutouts,
            stretches=rules,
            rigid=found.zones,
            kept=found.kept_mm,
        ),
    )
    return with_room(with_fair_zones(_as_read_again(family)))


def _check_drawing(outline: Outline, name: str) -> None:
    """Refuse what a family's file does not hold, in the words of the drawing."""
    pieces = len(outline.chain) + sum(map(len, outline.cutouts))
    _check_count(pieces, "pieces of edge", name, most=MAX_PIECES)
    _check_count(len(outline.holes), "holes", name)
    _check_count(len(outline.stations), "named places", name)
    if not all(station.name.strip() for station in outline.stations):
        raise InputError(
            "one of its named places has no name.", where=name, remedy="Name it, or take it away."
        )


def _check_count(count: int, what: str, name: str, most: int = MAX_ENTRIES) -> None:
    if count > most:
        raise InputError(
            f"it has {count} {what}; a shape of your own keeps at most {most}.",
            where=name,
            remedy="Draw it with fewer.",
        )


def _as_read_again(family: Family) -> Family:
    """Return a family as its file will be read."""
    _check_count(len(family.marks), "lines drawn on it", family.name)
    _check_count(len(family.jimping), "rows of jimping", family.name)
    _check_count(len(family.profile.rigid), "notches and tight corners", family.name)
    try:
        return family_from_text(family_text(family), family.key)
    except InputError as error:
        raise InputError(
            error.message, where=family.name, remedy="Change it in the drawing."
        ) from error


def key_of(name: str) -> str:
    """Return a name as a family's key, safe as a file's name anywhere.

    Letters of any script stay, without what is written over or under them: systems differ in how
    they write an é.

    Examples
    --------
    >>> key_of("Elk skinner, Nº 2"), key_of("CON"), key_of("…")
    ('elk_skinner_no_2', 'family_con', 'family')
    >>> key_of("Нож Ёлка"), key_of("Größe")
    ('нож_елка', 'grosse')
    """
    parted = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", name).casefold())
    bare = "".join(letter for letter in parted if not unicodedata.category(letter).startswith("M"))
    plain = "".join(letter if letter.isalpha() or letter.isdecimal() else " " for letter in bare)
    whole = unicodedata.normalize("NFC", "_".join(plain.split()))
    key = whole.encode()[:MAX_KEY].decode(errors="ignore").strip("_")
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
        rules += _rules(part)
    return tuple(parameters), tuple(rules)


def _rules(part: Part) -> list[StretchRule]:
    """Return a measure's stretch; one for more and one for less where they are not alike."""
    by = f"{part.key} - {part.size_mm!r}"
    if part.at_if_less is None:
        return [StretchRule(at=part.at, by=Expression(by))]
    return [
        StretchRule(at=part.at, by=Expression(f"max({by}, 0)")),
        StretchRule(at=part.at_if_less, by=Expression(f"min({by}, 0)")),
    ]


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

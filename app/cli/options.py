"""What people type behind an option, read into values."""

from __future__ import annotations

import os
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

from app.document.lengths import parse_length_mm, parse_size_mm
from calibration.references import SheetReference, paper_reference
from geometry.errors import InputError
from geometry.family import Family

ANOTHER_NAME = "Give the result another name."


def pixels(text: str, count: int, where: str) -> tuple[float, ...]:
    """Return `count` pixel coordinates from ``X,Y,...``."""
    try:
        values = tuple(float(part) for part in text.split(","))
    except ValueError:
        values = ()
    if len(values) != count or not all(abs(value) < 1e6 for value in values):
        example = ",".join(["X1", "Y1", "X2", "Y2"][:count]) if count > 2 else "X,Y"
        raise InputError(
            f"“{text}” is not {count} pixel coordinates.", where=where, remedy=f"Write {example}."
        )
    return values


def sheet_size(text: str) -> SheetReference:
    """Return the sheet of a paper's name or of ``WxH``."""
    if any(sign in text for sign in "x×") and any(sign.isdigit() for sign in text[:1]):
        width_mm, height_mm = parse_size_mm(text, where="--sheet")
        return SheetReference(width_mm=width_mm, height_mm=height_mm)
    return paper_reference(text)


def one_of(text: str, choices: tuple[str, ...], where: str) -> str:
    """Return the choice that was typed."""
    if text not in choices:
        raise InputError(
            f"“{text}” is not known.", where=where, remedy=f"Use one of {', '.join(choices)}."
        )
    return text


def ratio(text: str, where: str) -> float:
    """Return the number of ``99.6/100`` or ``0.996``."""
    top, _, bottom = text.replace(",", ".").partition("/")
    try:
        value = float(top) / float(bottom or 1)
    except (ValueError, ZeroDivisionError):
        value = 0.0
    if not 0.0 < value < 1e6:
        raise InputError(
            f"“{text}” is not a ratio.", where=where, remedy="Write PRINTED/ASKED, like 99.6/100."
        )
    return value


def told_values(family: Family, settings: Sequence[str], where: str = "--set") -> dict[str, float]:
    """Return the values of ``NAME=VALUE``; lengths in any unit, angles in degrees.

    Raises
    ------
    InputError
        If a name is none of the family's measures, or a value is no number.
    """
    units = {parameter.key: parameter.unit for parameter in family.parameters}
    values = {}
    for text in settings:
        key, sign, value = text.partition("=")
        key = key.strip()
        if not sign or key not in units:
            raise InputError(
                f"“{text}” sets nothing that {family.key} has.",
                where=where,
                remedy=_measures_told(key, tuple(units)),
            )
        named = f"{where} {key}"
        values[key] = (
            parse_length_mm(value, where=named) if units[key] == "mm" else _number(value, named)
        )
    return values


def check_measures(family: Family, keys: Sequence[str], where: str) -> None:
    """Refuse a key of no measure of a family: InputError."""
    known = tuple(parameter.key for parameter in family.parameters)
    for key in keys:
        if key not in known:
            raise InputError(
                f"“{key}” is no measure of {family.key}.",
                where=where,
                remedy=_measures_told(key, known, "NAME"),
            )


def _measures_told(key: str, measures: tuple[str, ...], form: str = "NAME=VALUE") -> str:
    """Return what can be set in place of what was typed, the likeliest first."""
    if not measures:
        return "It has no measures to set."
    like = get_close_matches(key.casefold(), measures, n=1)
    meant = f"Did you mean {like[0]}? " if like and like[0] != key else ""
    return f"{meant}Use {form} with one of {', '.join(measures)}."


def _number(text: str, where: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise InputError(
            f"“{text}” is not a number.", where=where, remedy="Write it like 2.4."
        ) from error


def check_ending(path: Path, endings: tuple[str, ...], where: str = "--out") -> None:
    """Refuse a file's name whose ending says that it is something else, or a folder's."""
    if path.is_dir():
        raise InputError(f"{path} is a folder.", where=where, remedy="Give the name of a file.")
    if path.suffix.lower() not in endings:
        raise InputError(
            f"{path.name} does not end in {' or '.join(endings)}.",
            where=where,
            remedy="Name the file so.",
        )


def check_free(path: Path, *, over: bool, where: str = "--out") -> None:
    """Refuse to write over a file that is there, unless it was told."""
    if path.exists() and not over:
        raise InputError(
            f"{path} is there already.",
            where=where,
            remedy="Choose another name, or write over it: --replace.",
        )


def check_apart(out: Path, inputs: tuple[Path, ...], where: str = "--out") -> None:
    """Refuse to write a result over a file that the same run reads."""
    for read in inputs:
        if os.path.exists(out) and os.path.exists(read) and out.samefile(read):
            raise InputError(
                f"{out} is read in this run, and would be overwritten.",
                where=where,
                remedy=ANOTHER_NAME,
            )

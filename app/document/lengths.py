"""Lengths as people write and read them: millimetres or inches, decimal or fraction."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Literal

from geometry.errors import InputError

Unit = Literal["mm", "in"]

MM_PER_INCH = 25.4  # exact: the international inch of 1959
MM_PER = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": MM_PER_INCH, "ft": 12 * MM_PER_INCH}
SPELLINGS = {
    "": "", "mm": "mm", "millimetre": "mm", "millimetres": "mm", "millimeter": "mm",
    "millimeters": "mm", "cm": "cm", "m": "m", "in": "in", "in.": "in", "inch": "in",
    "inches": "in", '"': "in", "''": "in", "″": "in", "”": "in", "ft": "ft", "'": "ft", "′": "ft",
}  # fmt: skip
VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
NUMBER = re.compile(
    r"""(?P<sign>[+-]?)\s*
    (?: (?P<whole>\d+)(?:\s+|\s*-\s*)(?P<num>\d+)\s*/\s*(?P<den>\d+)   # 3 1/4, 3-1/4
      | (?P<num2>\d+)\s*/\s*(?P<den2>\d+)                              # 7/16
      | (?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+) )                         # 82, 3.25, 12,5
    \s*(?P<unit>[^\d\s+\-/.,]*\.?)""",
    re.VERBOSE,
)
MOST_QUOTED = 60
REMEDY = 'Write it like 82, 82 mm, 3.25in, 3 1/4" or 7/16".'


def parse_length_mm(text: str, *, unit: Unit = "mm", where: str = "Length") -> float:
    """Return the length that a person wrote, in mm.

    Parameters
    ----------
    text : str
        ``82``, ``82 mm``, ``3.25in``, ``3 1/4"``, ``3-1/4 in``, ``7/16"``; one ``.`` or ``,`` is
        the decimal mark.
    unit : {"mm", "in"}
        What a bare number means.
    where : str
        The field or option, for the message.

    Raises
    ------
    InputError
        If it is not a length, or its unit is unknown.

    Examples
    --------
    >>> [parse_length_mm(t) for t in ("82", '3 1/4"', "3-1/4 in", "12,5")]
    [82.0, 82.55, 82.55, 12.5]
    """
    tidy = text.strip().lower()
    for sign, fraction in VULGAR.items():
        tidy = tidy.replace(sign, f" {fraction}")
    found = NUMBER.fullmatch(tidy.strip())
    if found is None:
        raise InputError(f"{_quoted(text)} is not a length.", where=where, remedy=REMEDY)
    name = SPELLINGS.get(found["unit"])
    if name is None:
        raise InputError(
            f"the unit {_quoted(found['unit'])} in {_quoted(text)} is not known.",
            where=where,
            remedy="Use mm, cm, m, in or ft.",
        )
    value = _value(found, text, where) * MM_PER[name or unit]
    return -value if found["sign"] == "-" else value


def parse_positive_mm(text: str, *, unit: Unit = "mm", where: str = "Length") -> float:
    """Return a length above zero, in mm; as `parse_length_mm` otherwise."""
    value = parse_length_mm(text, unit=unit, where=where)
    if value <= 0.0:
        raise InputError(f"{_quoted(text)} must be more than zero.", where=where, remedy=REMEDY)
    return value


def parse_size_mm(text: str, *, unit: Unit = "mm", where: str = "Size") -> tuple[float, float]:
    """Return width and height of ``250x100``, ``8.5x11in`` or ``250 mm x 100 mm``, in mm.

    A unit that is written once, behind the last number, holds for both.
    """
    parts = re.split(r"\s*[x×*]\s*", text.strip().lower())
    if len(parts) != 2:
        raise InputError(
            f"{_quoted(text)} is not a size.",
            where=where,
            remedy="Write it like 250x100 or 8.5x11in.",
        )
    tail = re.search(r"[a-z\"'″”′]+\.?$", parts[1])
    if tail and not re.search(r"[a-z\"'″”′]\.?$", parts[0]):
        parts[0] += tail.group()
    width, height = (parse_positive_mm(part, unit=unit, where=where) for part in parts)
    return width, height


def format_length(value_mm: float, unit: Unit, *, decimals: int | None = None) -> str:
    """Return a length with its unit, to two figures behind the mark at most.

    Examples
    --------
    >>> format_length(82.55, "mm"), format_length(82.55, "in")
    ('82.55 mm', '3.25 in')
    """
    shown = value_mm / MM_PER[unit]
    places = (2 if unit == "mm" else 3) if decimals is None else decimals
    text = f"{shown:.{places}f}"
    if decimals is None and "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} {unit}"


def format_fraction(value_mm: float) -> str:
    """Return a length in inches to the nearest 1/64, as marked on a rule.

    Examples
    --------
    >>> format_fraction(82.55), format_fraction(11.1125), format_fraction(25.4)
    ('3 1/4"', '7/16"', '1"')
    """
    sixty_fourths = Fraction(round(abs(value_mm) / MM_PER_INCH * 64), 64)
    whole, rest = divmod(sixty_fourths, 1)
    sign = "-" if value_mm < 0 and sixty_fourths else ""
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(f"{rest.numerator}/{rest.denominator}")
    return f'{sign}{" ".join(parts)}"'


def _value(found: re.Match[str], text: str, where: str) -> float:
    if found["decimal"] is not None:
        value = float(found["decimal"].replace(",", "."))
    else:
        top, bottom = (
            (found["num"], found["den"]) if found["num"] else (found["num2"], found["den2"])
        )
        if float(bottom) == 0.0:
            raise InputError(f"{_quoted(text)} divides by zero.", where=where, remedy=REMEDY)
        value = float(found["whole"] or 0) + float(top) / float(bottom)
    if not math.isfinite(value):
        raise InputError(f"{_quoted(text)} is too large.", where=where, remedy=REMEDY)
    return value


def _quoted(text: str) -> str:
    """Return what was typed, in quotes and no longer than a line."""
    return f"“{text if len(text) <= MOST_QUOTED else text[:MOST_QUOTED] + '…'}”"

"""Whether anything is seen of a shape of an SVG, by what it is drawn with."""

from __future__ import annotations

import re
from collections.abc import Mapping

NO_PAINT = ("none", "transparent")
FAINTEST = 1 / 512  # of full ink: less is no step of a screen's 256
HEX_ALPHA = re.compile(r"#(?:[\da-f]{3}([\da-f])|[\da-f]{6}([\da-f]{2}))")
OF_PARTS = re.compile(r"[a-z]+\((.*)\)")  # CSS Color 4: rgb(), hsla(), lab() and their like
NOTHING = re.compile(r"[+-]?0*\.?0*(e[+-]?\d+)?\s*(%|[a-z]*)")

Values = Mapping[str, object]


def is_gone(values: Values) -> bool:
    """Return whether an element, and with it all that it holds, is too faint to be seen."""
    return is_clear(_told(values, "opacity"))


def is_hidden(values: Values) -> bool:
    """Return whether a shape is switched off."""
    return _told(values, "visibility") in ("hidden", "collapse")


def is_inkless(values: Values) -> bool:
    """Return whether a shape has neither a line nor a filling that is seen."""
    no_line = _is_no_paint(values, "stroke", "none") or bool(
        NOTHING.fullmatch(_told(values, "stroke-width") or "1")
    )
    return no_line and _is_no_paint(values, "fill", "black")


def is_clear(opacity: str) -> bool:
    """Return whether an opacity as written, a number or a percentage, lets nothing be seen.

    Examples
    --------
    >>> is_clear("0%"), is_clear("1e-12"), is_clear("0.5"), is_clear("")
    (True, True, False, False)
    """
    share = 0.01 if opacity.endswith("%") else 1.0
    try:
        return share * float(opacity.rstrip("%")) < FAINTEST
    except ValueError:
        return False


def is_clear_colour(colour: str) -> bool:
    """Return whether a colour in small letters is none, or one that is seen through.

    Examples
    --------
    >>> [is_clear_colour(c) for c in ("#0000", "rgb(0 0 0 / 0%)", "hsl(0,0%,0%)")]
    [True, True, False]
    """
    if colour in NO_PAINT:
        return True
    if digits := HEX_ALPHA.fullmatch(colour):
        return int(digits[1] or digits[2], 16) == 0
    parts = OF_PARTS.fullmatch(colour)
    if not parts:
        return False
    _, slash, alpha = parts[1].partition("/")
    by_commas = parts[1].split(",")
    if not slash and len(by_commas) == 4:
        alpha = by_commas[3]
    return is_clear(alpha.strip())


def _is_no_paint(values: Values, ink: str, usual: str) -> bool:
    return is_clear_colour(_told(values, ink) or usual) or is_clear(_told(values, f"{ink}-opacity"))


def _told(values: Values, name: str) -> str:
    """Return a value as written, in small letters; empty where it is not told."""
    told = values.get(name)
    return "" if told is None else str(told).strip().lower()

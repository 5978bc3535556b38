"""Whether the numbers of a path or polygon are whole; a reader drops all behind the first flaw."""

from __future__ import annotations

import re

ARGUMENTS = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0}
COMMAND = re.compile(r"([mlhvcsqtaz])", re.IGNORECASE)
NUMBER = r"[+-]?(?:\d{1,400}\.?\d{0,400}|\.\d{1,400})(?:[eE][+-]?\d{1,9})?"
BETWEEN = r"[\s,]*"
SPACES = str.maketrans("", "", ", \t\r\n\f")
NUMBERS = re.compile(NUMBER)
# the two flags of an arc are single digits, which may stand together
ARC = re.compile(BETWEEN.join([NUMBER] * 3 + ["[01]"] * 2 + [NUMBER] * 2))


def is_damaged(path: str, points: str) -> bool:
    """Return whether a path's ``d`` or a polygon's ``points`` has a flaw; empty ones have none.

    Examples
    --------
    >>> is_damaged("M0 0h9v9Z", ""), is_damaged("M0 0h9 q", ""), is_damaged("", "0,0 9,0 9")
    (False, True, True)
    """
    return bool(path.strip() and _has_flaw(path)) or not _are_whole(points, 2)


def _has_flaw(path: str) -> bool:
    before, *parts = COMMAND.split(path)
    if before.strip() or not parts or parts[0] not in "mM":
        return True
    return not all(
        _are_whole(numbers, ARGUMENTS[command.lower()])
        and (command in "zZ") != bool(numbers.translate(SPACES))
        for command, numbers in zip(parts[::2], parts[1::2], strict=True)
    )


def _are_whole(text: str, together: int) -> bool:
    """Return whether a text is numbers by so many together, and nothing else but commas."""
    one, each = (ARC, 1) if together == ARGUMENTS["a"] else (NUMBERS, together)
    rest, count = one.subn("", text)
    return not rest.translate(SPACES) and (not count if not each else count % each == 0)

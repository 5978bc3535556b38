"""A TOML table read key by key, so that what is missing, wrong or unknown gets one clear line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from geometry.errors import InputError
from geometry.family.expressions import Expression

MAX_TEXT = 2000
LARGEST = 1e6  # no measure of a knife is larger, in any unit; NaN is not within it either
MEND = "Mend it in the family's file."


class Table:
    """One table of a family file.

    Parameters
    ----------
    data : dict
        As tomllib gives it.
    where : str
        Its place in the file, for messages.
    """

    def __init__(self, data: dict[str, Any], where: str) -> None:
        self._data = data
        self._where = where
        self._asked: set[str] = set()

    def names(self) -> list[str]:
        """Return the keys in the file's order."""
        return list(self._data)

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text as one line; without a default it has to be there and not be empty.

        What cannot be printed is refused: it would steer a terminal, or hide what is written.
        """
        value = self._get(key, default)
        line = " ".join(value.split()) if isinstance(value, str) else ""
        if not isinstance(value, str) or len(value) > MAX_TEXT or not (line or default == ""):
            raise self.refusal(key, f"it has to be a text of at most {MAX_TEXT} letters")
        if not line.isprintable():
            raise self.refusal(key, "it has a letter that cannot be shown")
        return line

    def choice(self, key: str, choices: Sequence[str], default: str | None = None) -> Any:
        """Return one of some words."""
        value = self._get(key, default)
        if value not in choices:
            raise self.refusal(key, f"it has to be one of {', '.join(choices)}")
        return value

    def number(self, key: str) -> float:
        """Return a finite number."""
        value = self._get(key, None)
        if not _is_number(value):
            raise self.refusal(key, "it has to be a number")
        return float(value)

    def numbers(self, key: str) -> tuple[float, ...]:
        """Return a list of one finite number or more."""
        value = self._get(key, None)
        if not isinstance(value, list) or not value or not all(map(_is_number, value)):
            raise self.refusal(key, "it has to be a list of numbers")
        return tuple(map(float, value))

    def has(self, key: str) -> bool:
        """Return whether a key is there."""
        return key in self._data

    def place_or_none(self, key: str) -> tuple[float, float] | None:
        """Return an ``[x, y]`` of plain numbers, or None when it is not there."""
        return self._place(key, self._get(key, None)) if self.has(key) else None

    def places(self, key: str) -> tuple[tuple[float, float], ...]:
        """Return a list of ``[x, y]`` of plain numbers."""
        value = self._get(key, None)
        if not isinstance(value, list):
            raise self.refusal(key, "it has to be a list of places [x, y]")
        return tuple(self._place(key, place) for place in value)

    def whole(self, key: str, default: int | None = None) -> int:
        """Return a whole number."""
        value = self._get(key, default)
        if type(value) is not int or not _is_number(value):
            raise self.refusal(key, "it has to be a whole number")
        return value

    def flag(self, key: str) -> bool:
        """Return true or false; false when it is not there."""
        value = self._get(key, False)
        if not isinstance(value, bool):
            raise self.refusal(key, "it has to be true or false")
        return value

    def expression(self, key: str, default: str | None = None) -> Expression:
        """Return an expression; a bare number is one."""
        return self._expression(key, self._get(key, default))

    def expression_or_none(self, key: str) -> Expression | None:
        """Return an expression, or None when it is not there."""
        return self.expression(key) if key in self._data else None

    def points(self, key: str) -> tuple[tuple[Expression, Expression | None], ...]:
        """Return a list of ``[x, y]`` or ``[x]``; empty when it is not there."""
        value = self._get(key, [])
        if not isinstance(value, list) or len(value) > MAX_TEXT:
            raise self.refusal(key, "it has to be a list of points")
        points = []
        for point in value:
            if not isinstance(point, list) or len(point) not in (1, 2):
                raise self.refusal(key, "a point has to be [x, y] or [x]")
            x, *y = (self._expression(key, part) for part in point)
            points.append((x, y[0] if y else None))
        return tuple(points)

    def table(self, key: str) -> Table:
        """Return a table inside; an empty one when it is not there."""
        value = self._get(key, {})
        if not isinstance(value, dict):
            raise self.refusal(key, "it has to be a table")
        return Table(value, f"{self._where}, {key}")

    def tables(self, key: str) -> list[Table]:
        """Return a list of tables; empty when it is not there."""
        value = self._get(key, [])
        if not isinstance(value, list) or not all(isinstance(part, dict) for part in value):
            raise self.refusal(key, "it has to be a list of tables")
        return [
            Table(part, f"{self._where}, {key} {number}")
            for number, part in enumerate(value, start=1)
        ]

    def finish(self) -> None:
        """Refuse a key that was never asked for: it is a slip of the pen."""
        for key in self._data:
            if key not in self._asked:
                raise self.refusal(key, "it is not known here")

    def refusal(self, key: str, why: str) -> InputError:
        """Return the error for a key."""
        return InputError(
            f"“{plain(key)[:60]}”: {why}.",
            where=self._where,
            remedy=MEND,
        )

    def _get(self, key: str, default: object) -> Any:
        self._asked.add(key)
        value = self._data.get(key, default)
        if value is None:
            raise self.refusal(key, "it is missing")
        return value

    def _place(self, key: str, value: object) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2 or not all(map(_is_number, value)):
            raise self.refusal(key, "a place has to be [x, y]")
        x, y = value
        return float(x), float(y)

    def _expression(self, key: str, value: object) -> Expression:
        if isinstance(value, float) and not math.isfinite(value):
            raise self.refusal(key, "it has to be a finite number")
        if type(value) is int and not _is_number(value):
            raise self.refusal(key, f"it has to be a number of at most {LARGEST:.0f}")
        if type(value) in (int, float):
            value = repr(value)
        if not isinstance(value, str):
            raise self.refusal(key, "it has to be a number or an expression in quotes")
        try:
            return Expression(value)
        except InputError as error:
            raise InputError(
                plain(error.message),
                where=f"{self._where}, {plain(key)[:60]}",
                remedy=error.remedy,
            ) from error


def plain(text: str) -> str:
    r"""Return a text from a file as one line that a terminal can show.

    Examples
    --------
    >>> plain("two\x1b[2J\n  lines")
    'two?[2J lines'
    """
    return "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))


def _is_number(value: object) -> bool:
    return type(value) in (int, float) and abs(value) <= LARGEST  # type: ignore[arg-type]

"""Numbers that a person or a file gives."""

from __future__ import annotations

import math

from geometry.errors import InputError


def check_finite(what: str, *numbers: float) -> None:
    """Refuse numbers that are none, or that lie out of this world."""
    if not all(math.isfinite(number) for number in numbers):
        raise InputError(f"{what} is not a number.", remedy="Give finite millimetres.")

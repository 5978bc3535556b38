"""Round numbers for rulers and gauges."""

from __future__ import annotations

import math


def round_step(rough: float) -> float:
    """Return the next 1, 2 or 5 times a power of ten that is not below a number above zero.

    Examples
    --------
    >>> round_step(0.7), round_step(13.0), round_step(2.0)
    (1.0, 20.0, 2.0)
    """
    power = 10.0 ** math.floor(math.log10(rough))
    return next(power * factor for factor in (1.0, 2.0, 5.0, 10.0) if power * factor >= rough)

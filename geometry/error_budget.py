"""A sum of errors: those with a known sign add up, the random ones add as squares."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One cause of error in the place of an edge, mm.

    Parameters
    ----------
    name : str
        What causes it, in the maker's words.
    bias_mm : float
        What it is expected to do to every place of the edge at once; positive: the piece is
        measured too large.  Parts whose biases share a sign help each other.
    sigma_mm : float
        One standard deviation round that, >= 0.
    """

    name: str
    bias_mm: float = 0.0
    sigma_mm: float = 0.0

    def __post_init__(self) -> None:
        if not (math.isfinite(self.bias_mm) and 0.0 <= self.sigma_mm < math.inf):
            raise ValueError(f"{self.name}: {self.bias_mm} give or take {self.sigma_mm}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """All causes of error together.

    Examples
    --------
    >>> budget = Budget(parts=(Part(name="pen", bias_mm=0.3), Part(name="ink", bias_mm=0.2),
    ...     Part(name="hand", sigma_mm=0.3), Part(name="map", sigma_mm=0.4)))
    >>> budget.bias_mm, round(budget.sigma_mm, 3), round(budget.worst_mm, 3)
    (0.5, 0.5, 1.5)
    """

    parts: tuple[Part, ...] = ()

    @property
    def bias_mm(self) -> float:
        """Sum of the known errors, with their signs."""
        return math.fsum(part.bias_mm for part in self.parts)

    @property
    def bias_sigma_mm(self) -> float:
        """One standard deviation of that sum."""
        return math.hypot(*(part.sigma_mm for part in self.parts if part.bias_mm))

    @property
    def sigma_mm(self) -> float:
        """Root of the sum of the squared random errors."""
        return math.hypot(*(part.sigma_mm for part in self.parts))

    @property
    def worst_mm(self) -> float:
        """How far off the edge may be, the way its bias goes, 19 times in 20 not more than this."""
        return abs(self.bias_mm) + 2.0 * self.sigma_mm

"""Sizes that the maker measured on the steel itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from geometry.errors import InputError

Place = tuple[float, float]
Kind = Literal["between", "length", "width"]

CALIPERS_MM = 0.05  # one standard deviation of a reading on sawn or forged steel; practice
RULE_MM = 0.3  # the same of a rule; practice
LONGEST_CALIPERS_MM = 160.0  # of the common 6 in calipers; a rule is laid along longer pieces

NAMES: dict[Kind, str] = {
    "between": "width between the two places",
    "length": "length",
    "width": "width across",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SteelSize:
    """One size of the steel, by calipers or a rule.

    Parameters
    ----------
    kind : {"between", "length", "width"}
        Between two places of the edge, or the longer or shorter side of the smallest rectangle
        round the piece.
    true_mm : float
        What was read, > 0.
    ends_px, ends_mm : pair of (x, y), optional
        Where the jaws were, in the picture or on the piece as measured; one of the two for
        "between", none else.
    """

    kind: Kind
    true_mm: float
    ends_px: tuple[Place, Place] | None = None
    ends_mm: tuple[Place, Place] | None = None

    def __post_init__(self) -> None:
        if not (math.isfinite(self.true_mm) and self.true_mm > 0.0):
            raise InputError(
                f"a size of {self.true_mm:g} mm cannot be.",
                where="Calipers",
                remedy="Give what they read, like 38.1mm or 1.5in.",
            )
        given = (self.ends_px is not None) + (self.ends_mm is not None)
        if given != (self.kind == "between"):
            raise InputError(
                "a width between two places needs both places, once."
                if self.kind == "between"
                else f"the {NAMES[self.kind]} has no places.",
                where="Calipers",
                remedy="Point at the two places where the jaws were.",
            )

    @property
    def sigma_mm(self) -> float:
        """One standard deviation of the reading."""
        return CALIPERS_MM if self.true_mm <= LONGEST_CALIPERS_MM else RULE_MM

    @property
    def name(self) -> str:
        """What was measured, for people."""
        return NAMES[self.kind]

    @property
    def tool(self) -> str:
        """What it was measured with, as far as its length tells."""
        return "calipers" if self.true_mm <= LONGEST_CALIPERS_MM else "the rule"

"""Where tip, butt, heel and spine of an outline are, as typed on the command line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import cast

from app.cli.options import one_of
from app.document.lengths import parse_length_mm
from geometry.curves import Point
from geometry.ends import Side
from geometry.errors import InputError
from geometry.knife_parts import Pointed

SIDES = ("left", "right")


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedEnds:
    """The options on the ends of an outline as typed; empty where not."""

    tip: str = ""
    butt: str = ""
    heel: str = ""
    spine: str = ""

    @property
    def ends_typed(self) -> dict[str, str]:
        """What was typed, by option."""
        typed = {"--tip": self.tip, "--butt": self.butt, "--heel": self.heel, "--spine": self.spine}
        return {option: text for option, text in typed.items() if text}

    def pointed(self, place: Callable[[str, str], Point]) -> Pointed:
        """Return the places that were typed.

        Parameters
        ----------
        place : callable
            Given a text and its option, returns the place in mm; raises where it is none.

        Raises
        ------
        InputError
            If the spine is on no side.
        """
        typed = self.ends_typed
        side = one_of(self.spine, SIDES, "--spine") if self.spine else None
        tip, butt, heel = (
            place(typed[option], option) if option in typed else None
            for option in ("--tip", "--butt", "--heel")
        )
        return Pointed(tip_mm=tip, butt_mm=butt, heel_mm=heel, spine=cast("Side | None", side))


def in_drawing(text: str, where: str) -> Point:
    """Return the place of ``X,Y``, lengths in any unit."""
    parts = text.split(",")
    if len(parts) != 2:
        raise InputError(
            f"“{text}” is no place.", where=where, remedy="Write X,Y from the drawing's lower left."
        )
    x, y = (parse_length_mm(part, where=where) for part in parts)
    return x, y


def check_for_drawing(family: str, typed: Mapping[str, object]) -> None:
    """Refuse options, by what was typed behind them, that a family has no use for: InputError."""
    for where, text in typed.items():
        if text:
            raise InputError(
                f"“{family}” is a family, which has its frame and its units.",
                where=where,
                remedy="Leave it out; it is for a drawing.",
            )

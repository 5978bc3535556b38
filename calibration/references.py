"""Things of known size on a sheet, from which a picture's scale and tilt are taken."""

from __future__ import annotations

import math
from dataclasses import dataclass

from geometry.errors import InputError

Place = tuple[float, float]

#: Named sheets, short and long side in mm: ISO 216 A series, ANSI/ASME Y14.1 A and B, US Legal.
PAPERS: dict[str, tuple[float, float]] = {
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
    "a5": (148.0, 210.0),
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
    "a2": (420.0, 594.0),
}

LENGTHS_MM = (1.0, 10_000.0)  # of anything that is drawn, or of a roll of paper
LEAST_SHEET_MM = 50.0  # a smaller one holds no piece of steel: 8.5 x 11 are inches, 21 x 29.7 cm
MOST_SHEET_MM = 2000.0  # A0 is 1189 mm long; no one lens sees more of a roll well
PRINTED = (0.97, 1.03)  # of its length: no machine's own error takes a bar beyond
MOST_ASKEW = 0.03  # of one bar against the other; printers differ by 0.005 (practice, no source)

PAPER_LABELS = {key: key.upper() if key.startswith("a") else key.capitalize() for key in PAPERS}


@dataclass(frozen=True, slots=True, kw_only=True)
class LineReference:
    """A drawn straight line of known length, with or without ticks across its ends.

    Parameters
    ----------
    length_mm : float
        Between the centres of the end ticks, or the tips of the stroke; > 0.
    ends_px : pair of (x, y), optional
        Where its ends are in the picture; found by itself if left out.
    """

    length_mm: float
    ends_px: tuple[Place, Place] | None = None

    def __post_init__(self) -> None:
        _require_length(self.length_mm, "The reference line")
        _require_places(self.ends_px)
        if self.ends_px is not None and math.dist(*self.ends_px) < 1.0:
            raise InputError(
                "both ends of the reference line are at the same place.",
                where="Reference line",
                remedy="Point at one end, then at the other.",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetReference:
    """The sheet's own four edges.

    Parameters
    ----------
    width_mm, height_mm : float
        Its sides, in either order; > 0.
    """

    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        _require_length(self.width_mm, "The sheet's width", least_mm=LEAST_SHEET_MM)
        _require_length(self.height_mm, "The sheet's height", least_mm=LEAST_SHEET_MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class RectangleReference:
    """A drawn rectangle of known sides, measured between the centres of its lines.

    Parameters
    ----------
    width_mm, height_mm : float
        Its sides, in either order; > 0.
    corners_px : four (x, y), optional
        Where its corners are in the picture, going round; found by itself if left out.
    """

    width_mm: float
    height_mm: float
    corners_px: tuple[Place, Place, Place, Place] | None = None

    def __post_init__(self) -> None:
        _require_length(self.width_mm, "The rectangle's width")
        _require_length(self.height_mm, "The rectangle's height")
        _require_places(self.corners_px)


@dataclass(frozen=True, slots=True, kw_only=True)
class MatReference:
    """The printed mat, told by its markers.

    Parameters
    ----------
    paper : str
        Name of the paper that it was made for; its markers tell if it is left out.
    printed_x, printed_y : float, optional
        What calipers read on its bars over what was asked, along and up the page as printed;
        left out if nobody measured, and then the printer is trusted to a few tenths of a per cent.
    """

    paper: str = ""
    printed_x: float | None = None
    printed_y: float | None = None

    def __post_init__(self) -> None:
        if self.paper:
            paper_reference(self.paper)
        for printed in (self.printed_x, self.printed_y):
            if printed is not None and not PRINTED[0] <= printed <= PRINTED[1]:
                raise InputError(
                    f"a bar of the mat measures {100 * printed:.1f} % of its length: the page was "
                    "scaled when it was printed.",
                    where="Mat",
                    remedy="Print it at 100 %, not fitted to the page, or measure its bars again.",
                )
        if self.askew > MOST_ASKEW:
            raise InputError(
                f"the mat's bars disagree by {100 * self.askew:.1f} %: no printer stretches a page "
                "so much more one way than the other.",
                where="Mat",
                remedy="Measure both bars again, between the outer edges of their ends.",
            )

    @property
    def askew(self) -> float:
        """By which share one bar was printed longer than the other; 0 unless both were read."""
        if self.printed_x is None or self.printed_y is None:
            return 0.0
        return max(self.printed_x, self.printed_y) / min(self.printed_x, self.printed_y) - 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossReference:
    """Two drawn lines of known length at right angles, that cross or start at one corner.

    Parameters
    ----------
    first_mm, second_mm : float
        Their lengths, in either order; > 0.
    ends_px : four (x, y), optional
        Both ends of the first line, then of the second; found by themselves if left out.
    """

    first_mm: float
    second_mm: float
    ends_px: tuple[Place, Place, Place, Place] | None = None

    def __post_init__(self) -> None:
        _require_length(self.first_mm, "The first of the crossing lines")
        _require_length(self.second_mm, "The second of the crossing lines")
        _require_places(self.ends_px)


Reference = LineReference | SheetReference | RectangleReference | CrossReference | MatReference


def paper_reference(name: str) -> SheetReference:
    """Return the sheet of a named paper.

    Raises
    ------
    InputError
        If there is no paper of that name.

    Examples
    --------
    >>> paper_reference("Letter")
    SheetReference(width_mm=215.9, height_mm=279.4)
    """
    size = PAPERS.get(name.strip().lower())
    if size is None:
        raise InputError(
            f"there is no paper called {name!r}.",
            where="Sheet",
            remedy=f"Use one of {', '.join(PAPERS)}, or its width x height.",
        )
    return SheetReference(width_mm=size[0], height_mm=size[1])


def _require_length(value_mm: float, what: str, *, least_mm: float = LENGTHS_MM[0]) -> None:
    if not (math.isfinite(value_mm) and value_mm > 0.0):
        raise InputError(
            f"{what} must be longer than zero, not {value_mm:g} mm.",
            where="Reference",
            remedy="Give the length as it was drawn, for example 100mm or 4in.",
        )
    if not least_mm <= value_mm <= LENGTHS_MM[1]:
        raise InputError(
            f"{what} cannot be {value_mm:g} mm: from {least_mm:g} to {LENGTHS_MM[1]:g} mm is "
            "possible.",
            where="Reference",
            remedy="Check the number and give its unit, for example 100mm, 4in or 8.5x11in.",
        )


def _require_places(places_px: tuple[Place, ...] | None) -> None:
    if not all(math.isfinite(x) and math.isfinite(y) for x, y in places_px or ()):
        raise InputError(
            "a place in the picture is not two numbers.",
            where="Reference",
            remedy="Give it in pixels of the upright picture.",
        )

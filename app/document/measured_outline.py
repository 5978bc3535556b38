"""An outline from a measured piece: a knife that was traced, or a design drawn on paper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.billet import Billet
from geometry.curves import Point
from geometry.ends import Ends, Side, proposed_ends
from geometry.from_contour import outline_from_contour
from geometry.outline import Outline

FINEST_MM, COARSEST_MM = 0.05, 0.15  # between, lines and arcs keep within the edge's own doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class Pointed:
    """Where tip, butt and heel are, mm on the piece, and where its spine; None to propose it."""

    tip_mm: Point | None = None
    butt_mm: Point | None = None
    heel_mm: Point | None = None
    spine: Side | None = None


NOTHING_POINTED = Pointed()


def ends_of(billet: Billet, pointed: Pointed = NOTHING_POINTED) -> Ends:
    """Return tip and butt of a piece: as pointed at, else as its shape proposes.

    One that is pointed at where the other would be proposed takes the place of it, so that
    pointing at the tip alone is enough where the proposal has it the wrong way round.
    """
    tip, butt = pointed.tip_mm, pointed.butt_mm
    if tip is not None and butt is not None:
        return Ends(tip_mm=tip, butt_mm=butt)
    proposed = proposed_ends(billet.shape)
    if tip is not None:
        return Ends(tip_mm=tip, butt_mm=_farther(tip, proposed))
    if butt is not None:
        return Ends(tip_mm=_farther(butt, proposed), butt_mm=butt)
    return proposed


def outline_of_billet(billet: Billet, *, name: str, pointed: Pointed = NOTHING_POINTED) -> Outline:
    """Return a measured piece as an outline of lines and arcs in the outline frame.

    Parameters
    ----------
    billet : Billet
        The piece; what its edge is likely to be measured too large is not taken off.
    name : str
        What to call the outline.
    pointed : Pointed
        What a person said of it.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of the piece.
    """
    ends = ends_of(billet, pointed)
    return outline_from_contour(
        billet.shape,
        tip_mm=ends.tip_mm,
        butt_mm=ends.butt_mm,
        heel_mm=pointed.heel_mm,
        spine=pointed.spine,
        name=name,
        tolerance_mm=tolerance_mm(billet),
    )


def tolerance_mm(billet: Billet) -> float:
    """Return how far lines and arcs may lie from a piece's edge: its usual doubt, one deviation.

    Finer, they would follow the hand's wobble; coarser, they would add to what is not known.
    """
    if not billet.vertex_sigma_mm:
        return FINEST_MM
    return float(np.clip(np.median(billet.vertex_sigma_mm), FINEST_MM, COARSEST_MM))


def _farther(place: Point, ends: Ends) -> Point:
    """Return which of two ends is farther from a place."""
    both = np.array([ends.tip_mm, ends.butt_mm])
    return (ends.tip_mm, ends.butt_mm)[int(np.hypot(*(both - place).T).argmax())]

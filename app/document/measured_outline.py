"""An outline from a measured piece: a knife that was traced, or a design drawn on paper."""

from __future__ import annotations

import numpy as np
from shapely import Polygon

from app.document.lengths import Unit, format_length
from app.document.wording import LEAST_BIAS_MM
from geometry.billet import Billet
from geometry.from_contour import outline_from_contour
from geometry.inset import inset
from geometry.knife_parts import Pointed
from geometry.outline import Outline

FINEST_MM, COARSEST_MM = 0.05, 0.15  # between, lines and arcs keep within the edge's own doubt
ROUND_SIGMAS = 2.0  # a drilled hole's edge strays no further from its circle, 19 times in 20
KNOWN_SIGMAS = 1.5  # a pen's stand-off is known so well, and better, once the thickness is told
NOTHING_POINTED = Pointed()


def outline_of_billet(
    billet: Billet, *, name: str, pointed: Pointed = NOTHING_POINTED, as_traced: bool | None = None
) -> Outline:
    """Return a measured piece as an outline of lines and arcs in the outline frame.

    Parameters
    ----------
    billet : Billet
        The piece; what it is likely to be measured too large is taken off as `taken_off_mm` says.
    name : str
        What to call the outline.
    pointed : Pointed
        What a person said of it.
    as_traced : bool, optional
        Whether that is left on; None where nobody told.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of the piece, or nothing of it would be left.
    """
    return outline_from_contour(
        steel_of(billet, as_traced=as_traced),
        tip_mm=pointed.tip_mm,
        butt_mm=pointed.butt_mm,
        heel_mm=pointed.heel_mm,
        spine=pointed.spine,
        name=name,
        tolerance_mm=tolerance_mm(billet),
        round_mm=ROUND_SIGMAS * tolerance_mm(billet),
    )


def taken_off_mm(billet: Billet, *, as_traced: bool | None = None) -> float:
    """Return what to take off a trace all round to have the knife that was traced.

    Parameters
    ----------
    billet : Billet
        The piece.
    as_traced : bool, optional
        Whether to leave on what it is likely too large; None where nobody told.

    Notes
    -----
    A copy should have the true size. Where thickness, pen or sizes were told, the trace is known
    to be of steel, and what it is too large is known better than to two thirds; that is taken off.
    Where nothing was told it may be a drawn design, and what pens usually add is known only as
    well as it is large. That stays on: steel can be ground off later, and not put on again.
    """
    if as_traced is None:
        as_traced = not all(
            abs(part.bias_mm) >= KNOWN_SIGMAS * part.sigma_mm
            for part in billet.budget.parts
            if part.bias_mm
        )
    return 0.0 if as_traced else billet.too_large_mm


def steel_of(billet: Billet, *, as_traced: bool | None = None) -> Polygon:
    """Return a piece without what `taken_off_mm` takes off.

    A trace's corners come back as corners, and its holes are that much wider.

    Raises
    ------
    InputError
        If nothing of it would be left.
    """
    off_mm = taken_off_mm(billet, as_traced=as_traced)
    return inset(billet.shape, off_mm) if off_mm else billet.shape


def taken_off_sentence(billet: Billet, unit: Unit = "mm") -> str:
    """Return what becomes of what a trace is likely too large; empty where it is not."""
    if billet.too_large_mm < LEAST_BIAS_MM:
        return ""
    size = format_length(billet.too_large_mm, unit, decimals=2 if unit == "mm" else 3)
    likely = f"The trace is likely {size} too large all round"
    if taken_off_mm(billet):
        return f"{likely}: that is taken off."
    return f"{likely}: that stays on, as neither thickness, pen nor a size of the steel was told."


def tolerance_mm(billet: Billet) -> float:
    """Return how far lines and arcs may lie from a piece's edge: its usual doubt, one deviation.

    Finer, they would follow the hand's wobble; coarser, they would add to what is not known.
    """
    if not billet.vertex_sigma_mm:
        return FINEST_MM
    return float(np.clip(np.median(billet.vertex_sigma_mm), FINEST_MM, COARSEST_MM))

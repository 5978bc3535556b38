"""An outline from a measured piece: a knife that was traced, or a design drawn on paper."""

from __future__ import annotations

import numpy as np

from geometry.billet import Billet
from geometry.from_contour import outline_from_contour
from geometry.knife_parts import Pointed
from geometry.outline import Outline

FINEST_MM, COARSEST_MM = 0.05, 0.15  # between, lines and arcs keep within the edge's own doubt
ROUND_SIGMAS = 2.0  # a drilled hole's edge strays no further from its circle, 19 times in 20
NOTHING_POINTED = Pointed()


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
    return outline_from_contour(
        billet.shape,
        tip_mm=pointed.tip_mm,
        butt_mm=pointed.butt_mm,
        heel_mm=pointed.heel_mm,
        spine=pointed.spine,
        name=name,
        tolerance_mm=tolerance_mm(billet),
        round_mm=ROUND_SIGMAS * tolerance_mm(billet),
    )


def tolerance_mm(billet: Billet) -> float:
    """Return how far lines and arcs may lie from a piece's edge: its usual doubt, one deviation.

    Finer, they would follow the hand's wobble; coarser, they would add to what is not known.
    """
    if not billet.vertex_sigma_mm:
        return FINEST_MM
    return float(np.clip(np.median(billet.vertex_sigma_mm), FINEST_MM, COARSEST_MM))

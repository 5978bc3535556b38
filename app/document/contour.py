"""A billet's contour as few lines and arcs, to cut, to draw on, or to lay the steel on."""

from __future__ import annotations

from dataclasses import replace

from app.document.drawing import Drawing, Item, TitleBlock
from app.document.lengths import format_length
from app.document.pattern import FLAWS_ARE_HATCHED, closed_chain, hatched
from geometry.arc_fit import CLAIM_MM, fitted_ring
from geometry.billet import Billet
from geometry.curves import Chain
from geometry.editing.edges import rings_of


def contour_chains(billet: Billet, *, tolerance_mm: float) -> list[Chain]:
    """Return the edge and the holes of a billet as lines and arcs within a tolerance.

    They lie nowhere more than 0.02 mm outside the measured steel. Slow: a second or so.

    Raises
    ------
    InputError
        If the tolerance is not above zero.
    """
    rings = rings_of(billet)
    return [fitted_ring(ring.points_mm, tolerance_mm=tolerance_mm) for ring in rings]


def contour_drawing(
    billet: Billet, chains: list[Chain], title: TitleBlock, *, tolerance_mm: float
) -> Drawing:
    """Return the drawing of a contour, its flaws hatched.

    Parameters
    ----------
    billet : Billet
        The piece.
    chains : list of chain
        As `contour_chains` gives them.
    title : TitleBlock
        What the sheet says of itself; a line on each kind of line is added to its notes.
    tolerance_mm : float
        That of the chains.
    """
    items: list[Item] = [closed_chain("CONTOUR", chain) for chain in chains]
    within, beyond = (format_length(v, title.unit) for v in (tolerance_mm, CLAIM_MM))
    notes = [
        f"Solid line: the edge of the steel as it was measured, to {within}, and nowhere more "
        f"than {beyond} outside it."
    ]
    if billet.flaws:
        items += hatched(billet)
        notes.append(FLAWS_ARE_HATCHED)
    return Drawing(items=tuple(items), title=replace(title, notes=(*title.notes, *notes)))

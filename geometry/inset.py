"""A piece drawn in by what its trace is too large all round."""

from __future__ import annotations

import math

import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.errors import InputError

MITRE = 4.0  # sharper corners than about 30 degrees are cut off at 4 times the offset
QUARTER = 16  # pieces of a quarter turn: 0.5 % of the offset off the true arc


def inset(piece: Polygon, offset_mm: float) -> Polygon:
    """Return a piece whose edge lies `offset_mm` further in; its holes are that much wider.

    Parameters
    ----------
    piece : shapely.Polygon
        Valid, mm.  A hole is traced from within by the same pen, and is too small by the offset.
    offset_mm : float
        How much too large the piece is all round; negative: too small.

    Returns
    -------
    shapely.Polygon
        Oriented; the largest part, where a thin neck parts.

    Raises
    ------
    InputError
        If nothing of the piece is left, or the offset is no number.

    Notes
    -----
    A pen rolls round an outer corner of the steel in an arc, and drawing the arc in gives the
    corner back.  Into an inner corner it cannot reach: there the line's own corner is drawn in
    along both sides until they meet, as a mitre, which is right for a sharp corner of the steel
    and claims too little for a rounded one.  Where a trace is too small the piece grows by
    arcs, which claim less than mitres at its corners.  Both ways steel is rather lost than made
    up.
    """
    if not math.isfinite(offset_mm):
        raise InputError("the trace offset is no number.", where="Trace offset")
    if offset_mm == 0.0:
        return orient(piece)
    if offset_mm > 0.0:
        drawn = piece.buffer(-offset_mm, join_style="mitre", mitre_limit=MITRE)
    else:
        drawn = piece.buffer(-offset_mm, join_style="round", quad_segs=QUARTER)
    parts = [part for part in shapely.get_parts(drawn) if isinstance(part, Polygon)]
    largest = max(parts, key=lambda part: part.area, default=Polygon())
    if largest.is_empty:
        raise InputError(
            f"a trace offset of {offset_mm:.2f} mm leaves nothing of the piece.",
            where="Trace offset",
            remedy="Check the sizes that were measured on the steel, and their unit.",
        )
    return orient(largest)

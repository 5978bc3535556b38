"""Lines that run beside an outline's edge at one distance: a saw's outside, a web's inside."""

from __future__ import annotations

import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.errors import InputError

MAX_OFFSET_MM = 1000.0
MITRE = 1.5  # right angles, 1.41, stay square; sharper corners are cut off across
FINER = 16  # an arc's offset is this much larger than the arc at most before chords show


def offset_polygons(edge: Polygon, distance_mm: float) -> tuple[Polygon, ...]:
    """Return what lies within an edge moved outward, or inward where the distance is negative.

    Parameters
    ----------
    edge : shapely.Polygon
        Valid, its curves flattened `FINER` times finer than the result has to be.
    distance_mm : float
        Outward positive.

    Returns
    -------
    tuple of shapely.Polygon
        The largest first; several where a neck closes, none where nothing is left. Exteriors
        counter-clockwise. Outward, a deep notch may close over an opening.

    Raises
    ------
    InputError
        If the distance is no number, or more than a metre.

    Notes
    -----
    A saw and a scriber's straight edge run past a corner, so the line keeps corners instead of
    rounding them: outside a convex corner, inside a concave one. At a tip that would send it far
    ahead; a corner sharper than about 84 degrees is cut off square across its middle, one and a
    half times the distance away. So no place of the line is nearer the edge than asked, and none
    farther than 1.81 times (at the ends of such a cut: the root of 1.5^2 + 1 for a needle).
    """
    if not abs(distance_mm) <= MAX_OFFSET_MM:
        raise InputError(
            f"an offset of {distance_mm:g} mm cannot be drawn.",
            where="Offset",
            remedy=f"Give a number of at most {MAX_OFFSET_MM:g} mm.",
        )
    moved = edge.buffer(distance_mm, join_style="mitre", mitre_limit=MITRE) if distance_mm else edge
    parts = [orient(part) for part in shapely.get_parts(moved) if not part.is_empty]
    return tuple(sorted(parts, key=lambda part: -part.area))

"""How far the proposed parts of a shape can be trusted, in sentences.

The limits are from the program's own families at random measures, 507 shapes: the tip was right in
all whose ends differ by a factor of two and more or that have shoulders, and wrong in 4 others; the
spine was right in 385 of 386 where a corner told it, and wrong in a third where only the belly did;
of 757 others, in all 102 where a gentle hollow told it.
"""

from __future__ import annotations

from shapely import Polygon

from geometry.ends import Ends, edge_shows, has_heel_corner, is_tang_ahead, steel_at_ends
from geometry.knife_parts import Parts, Pointed

ALIKE_ENDS = 0.5  # of the blunter end's steel: a tip with more is doubted

TIP = "Both ends are nearly as pointed: the tip may be the other one."
SPINE = "No notch or corner tells the edge from the spine: the spine may be the other side."
HEEL = "No corner shows where the edge ends: the heel stands where it usually is."


def doubts_of(shape: Polygon, pointed: Pointed, parts: Parts) -> dict[str, str]:
    """Return the parts that are doubted, each with why, of those that nobody pointed at.

    Parameters
    ----------
    shape : shapely.Polygon
    pointed : Pointed
        What a person said: that is not doubted.
    parts : Parts
        As `parts_of` returned them.
    """
    ends = Ends(tip_mm=parts.tip_mm, butt_mm=parts.butt_mm)
    found: dict[str, str] = {}
    if pointed.tip_mm is None and pointed.butt_mm is None:
        less, more = sorted(steel_at_ends(shape))
        shoulders = is_tang_ahead(shape, Ends(tip_mm=ends.butt_mm, butt_mm=ends.tip_mm))
        if less > ALIKE_ENDS * more and not shoulders:
            found["tip"] = TIP
    said = pointed.spine is not None or pointed.heel_mm is not None
    if not said and not edge_shows(shape, ends):
        found["spine"] = SPINE
    if pointed.heel_mm is None and not has_heel_corner(shape, ends, parts.spine):
        found["heel"] = HEEL
    return found

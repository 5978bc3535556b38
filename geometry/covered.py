"""What a blank lies over that is no steel to use: a flaw, or a hole of the piece.

The clearance counts what a blank covers by its own half width, wherever it lies: a crack by next to
nothing.  No blank is cut over a crack, so here it counts by how deep in the blank it lies.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import Polygon

from geometry.billet import Billet
from geometry.clearance import filled

LEAST_MM2 = 1e-6  # of a shared area: less is rounding
OVER_MM = 5.0  # a blank that fits nowhere rather sticks out by so much than covers a flaw
STEP_MM = 1.0  # along the edge of what is covered, at which its depth is looked at


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """A flaw or a hole that lies in a blank.

    Parameters
    ----------
    kind : "flaw" or "hole"
        Which of the two.
    point_mm : tuple of float
        A place of it that lies in the blank.
    alone : bool
        Whether the blank would lie on the steel without it and others like it.
    """

    kind: Literal["flaw", "hole"]
    point_mm: tuple[float, float]
    alone: bool


def covered(billet: Billet, blank: Polygon) -> Covered | None:
    """Return the flaw or hole of which most lies in a blank; None if there is none."""
    whole = filled(blank)
    kinds: list[tuple[Literal["flaw", "hole"], Polygon]]
    kinds = [("flaw", flaw) for flaw in billet.flaws]
    kinds += [("hole", Polygon(ring)) for ring in billet.shape.interiors]
    shared = [
        (each.area, kind, each)
        for kind, area in kinds
        if (each := shapely.intersection(area, whole)).area > LEAST_MM2
    ]
    if not shared:
        return None
    _, kind, most = max(shared, key=lambda one: one[0])
    parts = shapely.get_parts(most)
    ((x, y),) = shapely.get_coordinates(max(parts, key=shapely.area).representative_point())
    steel = Polygon(billet.shape.exterior)
    alone = shapely.covers(steel, whole) and (
        shapely.distance(steel.exterior, whole) >= billet.too_large_mm
    )
    return Covered(kind=kind, point_mm=(float(x), float(y)), alone=bool(alone))


def depth_over_mm(blank: Polygon, areas: Sequence[Polygon]) -> float:
    """Return how deep in a blank the deepest place of any of some areas lies, mm; 0 if none does.

    About as far as the blank has to move to get clear of them.

    Examples
    --------
    >>> depth_over_mm(shapely.box(0, 0, 100, 30), [shapely.box(40, 10, 60, 10.5)])
    10.5
    """
    whole = filled(blank)
    shared = shapely.intersection(list(areas), whole)
    shared = shared[shapely.area(shared) > LEAST_MM2]
    if not len(shared):
        return 0.0
    places = shapely.points(shapely.get_coordinates(shapely.segmentize(shared, STEP_MM)))
    return float(shapely.distance(whole.exterior, places).max())


def worth_mm(clearance_mm: float, blank: Polygon, areas: Sequence[Polygon]) -> float:
    """Return what a place is worth: its clearance, and less where it covers any of some areas."""
    over_mm = depth_over_mm(blank, areas) if clearance_mm <= 0.0 else 0.0
    return min(clearance_mm, -over_mm - OVER_MM) if over_mm else clearance_mm

"""Round loops of a drawing as drilled holes, and what they are for."""

from __future__ import annotations

import math

import numpy as np
from shapely import Polygon

from app.files.left_out import Curved
from app.files.strokes import SAME_MM, Points
from geometry.curves import Arc
from geometry.outline import Hole

ROUND_MM = 0.01  # a loop whose points stray less from a circle is a drilled hole
ROUND_FILL = 0.985  # and that is as full as a circle of 24 chords, 0.9886
PINS_MM = (2.0, 10.0)  # common practice, no source: handle pins and tubes are of such sizes


def kind_for(diameter_mm: float) -> str:
    """Return what a hole that nobody named is for: a pin where there are pins of its size.

    Examples
    --------
    >>> kind_for(6.0), kind_for(0.4), kind_for(20.0)
    ('pin', 'hole', 'hole')
    """
    return "pin" if PINS_MM[0] <= round(diameter_mm, 3) <= PINS_MM[1] else "hole"


def round_hole(loop: Points, kind: str = "") -> Hole | None:
    """Return the hole that a loop of points on a circle is; None for any other loop.

    Without a kind it is a pin's or a plain hole by its size.
    """
    if len(loop) < 8:
        return None
    polygon = Polygon(loop)
    centre = np.array([polygon.centroid.x, polygon.centroid.y])
    radii = np.hypot(*(loop - centre).T)
    middle = float(radii.max() + radii.min()) / 2
    strays = float(radii.max() - radii.min()) / 2
    if strays > ROUND_MM or polygon.area < ROUND_FILL * math.pi * middle**2:
        return None
    x, y = centre.tolist()
    return Hole(x_mm=x, y_mm=y, diameter_mm=2 * middle, kind=kind or kind_for(2 * middle))


def hole_of(loop: Curved) -> Hole | None:
    """Return the round hole of a loop, by its circle where it was drawn as one."""
    arcs = [piece for piece in loop.chain if isinstance(piece, Arc)]
    if len(arcs) == len(loop.chain):
        centres = np.array([arc.centre for arc in arcs])
        radii = np.array([arc.radius_mm for arc in arcs])
        if np.ptp(centres, axis=0).max() < SAME_MM and np.ptp(radii) < SAME_MM:
            (x, y), radius = centres.mean(axis=0).tolist(), float(radii.mean())
            return Hole(
                x_mm=x, y_mm=y, diameter_mm=2 * radius, kind=loop.label or kind_for(2 * radius)
            )
    return round_hole(loop.points, loop.label)

"""A drawing whose unit nobody told, at the size that its likeliest unit gives it.

Gaps are closed and specks passed over by millimetres, so that lines are judged at about the size
that they will have once the unit is told.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from app.files.drawing_units import Scale
from app.files.strokes import FARTHEST_MM, Strokes
from geometry.pose import Pose


def at_likely_size(found: Strokes, scale: Scale) -> tuple[Strokes, Scale]:
    """Return a drawing's lines at their likely size, and the scale that they then have.

    Both as they were where somebody told the unit.
    """
    spots = [spot for line in found.lines for p in line.chain for spot in (p.start, p.end)]
    places = np.array([spot for spot in spots if np.abs(spot).max() < FARTHEST_MM])
    longer = float(np.ptp(places, axis=0).max()) if len(places) else 0.0
    if scale.told != "nobody" or not longer:
        return found, scale
    likely = scale.likeliest(longer / scale.mm_per_unit)
    larger = Pose(x_mm=0.0, y_mm=0.0, scale=likely.mm_per_unit / scale.mm_per_unit)
    lines = tuple(
        replace(line, chain=tuple(piece.moved(larger) for piece in line.chain))
        for line in found.lines
    )
    return replace(found, lines=lines), likely

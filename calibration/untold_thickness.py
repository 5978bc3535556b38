"""What photographed steel is measured too large where its thickness was not told.

Its top is nearer to the lens than the paper, and sides that face the lens are counted in.  How
much that is follows from the steel's thickness; without it, from what steel for knives usually is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely import Polygon

from calibration.piece import Piece
from calibration.top_face import top_face
from geometry.stand_off import Offset

USUAL_MM, USUAL_SIGMA_MM = 4.0, 2.5  # steel for knives, 1.5 to 8 mm thick; practice


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TooLarge:
    """By how much a plate of usual thickness is smaller than what was measured.

    Parameters
    ----------
    offset : Offset
        On average all round.
    top : shapely.Polygon
        Its top face, mm.
    """

    offset: Offset
    top: Polygon

    def uneven_sigma_mm(self, places_mm: ArrayLike) -> NDArray[np.float64]:
        """Return what places of the measured edge are off beside that average."""
        places = np.asarray(shapely.points(np.asarray(places_mm, float)))
        apart_mm = shapely.distance(places, self.top.exterior)
        return np.asarray(np.abs(apart_mm - self.offset.value_mm))


def too_large(piece: Piece) -> TooLarge:
    """Return what a plate is measured too large whose thickness was not told."""
    seen = Polygon(piece.shape.exterior)
    top = top_face(piece.contour.outer_px, piece.plane, USUAL_MM)
    mean_mm = (seen.area - top.area) / seen.length
    relative = USUAL_SIGMA_MM / USUAL_MM
    return TooLarge(offset=Offset(value_mm=mean_mm, sigma_mm=relative * mean_mm), top=top)

"""What size of piece would hold an outline that fits nowhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A piece that surely holds the outline with the margin, mm.

    Parameters
    ----------
    grow_mm : float
        So much more steel all round (holes and flaws smaller by as much) is enough.
    bar_mm : tuple of float
        Length and width of the narrowest straight bar with square ends that is.
    """

    grow_mm: float
    bar_mm: tuple[float, float]


def piece_for(outline: Polygon, *, clearance_mm: float, margin_mm: float) -> Piece:
    """Return what size of piece would hold an outline.

    Parameters
    ----------
    outline : shapely.Polygon
        The outline, mm.
    clearance_mm : float
        That of some pose on the piece at hand, negative where the outline sticks out.
    margin_mm : float
        What to keep; >= clearance_mm.

    Notes
    -----
    Steel grown by d all round adds at least d to the clearance of every pose, so
    ``margin - clearance`` is enough. For a point p in the steel at depth s the disc of radius s
    about p is steel, so the disc of radius s + d is in the grown steel. For p at a distance s
    outside let q be its nearest steel: the disc of radius d about q is in the grown steel, and
    with s < d it holds the disc of radius d - s about p; with s >= d its rim is s - d from p. So
    each point of the outline gains d or more, and with it the least of them.

    An outline of width w across some direction, and length l along it, lies in a rectangle l x w;
    with the margin all round that is l + 2 m by w + 2 m. The least width of a polygon is across
    one of the edges of its convex hull.

    Examples
    --------
    >>> piece_for(shapely.box(0, 0, 100, 20), clearance_mm=-1.5, margin_mm=1.0)
    Piece(grow_mm=2.5, bar_mm=(102.0, 22.0))
    """
    hull = shapely.get_coordinates(shapely.convex_hull(outline))
    edges = np.diff(hull, axis=0)
    along = edges / np.hypot(*edges.T)[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    widths, lengths = np.ptp(hull @ across.T, axis=0), np.ptp(hull @ along.T, axis=0)
    least = int(np.argmin(widths))
    sides = sorted((float(lengths[least]), float(widths[least])), reverse=True)
    return Piece(
        grow_mm=margin_mm - clearance_mm,
        bar_mm=(sides[0] + 2.0 * margin_mm, sides[1] + 2.0 * margin_mm),
    )

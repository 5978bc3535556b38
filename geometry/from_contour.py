"""A measured piece, or a drawing from elsewhere, as an outline in the outline frame.

A person says where the tip and the butt are, and may say where the heel is and on which side the
spine; what is left out is proposed from the shape.
"""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.arc_fit import TOLERANCE_MM, circle_of, fitted_ring
from geometry.curves import Chain, Point
from geometry.ends import Ends, Side, proposed_ends, ring_of
from geometry.knife_parts import Parts, Pointed, parts_of
from geometry.outline import Hole, Outline, Station

__all__ = ["Ends", "Pointed", "Side", "framed", "in_frame", "outline_from_contour", "proposed_ends"]


def outline_from_contour(
    shape: Polygon,
    *,
    tip_mm: Point | None = None,
    butt_mm: Point | None = None,
    heel_mm: Point | None = None,
    spine: Side | None = None,
    name: str,
    tolerance_mm: float = TOLERANCE_MM,
    round_mm: float | None = None,
) -> Outline:
    """Return a measured shape as an outline of lines and arcs in the outline frame.

    Parameters
    ----------
    shape : shapely.Polygon
        The steel, holes and all, mm, y up.
    tip_mm, butt_mm : tuple of float, optional
        Where its tip and its butt are; each is taken to the nearest place of the edge.
    heel_mm : tuple of float, optional
        Where the edge meets the plunge.
    spine : {"left", "right"}, optional
        On which side the spine is, looking from the butt at the tip; the side away from the heel
        if that is given. What is left out is proposed from the shape.
    name : str
        What to call the outline.
    tolerance_mm : float
        How far lines and arcs may lie from the shape, > 0.
    round_mm : float, optional
        How far the edge of a hole may stray from a circle and still be a round hole, > 0; the
        tolerance if None.

    Returns
    -------
    Outline
        Round holes are holes, others cutouts. Its stations are the
        tip, the heel (at the origin) and the butt.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of the shape, or the tolerance cannot be kept.
    """
    shape = orient(shape)
    chain = fitted_ring(ring_of(shape), tolerance_mm=tolerance_mm, claim_mm=tolerance_mm)
    holes, cutouts = _openings(shape, tolerance_mm, round_mm or tolerance_mm)
    outline = Outline(name=name, chain=chain, holes=holes, cutouts=cutouts)
    pointed = Pointed(tip_mm=tip_mm, butt_mm=butt_mm, heel_mm=heel_mm, spine=spine)
    return _moved(outline, parts_of(outline.polygon(), pointed), level=False)


def framed(
    outline: Outline,
    *,
    tip_mm: Point | None = None,
    butt_mm: Point | None = None,
    heel_mm: Point | None = None,
    spine: Side | None = None,
) -> Outline:
    """Return an outline moved into the outline frame, its lines and curves kept as they are.

    Parameters as in `outline_from_contour`, in the outline's frame as it is given. The heel comes
    to the origin, the tip toward x, y to the side of the spine: an outline whose spine is on the
    right is turned over. Where tip and butt are both given x points from the one to the other;
    else a drawing that lies level or upright is turned by quarter turns alone, so that an edge
    that was drawn level stays level.

    Raises
    ------
    InputError
        If tip and butt are not at two ends of the shape.
    """
    pointed = Pointed(tip_mm=tip_mm, butt_mm=butt_mm, heel_mm=heel_mm, spine=spine)
    both = tip_mm is not None and butt_mm is not None
    return _moved(outline, parts_of(outline.polygon(), pointed), level=not both)


def in_frame(outline: Outline) -> Outline:
    """Return an outline that names its tip and its butt as it is, any other as `framed`."""
    named = {station.name for station in outline.stations}
    return outline if {"tip", "butt"} <= named else framed(outline)


def _moved(outline: Outline, parts: Parts, *, level: bool) -> Outline:
    named = (("tip", parts.tip_mm), ("heel", parts.heel_mm), ("butt", parts.butt_mm))
    stations = tuple(Station(name=name, x_mm=x, y_mm=y) for name, (x, y) in named)
    others = tuple(s for s in outline.stations if s.name not in {name for name, _ in named})
    return replace(outline, stations=(*stations, *others)).moved(parts.pose(level=level))


def _openings(
    shape: Polygon, tolerance_mm: float, round_mm: float
) -> tuple[tuple[Hole, ...], tuple[Chain, ...]]:
    """Return the round holes of a shape, and the others as lines and arcs."""
    holes: list[Hole] = []
    cutouts: list[Chain] = []
    for ring in shape.interiors:
        points = shapely.get_coordinates(ring)[:-1]
        circle = circle_of(fitted_ring(points, tolerance_mm=round_mm, claim_mm=round_mm))
        if circle is None:
            chain = fitted_ring(points, tolerance_mm=tolerance_mm, claim_mm=tolerance_mm)
            cutouts.append(chain)
        else:
            (x, y), radius = circle
            holes.append(Hole(x_mm=x, y_mm=y, diameter_mm=2.0 * radius))
    return tuple(holes), tuple(cutouts)

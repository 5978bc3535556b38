"""The steel beside each hole, and where a change of the edge left too little of it."""

from __future__ import annotations

from dataclasses import dataclass

import shapely

from geometry.family.drawn_features import USUAL_WEB_MM, WEB_MM
from geometry.outline import Hole, Outline

FELT_MM = 0.01  # a web that got thinner by less is as it was


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinWeb:
    """A hole with less steel beside it than is usual: how much there is, and how much is, mm."""

    hole: Hole
    web_mm: float
    usual_mm: float


def thinned_webs(before: Outline, after: Outline) -> tuple[ThinWeb, ...]:
    """Return the holes that a change of the edge left with too little steel, the thinnest first.

    Parameters
    ----------
    before, after : Outline
        With the same holes. A hole that has less than is usual, but no less than before, is as
        its maker wanted it.
    """
    found = []
    for hole in after.holes:
        web_mm = _web_mm(after, hole)
        usual_mm = WEB_MM.get(hole.kind, USUAL_WEB_MM)
        if web_mm < usual_mm and web_mm < _web_mm(before, hole) - FELT_MM:
            found.append(ThinWeb(hole=hole, web_mm=web_mm, usual_mm=usual_mm))
    return tuple(sorted(found, key=lambda thin: thin.web_mm))


def _web_mm(outline: Outline, hole: Hole) -> float:
    """Return the steel between a hole and the edge, mm."""
    edge = shapely.LinearRing(outline.ring())
    return float(edge.distance(shapely.Point(hole.x_mm, hole.y_mm))) - hole.diameter_mm / 2

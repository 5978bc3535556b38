"""What of a drawing's lines is no part of its outline, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from app.files.strokes import Chords, LeftOut, Points, Stroke, lies_within
from geometry.curves import Chain

ALONG_MM = 0.02  # a line this near to the outline all along is its edge drawn a second time


@dataclass(frozen=True, slots=True, kw_only=True)
class Curved:
    """A loop as the curves that it was drawn with, and the strokes that it is made of."""

    points: Points
    chain: Chain
    made_of: set[int]
    label: str


def lines_left_out(
    lines: Sequence[Stroke], flat: Sequence[Chords], kept: Sequence[Curved], doubled: set[int]
) -> list[LeftOut]:
    """Return the lines that are no part of the outline, in words, each with its middle."""
    used = set[int]().union(*(loop.made_of for loop in kept))
    edges = shapely.union_all([shapely.LinearRing(loop.points) for loop in kept])
    inside = Polygon(kept[0].points)
    shapely.prepare(inside)
    left = []
    for number, (stroke, chords) in enumerate(zip(lines, flat, strict=True)):
        if number in used:
            continue
        points = chords.points
        spots = np.vstack([points, (points[1:] + points[:-1]) / 2])
        along = number in doubled or lies_within(spots, edges, ALONG_MM)
        off = spots if along else spots[~shapely.dwithin(edges, shapely.points(spots), ALONG_MM)]
        what = f"{stroke.what} drawn twice" if along else _place_in_words(stroke, off, inside)
        if stroke.closed and len(points) > 3 and Polygon(points).contains_properly(inside):
            what = f"closed {stroke.what} around the outline"
        x, y = ((points.min(axis=0) + points.max(axis=0)) / 2).tolist()
        left.append(LeftOut(what=what, at_mm=(x, y)))
    return left


def _place_in_words(stroke: Stroke, points: Points, inside: Polygon) -> str:
    """Return what a line is and where; ``points`` are those of it that are not on the edge."""
    there = shapely.contains_xy(inside, *points.T)
    place = "inside" if there.all() else "across the edge" if there.any() else "beside the outline"
    return f"{'closed' if stroke.closed else 'open'} {stroke.what} {place}"


def moved(left: Sequence[LeftOut], by: Points) -> tuple[LeftOut, ...]:
    """Return things that were left out, their places moved."""
    dx, dy = by.tolist()
    return tuple(
        thing
        if thing.at_mm is None
        else LeftOut(what=thing.what, at_mm=(thing.at_mm[0] + dx, thing.at_mm[1] + dy))
        for thing in left
    )

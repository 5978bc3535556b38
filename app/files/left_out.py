"""What of a drawing's lines is no part of its outline, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from app.files.strokes import Chords, LeftOut, Points, Stroke
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
    left = [number for number in range(len(lines)) if number not in used]
    if not left:
        return []
    edges = shapely.union_all([shapely.LinearRing(loop.points) for loop in kept])
    inside = Polygon(kept[0].points)
    spots = [_spots(flat[number].points) for number in left]
    upto = np.cumsum([len(points) for points in spots])
    together = np.concatenate(spots)
    shapely.prepare([edges, inside])
    on_edge = shapely.dwithin(edges, shapely.points(together), ALONG_MM)
    in_edge = shapely.contains_xy(inside, *together.T)
    told = []
    for number, on, there in zip(
        left, np.split(on_edge, upto[:-1]), np.split(in_edge, upto[:-1]), strict=True
    ):
        stroke, points = lines[number], flat[number].points
        along = number in doubled or bool(on.all())
        what = f"{stroke.what} drawn twice" if along else _place_in_words(stroke, there[~on])
        if stroke.closed and _is_around(points, inside):
            what = f"closed {stroke.what} around the outline"
        x, y = ((points.min(axis=0) + points.max(axis=0)) / 2).tolist()
        told.append(LeftOut(what=what, at_mm=(x, y)))
    return told


def _spots(points: Points) -> Points:
    """Return a line's points and the middles between them."""
    return np.vstack([points, (points[1:] + points[:-1]) / 2])


def _is_around(points: Points, inside: Polygon) -> bool:
    """Return whether a closed line of (N, 2) points lies all round a shape."""
    x0, y0, x1, y1 = inside.bounds
    if len(points) < 4 or (points.min(axis=0) > (x0, y0)).any():
        return False
    return bool((points.max(axis=0) >= (x1, y1)).all()) and bool(
        Polygon(points).contains_properly(inside)
    )


def _place_in_words(stroke: Stroke, inside: NDArray[np.bool_]) -> str:
    """Return what a line is and where, by which of its spots off the edge are inside."""
    place = (
        "inside" if inside.all() else "across the edge" if inside.any() else "beside the outline"
    )
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

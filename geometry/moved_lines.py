"""Which lines of an outline move from one state of it to another, and where most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from geometry.curves import Point, flatten_chain
from geometry.outline import Outline

CHORD_MM = 0.005  # of lines that are compared
FELT_MM = 0.02  # what moves by less is as it was


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedLines:
    """What moved: its lines where they are after, and the place that moved most, mm."""

    lines_mm: tuple[tuple[Point, ...], ...]
    start_mm: Point
    end_mm: Point


def moved_lines(before: Outline, after: Outline) -> MovedLines | None:
    """Return what of an outline lies elsewhere after a change; None if nothing does.

    Parameters
    ----------
    before, after : Outline
        Their edges, holes, cutouts and marks are compared as drawn lines, so that it does not
        matter which nodes or measures either was made of.

    Returns
    -------
    MovedLines or None
        The lines of `after` farther than `FELT_MM` from any line of `before`, or where lines only
        went, those; of all their vertices the farthest, and its nearest place before.
    """
    old, new = _lines(before), _lines(after)
    moved = _beyond(new, old)
    if moved.is_empty:
        old, moved = new, _beyond(old, new)
    if moved.is_empty:
        return None
    points = shapely.get_coordinates(moved.segmentize(1.0))
    shapely.prepare(old)
    end = points[int(np.argmax(shapely.distance(old, shapely.points(points))))]
    [start, _] = shapely.get_coordinates(shapely.shortest_line(old, shapely.Point(end)))
    parts = shapely.get_parts(moved)
    return MovedLines(
        lines_mm=tuple(
            tuple((x, y) for x, y in shapely.get_coordinates(part).tolist()) for part in parts
        ),
        start_mm=(float(start[0]), float(start[1])),
        end_mm=(float(end[0]), float(end[1])),
    )


def _beyond(some: BaseGeometry, others: BaseGeometry) -> BaseGeometry:
    """Return the parts of some lines that are not on others."""
    return shapely.line_merge(some.difference(others.buffer(FELT_MM, quad_segs=2)))


def _lines(outline: Outline) -> BaseGeometry:
    rings = [outline.ring(CHORD_MM), *(hole.ring(CHORD_MM) for hole in outline.holes)]
    rings += [flatten_chain(cutout, CHORD_MM) for cutout in outline.cutouts]
    closed = [np.vstack([ring, ring[:1]]) for ring in rings]
    marks = [np.array(mark.points_mm) for mark in outline.marks if len(mark.points_mm) > 1]
    return shapely.union_all([shapely.LineString(line) for line in (*closed, *marks)])

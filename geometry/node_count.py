"""Nodes added to an outline's edge and taken from it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.along import Along, parameters
from geometry.arc_fit import strayed_mm
from geometry.cubic_fit import fitted_cubic
from geometry.curves import Arc, Chain, Cubic, Line, Point, Segment, flatten_chain
from geometry.edge_features import ON_EDGE_MM, SAME_MM, features_carried, nearest_place
from geometry.errors import InputError
from geometry.node_edit import is_smooth
from geometry.outline import Outline

LEAST_PART_MM = 0.2  # a piece shorter than this could not be taken hold of
LEAST_NODES = 3
MOST_ARC_RAD = 1.75 * math.pi  # one that is nearly round says badly where its middle is
SAMPLES = 60  # on each of two pieces that become one
PROOF_MM = 1e-3  # how finely a change is measured


def with_node_added(outline: Outline, place: Point) -> tuple[Outline, Point]:
    """Return an outline with one more node, and where it is: on the edge nearest a place.

    The edge stays as it is; the piece there is parted.

    Raises
    ------
    InputError
        If there is a node already.
    """
    chain = outline.chain
    along = Along(chain)
    at_mm = along.place_mm(place)
    starts = np.cumsum([0.0, *(piece.length_mm for piece in chain)])
    index = min(int(np.searchsorted(starts, at_mm, side="right")) - 1, len(chain) - 1)
    piece = chain[index]
    from_start = at_mm - float(starts[index])
    if min(from_start, piece.length_mm - from_start) < LEAST_PART_MM:
        raise InputError(
            "there is a point already.", where="Edge", remedy="Add one between two points."
        )
    first, second = parted(piece, float(parameters(piece, np.array([from_start]))[0]))
    parts = (*chain[:index], first, second, *chain[index + 1 :])
    return replace(outline, chain=parts), second.start


def parted(segment: Segment, t: float) -> tuple[Segment, Segment]:
    """Return a piece as two, parted at a parameter; together they are the same curve.

    Notes
    -----
    A cubic by de Casteljau's construction.

    Examples
    --------
    >>> first, second = parted(Line(start=(0.0, 0.0), end=(8.0, 0.0)), 0.25)
    >>> first.end == second.start == (2.0, 0.0)
    True
    """
    if isinstance(segment, Cubic):
        return _parted_cubic(segment, t)
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment.start, segment.end
        middle = (x0 + t * (x1 - x0), y0 + t * (y1 - y0))
        return Line(start=segment.start, end=middle), Line(start=middle, end=segment.end)
    sweep = t * segment.sweep_rad
    cx, cy = segment.centre
    spoke = complex(segment.start[0] - cx, segment.start[1] - cy)
    spoke *= complex(math.cos(sweep), math.sin(sweep))
    middle = (cx + spoke.real, cy + spoke.imag)
    return (
        Arc(start=segment.start, end=middle, sweep_rad=sweep),
        Arc(start=middle, end=segment.end, sweep_rad=segment.sweep_rad - sweep),
    )


def _parted_cubic(cubic: Cubic, t: float) -> tuple[Cubic, Cubic]:
    p, q, r, s = (np.array(c) for c in cubic.controls)
    a, b, c = (u + t * (v - u) for u, v in ((p, q), (q, r), (r, s)))
    d, e = a + t * (b - a), b + t * (c - b)
    middle = _point(d + t * (e - d))
    return (
        Cubic(start=cubic.start, control1=_point(a), control2=_point(d), end=middle),
        Cubic(start=middle, control1=_point(e), control2=_point(c), end=cubic.end),
    )


def with_node_removed(outline: Outline, index: int) -> tuple[Outline, float]:
    """Return an outline with one node less, and how far its edge moved by that, mm.

    The two pieces at the node become one, from end to end as near to them as can be. Its
    directions at both ends are theirs, so that smooth joints stay smooth; two lines between
    corners become one line. What lies on them goes along to the nearest place.

    Raises
    ------
    InputError
        If too few nodes would be left, or the edge would cross itself or run through a hole.
    """
    chain = outline.chain
    if len(chain) <= LEAST_NODES:
        raise InputError(
            f"an edge needs {LEAST_NODES} points at least.", where="Edge", remedy="Keep this one."
        )
    before, after = chain[index - 1], chain[index]
    one = _joined(chain, index)
    inside = (*chain[: index - 1], one, *chain[index + 1 :])
    parts = inside if index else (*chain[1:-1], one)
    changed = Along((before, after))

    def follow(point: Point) -> Point | None:
        on = changed.at([changed.place_mm(point)])[0][0]
        near = math.dist(on, point) <= ON_EDGE_MM
        inner = all(math.dist(end, point) > SAME_MM for end in (before.start, after.end))
        return nearest_place((one,), point) if near and inner else None

    made = features_carried(outline, parts, follow)
    made.polygon()
    moved_mm, _ = strayed_mm(parts, flatten_chain(chain, PROOF_MM))
    return made, moved_mm


def _joined(chain: Chain, index: int) -> Segment:
    """Return what the two pieces at a node become without it."""
    before, after = chain[index - 1], chain[index]
    straight = isinstance(before, Line) and isinstance(after, Line)
    corners = not is_smooth(chain[index - 2], before) and not is_smooth(
        after, chain[(index + 1) % len(chain)]
    )
    if straight and (corners or is_smooth(before, after)):
        return Line(start=before.start, end=after.end)
    if isinstance(before, Arc) and isinstance(after, Arc) and _same_circle(before, after):
        sweep = before.sweep_rad + after.sweep_rad
        return Arc(start=before.start, end=after.end, sweep_rad=sweep)
    if isinstance(before, Cubic) and isinstance(after, Cubic):
        whole = _unparted(before, after)
        if whole is not None:
            return whole
    along = Along((before, after))
    points, _ = along.at(np.linspace(0.0, along.length_mm, 2 * SAMPLES + 1))
    points[0], points[-1] = before.start, after.end
    return fitted_cubic(points, before.start_direction, after.end_direction)[0]


def _unparted(first: Cubic, second: Cubic) -> Cubic | None:
    """Return the cubic that two are the parts of; None where they are not."""
    reach = math.dist(first.control2, first.end), math.dist(second.start, second.control1)
    if min(reach) <= 0.0:
        return None
    t = reach[0] / sum(reach)
    start, end = np.array(first.start), np.array(second.end)
    whole = Cubic(
        start=first.start,
        control1=_point(start + (first.control1 - start) / t),
        control2=_point(end + (second.control2 - end) / (1 - t)),
        end=second.end,
    )
    pairs = zip((first, second), _parted_cubic(whole, t), strict=True)
    off = max(float(np.abs(one.controls - part.controls).max()) for one, part in pairs)
    return whole if off <= PROOF_MM else None


def _same_circle(one: Arc, other: Arc) -> bool:
    together = abs(one.sweep_rad + other.sweep_rad)
    return (
        is_smooth(one, other)
        and one.sweep_rad * other.sweep_rad > 0
        and together < MOST_ARC_RAD
        and abs(one.radius_mm - other.radius_mm) <= PROOF_MM
    )


def _point(place: NDArray[np.float64]) -> Point:
    return float(place[0]), float(place[1])

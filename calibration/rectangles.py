"""A drawn rectangle of known sides, found among the strokes or pointed at."""

from __future__ import annotations

import itertools
import math

import numpy as np
from numpy.typing import NDArray

from calibration.adjustment import adjust, start_cost
from calibration.desk import Desk
from calibration.errors import PhotoError
from calibration.ink import Ink
from calibration.matched import Matched
from calibration.matching import snapped_stroke
from calibration.profiles import crossing, line_through
from calibration.references import RectangleReference
from calibration.seen import PlacesSeen
from calibration.sheet_edges import from_lower_left
from calibration.sheet_map import SheetMap
from calibration.starts import box
from calibration.stroke_fit import Stroke
from calibration.strokes import Candidate

Points = NDArray[np.float64]

RECTANGLE_ROUGH_PX = 1.5  # sides drawn along a straightedge are smoother
FAR = 100.0  # times the squared differences of the other way round, at once: not worth adjusting


def match_rectangle(desk: Desk, reference: RectangleReference, rough: SheetMap | None) -> Matched:
    """Return a drawn rectangle with its sides the way round that fits best.

    Raises
    ------
    PhotoError
        If no four strokes close to a rectangle.
    """
    corners = _found(desk.ink, reference, desk.candidates, rough)
    one, other = reference.width_mm, reference.height_mm
    ways = [
        Matched(
            reference=reference,
            figures=(PlacesSeen(points_px=corners, places_mm=box((0.0, 0.0), size)),),
        )
        for size in ((one, other), (other, one))
    ]
    if rough is None:
        first = [start_cost(desk.seen([way])) for way in ways]
        likely = [way for way, cost in zip(ways, first, strict=True) if cost <= FAR * min(first)]
        if len(likely) == 1:
            return likely[0]
        return min(likely, key=lambda way: adjust(desk.seen([way])).cost)
    placed = rough.to_mm(corners)
    along = math.dist(placed[0], placed[1]) + math.dist(placed[3], placed[2])
    up = math.dist(placed[1], placed[2]) + math.dist(placed[0], placed[3])
    return ways[(along >= up) != (one >= other)]


def _found(
    ink: Ink,
    reference: RectangleReference,
    candidates: tuple[Candidate, ...],
    shape: SheetMap | None,
) -> Points:
    """Return the four corners (ll, lr, ur, ul as seen) of a drawn rectangle, px."""
    if reference.corners_px is not None:
        corners = from_lower_left(np.array(reference.corners_px))
        sides = [snapped_stroke(ink, corners[[k, (k + 1) % 4]]) for k in range(4)]
        whole = [side for side in sides if side is not None]
        return _corners_of(whole) if len(whole) == 4 else corners
    strokes = [c.stroke for c in candidates if c.stroke.rough_px < RECTANGLE_ROUGH_PX][:14]
    found: list[tuple[float, Points]] = []
    for four in itertools.combinations(strokes, 4):
        loop = _loop(four)
        if loop is not None:
            misfit = _shape_misfit(loop, reference, shape)
            found.append((misfit + 0.2 * sum(s.rough_px / s.width_px for s in four), loop))
    if not found or min(f[0] for f in found) > 0.25:
        raise PhotoError(
            "no drawn rectangle of that shape found.",
            where="Reference rectangle",
            remedy="Draw its four sides with a straightedge so that they meet at the corners.",
        )
    return min(found, key=lambda f: f[0])[1]


def _loop(four: tuple[Stroke, ...]) -> Points | None:
    """Return the corners of four strokes that close end to end, None if they do not."""
    first, rest = four[0], four[1:]
    for a, b, c in itertools.permutations(rest):
        if four.index(a) > four.index(c):
            continue  # the same loop the other way round
        sides = [first, a, b, c]
        if all(_meet(sides[k], sides[(k + 1) % 4]) for k in range(4)):
            return _corners_of(sides)
    return None


def _meet(one: Stroke, other: Stroke) -> bool:
    gaps = [math.dist(p, q) for p in one.ends_px for q in other.ends_px]
    return min(gaps) < 2.0 * (one.width_px + other.width_px) + 4.0


def _corners_of(sides: list[Stroke]) -> Points:
    """Return the crossings of neighbouring sides' centrelines, from lower left on."""
    lines = [line_through(np.array(side.ends_px)) for side in sides]
    corners = np.array([crossing(lines[k - 1], lines[k]) for k in range(4)])
    return from_lower_left(corners)


def _shape_misfit(corners: Points, reference: RectangleReference, shape: SheetMap | None) -> float:
    """Return how far the ratio of the sides is from the asked one, as a logarithm."""
    placed = corners if shape is None else shape.to_mm(corners)
    sides = np.hypot(*(np.roll(placed, -1, axis=0) - placed).T)
    along, up = 0.5 * (sides[0] + sides[2]), 0.5 * (sides[1] + sides[3])
    asked = math.log(reference.width_mm / reference.height_mm)
    return min(abs(math.log(along / up) - asked), abs(math.log(along / up) + asked))

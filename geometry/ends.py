"""Where a shape has its tip, butt and heel, and on which side of it the spine is.

A measured piece, or a drawing from elsewhere, does not say. What is proposed here follows from the
shape alone, so that the same shape always gets the same answer; a person may say otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.polygon import orient

from geometry.curves import Point

Side: TypeAlias = Literal["left", "right"]
Floats: TypeAlias = NDArray[np.float64]

END_SHARE = 0.04  # of the length: the part of an end that tells how pointed it is
STEP_SHARE = 0.001  # of the length: how finely the edge is walked
REACH_STEPS = 6  # of a chord before and behind a place: 1.2 mm on a knife of 200 mm
TURN_RAD = math.radians(35)  # a heel or a notch turns more; a belly, over so short a way, less
WIDE_STEPS = 30  # likewise, where a gentle hollow shows: 6 mm on a knife of 200 mm
HOLLOW_RAD = math.radians(15)  # what is hollow by so much over that way is meant to be
CLEARER = 1.5  # times as hollow as the other side: a hammered spine waves, too
STEP_TURN = 0.4  # of a hollow's turn in the short way: then it is a step
HEEL_FIRST, HEEL_LAST = 0.25, 0.75  # of the length, from the tip: where a heel may be
HEEL_USUAL = 0.45  # of the length, from the tip: where it is put when no corner shows it
SHOULDER_SHARE = 0.06  # of the length, from a tang's shoulders: where both widths are compared
NARROWER = 0.8  # of the width on the other side of its shoulders: a tang is narrower
ALIKE = 0.02  # of the length, or of the blade's area: a difference that tells nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """The tip and the butt of a shape, both on its edge, mm."""

    tip_mm: Point
    butt_mm: Point

    def sides(self, shape: Polygon) -> dict[Side, Floats]:
        """Return both ways along the edge from tip to butt, as seen looking at the tip.

        Each is (N, 2) points in mm, evenly spaced, with the butt at the origin and x toward the
        tip; the left one has the greater y.
        """
        edge = shapely.LinearRing(ring_of(shape))
        step = STEP_SHARE * math.dist(self.tip_mm, self.butt_mm)
        tip, butt = (edge.project(shapely.Point(p)) for p in (self.tip_mm, self.butt_mm))
        left = np.arange(0.0, (butt - tip) % edge.length, step)
        right = np.arange(0.0, (tip - butt) % edge.length, step)
        return {
            "left": self._turned(edge, (tip + left) % edge.length),
            "right": self._turned(edge, (tip - right) % edge.length),
        }

    def _turned(self, edge: shapely.LinearRing, reached: Floats) -> Floats:
        points = shapely.get_coordinates(shapely.line_interpolate_point(edge, reached))
        return (points - self.butt_mm) @ _axes(self.butt_mm, self.tip_mm).T


def ring_of(shape: Polygon) -> Floats:
    """Return a polygon's edge as (N, 2) points, counter-clockwise, the first not repeated."""
    return shapely.get_coordinates(orient(shape).exterior)[:-1]


def proposed_ends(shape: Polygon) -> Ends:
    """Return the two far ends of a shape, the more pointed one as the tip.

    Parameters
    ----------
    shape : shapely.Polygon
        A profile, mm; its holes do not matter.

    Notes
    -----
    The ends are those of the long axis of the least rectangle round the shape. More pointed is
    the one with less steel in the last 4 % of the length. Where both sides have a corner at one
    place, those are a tang's shoulders, and the tip is on the wider side of them. The butt is the
    middle of its end.

    Examples
    --------
    >>> ends = proposed_ends(Polygon([(0, 0), (150, 0), (200, 20), (150, 25), (0, 25)]))
    >>> ends.tip_mm, ends.butt_mm
    ((200.0, 20.0), (0.0, 12.5))
    """
    ring = ring_of(shape)
    axes = _long_axes(ring)
    ahead, behind = steel_at_ends(shape)
    if ahead > behind:
        axes = -axes
    ends = _ends_along(ring, axes)
    return _ends_along(ring, -axes) if is_tang_ahead(shape, ends) else ends


def steel_at_ends(shape: Polygon) -> tuple[float, float]:
    """Return the steel in the last 4 % of a shape at both its far ends, mm2."""
    ring = ring_of(shape)
    turned = ring @ _long_axes(ring).T
    return _steel_at_end(turned), _steel_at_end(-turned)


def _ends_along(ring: Floats, axes: Floats) -> Ends:
    """Return the ends of a ring whose tip is toward the first axis."""
    butt = _middle_of_end(ring @ axes.T) @ axes
    tip = ring[int(np.hypot(*(ring - butt).T).argmax())]
    return Ends(tip_mm=_point(tip), butt_mm=_point(butt))


def is_tang_ahead(shape: Polygon, ends: Ends) -> bool:
    """Return whether what is taken for the blade is the narrow side of two shoulders."""
    left, right = ends.sides(shape).values()
    corners = _corner(left), _corner(right)
    if corners[0] is None or corners[1] is None:
        return False
    (x0, x1), length = (left[corners[0], 0], right[corners[1], 0]), left[0, 0]
    if abs(x0 - x1) > ALIKE * length:
        return False
    ahead, behind = (
        _width_at(left, right, (x0 + x1) / 2 + side * SHOULDER_SHARE * length) for side in (1, -1)
    )
    return ahead < NARROWER * behind


def _width_at(left: Floats, right: Floats, x: float) -> float:
    """Return how wide a shape is at a place of its length, mm."""
    over, under = (side[np.abs(side[:, 0] - x).argmin(), 1] for side in (left, right))
    return float(over - under)


def proposed_spine(shape: Polygon, ends: Ends) -> Side:
    """Return on which side the spine is, looking from the butt at the tip.

    The edge is where a heel or a notch turns sharply in the middle of the length, on both sides
    the one nearer the tip: a tang's shoulders lie behind it. Where that does not tell, it is the
    side that alone has a hollow there: a gentle notch, a shoulder, a place for the finger. Else it
    is the side of the blade with more steel beside the line from butt to tip, where the belly is;
    and when that is alike, the right.
    """
    left, right = ends.sides(shape).values()
    if corner_leads(shape, ends):
        return "right" if _corner_mm(left) > _corner_mm(right) else "left"
    hollows = _hollow_rad(left, "left"), _hollow_rad(right, "right")
    if _leads(*hollows):
        return "right" if hollows[0] > hollows[1] else "left"
    more = _beside(left) - _beside(right)
    return "right" if more > ALIKE * (_beside(left) + _beside(right)) else "left"


def edge_shows(shape: Polygon, ends: Ends) -> bool:
    """Return whether a corner or a hollow of one side tells the edge from the spine."""
    left, right = ends.sides(shape).values()
    return corner_leads(shape, ends) or _leads(
        _hollow_rad(left, "left"), _hollow_rad(right, "right")
    )


def _hollow_rad(walk: Floats, side: Side) -> float:
    """Return how far one side turns inward where a heel may be, over a few per cent of it."""
    return float(_inward(walk, side, WIDE_STEPS).max(initial=0.0))


def _leads(one: float, other: float) -> bool:
    less, more = sorted((one, other))
    return more >= HOLLOW_RAD and more > CLEARER * less


def corner_leads(shape: Polygon, ends: Ends) -> bool:
    """Return whether a corner of one side lies ahead of the other's, and so tells the edge."""
    left, right = ends.sides(shape).values()
    ahead = abs(_corner_mm(left) - _corner_mm(right))
    return ahead > ALIKE * math.dist(ends.tip_mm, ends.butt_mm)


def has_heel_corner(shape: Polygon, ends: Ends, spine: Side) -> bool:
    """Return whether the edge turns sharply where a heel may be."""
    return _corner(ends.sides(shape)["right" if spine == "left" else "left"]) is not None


def proposed_heel(shape: Polygon, ends: Ends, spine: Side) -> Point:
    """Return where the edge ends: its first sharp turn from the tip, or the usual place.

    Without a sharp turn it is before a marked hollow, such as a shoulder that was hammered.
    """
    side: Side = "right" if spine == "left" else "left"
    walk = ends.sides(shape)[side]
    corner = _corner(walk)
    if corner is None:
        corner = _before_hollow(walk, side)
    if corner is None:
        reached = walk[0, 0] * (1.0 - HEEL_USUAL)
        corner = int(np.abs(walk[:, 0] - reached).argmin())
    place = walk[corner] @ _axes(ends.butt_mm, ends.tip_mm) + ends.butt_mm
    ring = ring_of(shape)
    off = np.hypot(*(ring - place).T)
    step = STEP_SHARE * math.dist(ends.tip_mm, ends.butt_mm)
    return _point(ring[int(off.argmin())] if off.min() <= step else place)


def _inward(walk: Floats, side: Side, reach: int) -> Floats:
    """Return how far a side turns inward at each place, rad; 0 where no heel may be."""
    if len(walk) <= 2 * reach:
        return np.zeros(len(walk))
    way = walk[:, 0] + 1j * walk[:, 1]
    before, after = way[reach:-reach] - way[: -2 * reach], way[2 * reach :] - way[reach:-reach]
    turn = np.zeros(len(walk))
    turn[reach:-reach] = np.angle(after / before) * (1 if side == "right" else -1)
    from_tip = 1.0 - walk[:, 0] / walk[0, 0]
    turn[(from_tip < HEEL_FIRST) | (from_tip > HEEL_LAST)] = 0.0
    return turn


def _before_hollow(walk: Floats, side: Side) -> int | None:
    """Return where a side turns out most right before its hollow; None where that is no step.

    A place for the finger is as hollow, and turns gently all along.
    """
    wide, close = _inward(walk, side, WIDE_STEPS), _inward(walk, side, REACH_STEPS)
    hollow = int(wide.argmax())
    near = slice(max(hollow - 2 * WIDE_STEPS, 0), hollow + 1)
    if wide[hollow] < HOLLOW_RAD or close[near].max() < STEP_TURN * wide[hollow]:
        return None
    return near.start + int(close[near].argmin())


def _corner(walk: Floats) -> int | None:
    """Return the first place from the tip where the edge turns sharply, where a heel may be."""
    k = REACH_STEPS
    if len(walk) <= 2 * k:
        return None
    way = walk[:, 0] + 1j * walk[:, 1]
    turn = np.zeros(len(walk))
    turn[k:-k] = np.abs(np.angle((way[2 * k :] - way[k:-k]) / (way[k:-k] - way[: -2 * k])))
    from_tip = 1.0 - walk[:, 0] / walk[0, 0]
    turn[(from_tip < HEEL_FIRST) | (from_tip > HEEL_LAST)] = 0.0
    sharp = turn >= TURN_RAD
    if not sharp.any():
        return None
    first = int(sharp.argmax())
    gentle = ~sharp[first:]
    last = first + int(gentle.argmax()) if gentle.any() else len(walk)
    return first + int(turn[first:last].argmax())


def _corner_mm(walk: Floats) -> float:
    """Return how far ahead of the butt one side turns sharply, mm; 0 when it does not."""
    corner = _corner(walk)
    return 0.0 if corner is None else float(walk[corner, 0])


def _beside(walk: Floats) -> float:
    """Return the area between the blade's part of one side and the line from butt to tip, mm2."""
    blade = walk[walk[:, 0] > walk[0, 0] * (1.0 - HEEL_USUAL)]
    return float(np.abs(np.trapezoid(blade[:, 1], blade[:, 0])))


def _axes(start: Point, end: Point) -> Floats:
    """Return the rows that turn a direction from start to end into x."""
    x, y = (np.array(end) - start) / math.dist(start, end)
    return np.array([[x, y], [-y, x]])


def _long_axes(ring: Floats) -> Floats:
    """Return the rows that turn a ring so that the least rectangle round it lies along x."""
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.MultiPoint(ring)))
    first, second, third = (_point(corner) for corner in box[:3])
    if math.dist(first, second) >= math.dist(second, third):
        return _axes(first, second)
    return _axes(second, third)


def _steel_at_end(turned: Floats) -> float:
    """Return the area in the last part of a ring that lies along x, at its greater x, mm2."""
    (x0, y0), (x1, y1) = turned.min(axis=0), turned.max(axis=0)
    end = shapely.box(x1 - END_SHARE * (x1 - x0), y0, x1, y1)
    return float(Polygon(turned).intersection(end).area)


def _middle_of_end(turned: Floats) -> Floats:
    """Return the place of the edge at its least x, midway across its last part."""
    x0, x1 = turned[:, 0].min(), turned[:, 0].max()
    last = turned[turned[:, 0] <= x0 + END_SHARE * (x1 - x0)]
    across = (last[:, 1].min() + last[:, 1].max()) / 2.0
    level = shapely.LineString([(x0 - 1.0, across), (x1 + 1.0, across)])
    met = shapely.get_coordinates(shapely.LinearRing(turned).intersection(level))
    first: Floats = met[met[:, 0].argmin()]
    return first


def _point(point: Floats) -> Point:
    return float(point[0]), float(point[1])

"""How large a wheel follows an edge that is drawn as chords, or as arcs that do not quite meet.

Such an edge stands for a smooth curve; its own corners say nothing.  A wheel follows it at a place
where, pressed on from outside until it meets the steel beside the place, it comes within a tenth of
a millimetre of it.  The largest that does is the radius of the edge there: a hollow of chords gets
the radius of the curve that they stand for, and a corner that turns little a large one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from geometry.along import motion
from geometry.curves import Chain, Line, Point, Segment
from geometry.outline import Outline

Floats: TypeAlias = NDArray[np.float64]
Hollow: TypeAlias = tuple[float, Point]  # its radius, mm, and its tightest place

NEAR_MM = 0.1  # what a wheel may leave: no more than a belt grinder's hand is sure of (practice)
LEAST_NEAR_MM = 0.01  # nor less, where chords lie closer to their curve than that
SAGS = 1.5  # of the chords' own distance from their curve: they are not all alike
SOFT_RAD = math.radians(40)  # a joint that turns more is a corner: a circle has nine chords
CORNER_RAD = math.radians(30)  # beside long sides: no wheel of 6 mm comes near
ALONE = 0.9  # of the radius that such a corner has by itself: it is part of no curve
SHARP_MM = NEAR_MM / (math.sqrt(2) - 1)  # what comes near a sharp right-angled corner
STRAIGHT_MM = 500.0  # a rounder hollow is straight for every wheel: twice the usual largest
EDGE_STEP_MM, EDGE_CHORD_MM = 0.5, 0.005  # the edge that a wheel meets
PLACES_MM = 2.0  # between the places of a piece that are looked at
FAN_RAD = math.radians(60)  # aside of straight out: where the middle of a wheel may be
FAN, ROUNDS = 13, 3  # directions that are tried, each time six times closer
APART = 1.5  # two hollows are two where the edge is so much rounder between them


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of the edge, mm, and which way leads straight out of the steel.

    The edge turns there by `turn_rad`, and is told no better than to `near_mm`.
    """

    at: Point
    out: Point
    near_mm: float
    turn_rad: float = 0.0


def rough_pieces(chain: Chain, turns_rad: Sequence[float], smooth_rad: float) -> list[bool]:
    """Return which pieces of an edge stand for a curve: they meet at joints that turn little.

    Parameters
    ----------
    chain : tuple of segments
        The closed edge.
    turns_rad : sequence of float
        How far it turns at each piece's start.
    smooth_rad : float
        A joint that turns less is smooth. Lines alone may meet like that and be chords.
    """
    soft = [smooth_rad < abs(turn) <= SOFT_RAD for turn in turns_rad]
    ends = zip(chain, soft, [*soft[1:], *soft[:1]], strict=True)
    return [any(soft) and (isinstance(piece, Line) or a or b) for piece, a, b in ends]


def rough_hollows(
    outline: Outline, turns_rad: Sequence[float], rough: Sequence[bool]
) -> list[Hollow]:
    """Return the hollows of some pieces: the largest radius that follows each, mm, and where.

    Parameters
    ----------
    outline : Outline
    turns_rad : sequence of float
        How far its edge turns at each piece's start.
    rough : sequence of bool
        Which pieces are looked at.
    """
    if not any(rough):
        return []
    ring = shapely.segmentize(shapely.LinearRing(outline.ring(EDGE_CHORD_MM)), EDGE_STEP_MM)
    edge = shapely.get_coordinates(ring)[:-1]
    found: list[Hollow] = []
    for run in _runs(turns_rad, rough):
        if len(run) == 1:
            continue  # a straight side
        places = _places(run, outline.chain, turns_rad)
        radii = [followed_mm(place, edge) for place in places]
        ends = turns_rad[run[0]], turns_rad[(run[-1] + 1) % len(rough)]
        free = [turn > SOFT_RAD for turn in ends]  # what goes on hollow there is told by itself
        tightest = _tightest(radii, *free)
        found += [(_told_mm(radii[i], places[i]), places[i].at) for i in tightest]
    return found


def _told_mm(radius_mm: float, place: Place) -> float:
    """Return the radius of a hollow; 0 where it is one corner and no curve."""
    alone_mm = place.near_mm / (1 / math.cos(place.turn_rad / 2) - 1 or 1e-9)
    is_corner = -place.turn_rad > CORNER_RAD and radius_mm > ALONE * alone_mm
    return 0.0 if is_corner or radius_mm < SHARP_MM else radius_mm


def followed_mm(place: Place, edge: Floats) -> float:
    """Return the radius of the largest disc outside that comes near a place of an edge.

    Parameters
    ----------
    place : Place
    edge : ndarray, (N, 2)
        The whole edge, mm, in small steps.

    Returns
    -------
    float
        Not more than `STRAIGHT_MM`.
    """
    away, near = edge - place.at, place.near_mm
    squares = (away**2).sum(axis=1) + near**2
    middle, reach, best = math.atan2(place.out[1], place.out[0]), 0.0, 0.0
    for fan in (1, *[FAN] * ROUNDS):
        angles = middle + np.linspace(-reach, reach, fan)
        along = np.array([np.cos(angles), np.sin(angles)]).T @ away.T
        # A disc that touches the place lifted by `near` has this radius when it meets another.
        lifted = squares - 2 * near * along
        radii = (lifted / np.maximum(2 * (along - near), lifted / STRAIGHT_MM)).min(axis=1)
        most = int(radii.argmax())
        best, middle = max(best, float(radii[most])), float(angles[most])
        reach = 2 * reach / (fan - 1) if reach else FAN_RAD
        if best >= STRAIGHT_MM:
            break
    return best


def _runs(turns_rad: Sequence[float], rough: Sequence[bool]) -> list[list[int]]:
    """Return the rough pieces by stretches between corners, in their order along the edge."""
    goes_on = [
        rough[i - 1] and rough[i] and abs(turn) <= SOFT_RAD for i, turn in enumerate(turns_rad)
    ]
    most = int(np.argmax(turns_rad))  # a hollow ends there, if nowhere else
    first = next((i for i, on in enumerate(goes_on) if not on), most)
    runs: list[list[int]] = []
    for i in (*range(first, len(rough)), *range(first)):
        if rough[i] and goes_on[i] and runs:
            runs[-1].append(i)
        elif rough[i]:
            runs.append([i])
    return runs


def _places(run: Sequence[int], chain: Chain, turns_rad: Sequence[float]) -> list[Place]:
    """Return the places of a stretch that are looked at."""
    joints = [_at_joint(chain[i], chain[j], turns_rad[j]) for i, j in pairwise(run)]
    near = [joint.near_mm for joint in joints]
    pieces = zip(run, [near[0], *near], [*near, near[-1]], [*joints, None], strict=True)
    places: list[Place] = []
    for i, before, after, joint in pieces:
        places += _on_piece(chain[i], max(before, after))
        places += [joint] if joint else []
    return places


def _at_joint(before: Segment, after: Segment, turn_rad: float) -> Place:
    (ux, uy), (vx, vy) = before.end_direction, after.start_direction
    near = NEAR_MM
    if isinstance(before, Line) and isinstance(after, Line):
        sag = abs(turn_rad) * max(before.length_mm, after.length_mm) / 8
        near = min(max(SAGS * sag, LEAST_NEAR_MM), NEAR_MM)
    return Place(at=after.start, out=(uy + vy, -ux - vx), near_mm=near, turn_rad=turn_rad)


def _on_piece(piece: Segment, near_mm: float) -> list[Place]:
    count = math.ceil(piece.length_mm / PLACES_MM)
    points, ways = motion(piece, (np.arange(count) + 0.5) / count)
    return [
        Place(at=(x, y), out=(wy, -wx), near_mm=near_mm)
        for (x, y), (wx, wy) in zip(points.tolist(), ways.tolist(), strict=True)
    ]


def _tightest(radii: Sequence[float], starts_free: bool, ends_free: bool) -> list[int]:
    """Return which places of a stretch are tighter than what is round them.

    Beyond a free end it is straight.

    Examples
    --------
    >>> _tightest([9.0, 500.0, 20.0, 21.0, 500.0, 60.0, 50.0, 80.0], True, False)
    [0, 2, 6]
    """
    found: list[int] = []
    most = STRAIGHT_MM if starts_free else 0.0  # the roundest place since the last hollow
    tight: int | None = None  # the tightest place of this hollow
    for i, radius in enumerate((*radii, *[STRAIGHT_MM] * ends_free)):
        if tight is None:
            most = max(most, radius)
            tight = i if radius * APART < most else None
        elif radius < radii[tight]:
            tight = i
        elif radius > APART * radii[tight]:
            found.append(tight)
            most, tight = radius, None
    return found

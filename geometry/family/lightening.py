"""Round holes that make a tang lighter: as many as go into a stretch of it, in hexagonal rows.

The least webs are common practice, no source: 3 mm between holes, 4 mm to the edge, and none within
12 mm of the plunge or of the handle's front, where a tang bends most.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from geometry.errors import InputError
from geometry.family.expressions import Expression
from geometry.family.ground import Ground, Values
from geometry.family.rules import LighteningRule
from geometry.outline import PATTERN_CHORD_MM, Hole
from geometry.sections import sections_mm

BETWEEN_MM, TO_EDGE_MM, FROM_FRONT_MM = 3.0, 4.0, 12.0
MAX_SPOTS = 1000  # of one lattice; a tang with so many holes is a slip in the file
SHIFTS = 8  # places along the rows where the lattice is tried
ROW = math.sqrt(3) / 2  # of the pitch from one row to the next

# Sections that tell the middle of the tang, and what makes a parabola of their middles.
_SAMPLES = np.linspace(-1.0, 1.0, 9)
_FIT = np.linalg.pinv(np.vander(_SAMPLES, 3, increasing=True))

Kept: TypeAlias = tuple[Hole, float]  # a hole, and the steel to leave round it, mm
Array: TypeAlias = NDArray[np.float64]


def lightening_holes(
    rule: LighteningRule, values: Values, ground: Ground, others: Sequence[Kept], front_mm: float
) -> list[Kept]:
    """Return the holes of one stretch; none where there is no room.

    Parameters
    ----------
    rule : LighteningRule
        From where to where, how large, and the web.
    others : sequence of (Hole, float)
        Holes that are there already, and the steel that they need.
    front_mm : float
        The x of the plunge or of the handle's front, whichever is nearer the butt.

    Raises
    ------
    InputError
        If the web is negative, or far too many holes would go in.
    """
    diameter, web = rule.diameter.value(values), web_mm(rule.web, values, ground)
    radius, between = diameter / 2, max(web, BETWEEN_MM)
    low, high = sorted([ground.x(rule.from_x, values), ground.x(rule.to_x, values)])
    low = max(low, float(ground.ring[:, 0].min())) + radius
    high = min(high, float(ground.ring[:, 0].max()), front_mm - FROM_FRONT_MM) - radius
    inward = radius + max(web, TO_EDGE_MM)
    if high < low or 2 * inward > np.ptp(ground.ring, axis=0).min():
        return []  # told first: no buffer is made of a web beyond all measure
    room = _room(ground.steel, radius, inward, between, others)
    lattices = _lattices(ground.ring, low, high, diameter + between, ground.name)
    best = max(_filled(lattices, room, low, high), key=lambda spots: _worth(spots, low, high))
    holes = [
        Hole(x_mm=x, y_mm=y, diameter_mm=diameter, kind="lightening") for x, y in best.tolist()
    ]
    return [(hole, between) for hole in holes]


def web_mm(rule: Expression, values: Values, ground: Ground) -> float:
    """Return the steel to leave round a hole; InputError when it is negative."""
    web = rule.value(values)
    if web < 0:
        raise InputError(
            "a web cannot be negative.", where=ground.name, remedy="Give 3 mm or more."
        )
    return web


def _room(
    steel: Polygon, radius: float, inward: float, between: float, others: Sequence[Kept]
) -> BaseGeometry:
    """Return where a hole's centre may be; corners as mitres, which leave rather more steel."""
    room: BaseGeometry = steel.buffer(-inward - PATTERN_CHORD_MM, join_style="mitre")
    for hole, web in others:
        reach = radius + hole.diameter_mm / 2 + max(between, web)
        around = shapely.Point(hole.x_mm, hole.y_mm).buffer(reach / math.cos(math.pi / 64))
        room = room.difference(around)  # its sides, 64 of them, touch the circle from outside
    return room


def _lattices(ring: Array, low: float, high: float, pitch: float, name: str) -> Array:
    """Return (K, N, 2): the spots of some lattices over a stretch of the tang.

    Their rows follow the middle of the tang as a parabola, and are as far apart as its slope asks,
    so that no two spots are nearer than the pitch.
    """
    middle, half = (low + high) / 2, max((high - low) / 2, pitch)
    sections = sections_mm(ring, middle + np.clip(_SAMPLES * half, low - middle, high - middle))
    bend = np.polynomial.Polynomial(_FIT @ sections.mean(axis=1))
    steepest = float(np.abs(bend.deriv()(np.array([-1.0, 1.0]))).max()) / half
    row = pitch * (ROW + steepest / 2)
    across = math.ceil(float(np.diff(sections).max()) / row / 2) + 1
    count = math.floor((high - low) / pitch) + 1
    if (2 * across + 1) * (count + 1) > MAX_SPOTS:
        raise InputError(
            f"far too many lightening holes {pitch:.3g} mm apart would go in.",
            where=name,
            remedy="Make them larger, or the stretch shorter.",
        )
    spare = (high - low) - (count - 1) * pitch
    shifts = np.append(np.arange(SHIFTS) / SHIFTS * pitch, [spare / 2, spare / 2 + pitch / 2])
    rows = np.arange(-across, across + 1.0)
    steps = low + np.arange(-1.0, count + 1) * pitch + rows[:, None] % 2 * pitch / 2
    along = np.broadcast_to(steps + shifts[:, None, None], (2, len(shifts), *steps.shape))
    aside = (rows[:, None] + np.array([0.0, 0.5])[:, None, None, None]) * row
    spots = np.stack([along, bend((along - middle) / half) + aside], axis=-1)
    return spots.reshape(2 * len(shifts), -1, 2)


def _filled(lattices: Array, room: BaseGeometry, low: float, high: float) -> list[Array]:
    """Return the spots of each lattice that lie in the room and in the stretch."""
    shapely.prepare(room)
    x, y = lattices[..., 0], lattices[..., 1]
    inside = (x >= low - 1e-9) & (x <= high + 1e-9)
    inside[inside] = shapely.contains_xy(room, x[inside], y[inside])
    return [spots[keep] for spots, keep in zip(lattices, inside, strict=True)]


def _worth(spots: Array, low: float, high: float) -> tuple[int, float]:
    """Return how many there are, and how evenly they lie about the middle of the stretch."""
    if not len(spots):
        return 0, 0.0
    return len(spots), -abs(float(spots[:, 0].min() + spots[:, 0].max()) - (low + high))

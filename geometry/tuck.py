"""Among poses with equal room, the one that leaves the largest piece of steel.

In a long bar a blank may slide a good way and have the same clearance everywhere. Then it is slid
along the steel to the end that leaves most in one piece, where a straight cut across the steel,
beside the blank, parts the rest from it. No room is given up for it but 0.001 mm.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon

from geometry.clearance import UsableRegion
from geometry.contacts import Fitting
from geometry.local_fit import slid
from geometry.pose import Pose
from geometry.segments import Floats

EQUAL_MM = 0.001  # of room: less is none
LEAST_SLIDE_MM = 1.0  # less is not worth it
FAR = 2.0  # times the steel's size: where a cut ends


def tucked(fitting: Fitting, region: UsableRegion, pose: Pose) -> Pose:
    """Return a pose with as much room, slid along the steel to leave the largest rest.

    Parameters
    ----------
    fitting : Fitting
        The outline, and the part of the steel that it lies in.
    region : UsableRegion
        The usable steel.
    pose : Pose
        A roomiest pose.

    Returns
    -------
    Pose
        The same pose where no other has as much room and leaves more.
    """
    blank = pose.shape(fitting.outline)
    floor_mm = region.clearance(blank).value_mm - EQUAL_MM
    along = _long_axis(fitting.steel)
    found = [(pose, _rest_mm2(fitting.steel, blank, along))]
    for way in (along, -along):
        moved = slid(fitting, pose, way, floor_mm=floor_mm + EQUAL_MM / 2.0)
        away = fitting.centre_of(moved) - fitting.centre_of(pose)
        place = moved.shape(fitting.outline)
        if away @ way > LEAST_SLIDE_MM and region.clearance(place).value_mm >= floor_mm:
            found.append((moved, _rest_mm2(fitting.steel, place, along)))
    return max(found, key=lambda one: one[1])[0]


def _long_axis(steel: Polygon) -> Floats:
    """Return the unit direction of the longer side of the least rectangle round the steel."""
    corners = shapely.get_coordinates(steel.minimum_rotated_rectangle)
    sides = np.diff(corners[:3], axis=0)
    longest = sides[np.hypot(*sides.T).argmax()]
    unit: Floats = longest / np.hypot(*longest)
    return unit


def _rest_mm2(steel: Polygon, blank: Polygon, along: Floats) -> float:
    """Return the area of the largest piece that a cut across the steel beside the blank leaves."""
    across = np.array([-along[1], along[0]])
    reach = shapely.get_coordinates(blank) @ along
    whole = shapely.get_coordinates(steel)
    size = FAR * float(np.hypot(*np.ptp(whole, axis=0)))
    middle = whole.mean(axis=0)
    ends = [(float(reach.max()), 1.0), (float(reach.min()), -1.0)]
    areas = [0.0]
    for at, sign in ends:
        foot = middle + (at - middle @ along) * along
        strip = Polygon(
            [
                foot + size * across,
                foot - size * across,
                foot - size * across + sign * size * along,
                foot + size * across + sign * size * along,
            ]
        )
        areas += shapely.area(shapely.get_parts(shapely.intersection(steel, strip))).tolist()
    return max(areas)

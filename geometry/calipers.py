"""What calipers and a rule read on a piece, and the trace offset that their readings tell.

Length and width are the sides of the smallest rectangle round the piece, which is what a rule
laid along its long side and calipers closed across it read; the largest distance of two corners
would be longer, and nobody lays a rule from corner to corner.  Between two places the jaws are
narrow flats that touch the edge there, and they are rocked to the smallest reading.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import scipy.optimize
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from geometry.errors import InputError
from geometry.stand_off import Offset

Place = tuple[float, float]

JAW_MM = 4.0  # of a jaw's flat along the edge
ROCK_RAD = math.radians(10.0)  # jaws are rocked so far to either side at most
ROCK_STEPS = 20  # to either side
BAR_END, BAR_READINGS = 0.12, 15  # a bar's ends are left out, by this share of its length
NEAR_MM = 8.0  # of a pointed place; a jaw that touches further away was set elsewhere


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A size of a shape, and the two places of its edge that it lies between.

    Parameters
    ----------
    value_mm : float
        The size, > 0.
    contacts_mm : pair of (x, y)
        Where the jaws, or the rule's ends, touch.
    """

    value_mm: float
    contacts_mm: tuple[Place, Place]


def length_of(piece: Polygon) -> Reading:
    """Return the longer side of the smallest rectangle round a piece."""
    return max(_rectangle_readings(piece), key=lambda reading: reading.value_mm)


def width_of(piece: Polygon) -> Reading:
    """Return the shorter side of the smallest rectangle round a piece."""
    return min(_rectangle_readings(piece), key=lambda reading: reading.value_mm)


def width_between(piece: Polygon, ends_mm: tuple[Place, Place]) -> Reading:
    """Return what calipers read whose jaws are set on the edge at two places.

    Parameters
    ----------
    piece : shapely.Polygon
        Valid, mm.
    ends_mm : pair of (x, y)
        One place on or near the edge for each jaw.

    Raises
    ------
    InputError
        If the places are one, or there is no steel between them.
    """
    first, second = np.asarray(ends_mm, float)
    apart_mm = math.dist(first, second)
    if apart_mm <= 0.0:
        raise InputError(
            "both places are the same.", where="Calipers", remedy="Point at both edges."
        )
    middle = (first + second) / 2.0
    direction_rad = math.atan2(second[1] - first[1], second[0] - first[0])

    def rocked(angle_rad: float) -> Reading | None:
        return _between_jaws(piece, middle, direction_rad + angle_rad, apart_mm)

    step_rad = ROCK_RAD / ROCK_STEPS
    turns_rad = [step_rad * count for count in range(-ROCK_STEPS, ROCK_STEPS + 1)]
    held = [turn_rad for turn_rad in turns_rad if rocked(turn_rad) is not None]
    if not held:
        raise _misplaced("there is no steel between the two places.")
    about_rad = min(held, key=lambda turn_rad: _value_mm(rocked(turn_rad)))
    fine = scipy.optimize.minimize_scalar(
        lambda turn_rad: _value_mm(rocked(turn_rad)),
        bounds=(about_rad - step_rad, about_rad + step_rad),
        method="bounded",
        options={"xatol": 1e-6},
    )
    reading = rocked(float(fine.x)) or rocked(about_rad)
    assert reading is not None
    for place, contact in zip(ends_mm, reading.contacts_mm, strict=True):
        if math.dist(place, contact) > NEAR_MM:
            raise _misplaced(
                f"the piece's edge is {math.dist(place, contact):.0f} mm from where a jaw was set."
            )
    return reading


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanWidth:
    """The width of a bar, read at many places along it.

    Parameters
    ----------
    value_mm : float
        The middle one of the readings: a slip of the pen does not count.
    scatter_mm : float
        Their standard deviation.
    count : int
        How many there are.
    middle_mm : pair of (x, y)
        The contacts half way along.
    """

    value_mm: float
    scatter_mm: float
    count: int
    middle_mm: tuple[Place, Place]


def mean_width(bar: Polygon) -> MeanWidth:
    """Return the width of a bar; raises as `width_between` where it is no bar."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(bar))[:-1]
    if math.dist(corners[0], corners[1]) < math.dist(corners[1], corners[2]):
        corners = np.roll(corners, -1, axis=0)
    one, two, three, four = corners
    readings = []
    for share in np.linspace(BAR_END, 1.0 - BAR_END, BAR_READINGS).tolist():
        low, high = one + share * (two - one), four + share * (three - four)
        ends = ((float(low[0]), float(low[1])), (float(high[0]), float(high[1])))
        readings.append(width_between(bar, ends))
    values = np.array([reading.value_mm for reading in readings])
    return MeanWidth(
        value_mm=float(np.median(values)),
        scatter_mm=float(values.std(ddof=1)),
        count=len(values),
        middle_mm=readings[len(readings) // 2].contacts_mm,
    )


def offset_from(
    traced_mm: NDArray[np.float64],
    true_mm: NDArray[np.float64],
    covariance_mm2: NDArray[np.float64],
    *,
    known: Offset | None = None,
) -> Offset:
    """Return the trace offset that agrees best with several sizes.

    Parameters
    ----------
    traced_mm, true_mm : ndarray, (N,)
        The sizes of the trace, and the same ones measured on the steel.
    covariance_mm2 : ndarray, (N, N)
        Of the differences; a map that is too large makes all of them too large together.
    known : Offset, optional
        What the pen is known to do, from elsewhere: one more size, as it were.

    Raises
    ------
    InputError
        If there is no size, and nothing known.

    Notes
    -----
    Each size is too large by twice the offset: ``offset = (traced - true) / 2``, averaged by
    least squares with the covariance.  Where the sizes scatter more than their doubts allow,
    the deviation grows by as much.
    """
    if not len(traced_mm):
        if known is None:
            raise InputError("there is no size to tell a trace offset by.", where="Calipers")
        return known
    rows = np.full((len(traced_mm), 1), 2.0)
    differences, spread = traced_mm - true_mm, np.asarray(covariance_mm2, float)
    if known is not None:
        rows = np.vstack([rows, [[1.0]]])
        differences = np.append(differences, known.value_mm)
        spread = np.block(
            [[spread, np.zeros((len(spread), 1))], [np.zeros(len(spread)), known.sigma_mm**2]]
        )
    weighed = np.linalg.solve(spread, np.column_stack([rows, differences]))
    weight = (rows.T @ weighed[:, :1]).item()
    value_mm = (rows.T @ weighed[:, 1:]).item() / weight
    left = differences - rows[:, 0] * value_mm
    scatter = 0.0
    if len(left) > 1:
        scatter = float(left @ np.linalg.solve(spread, left)) / (len(left) - 1)
    return Offset(value_mm=value_mm, sigma_mm=math.sqrt(max(scatter, 1.0) / weight))


def _rectangle_readings(piece: Polygon) -> tuple[Reading, Reading]:
    """Return the extents along both sides of the smallest rectangle."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(piece))
    sides = np.diff(corners[:3], axis=0)
    points = shapely.get_coordinates(piece.exterior)
    first, second = (_extent(points, side / np.hypot(*side)) for side in sides)
    return first, second


def _between_jaws(
    piece: Polygon, middle: NDArray[np.float64], angle_rad: float, apart_mm: float
) -> Reading | None:
    """Return the reading with the beam at an angle; None where no steel is between the jaws."""
    along = np.array([math.cos(angle_rad), math.sin(angle_rad)])
    across = np.array([-along[1], along[0]]) * JAW_MM / 2.0
    reach = along * _reach_mm(piece, middle)
    gap = Polygon([middle + r + a for r, a in _corners(reach, across)])
    line = shapely.LineString([middle - along * apart_mm / 2.0, middle + along * apart_mm / 2.0])
    parts = shapely.get_parts(shapely.intersection(piece, gap))
    held = [part for part in parts if part.area > 0.0 and shapely.intersects(part, line)]
    if not held:
        return None
    return _extent(np.vstack([shapely.get_coordinates(part) for part in held]), along)


def _corners(
    reach: NDArray[np.float64], across: NDArray[np.float64]
) -> list[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    return [(-reach, -across), (reach, -across), (reach, across), (-reach, across)]


def _reach_mm(piece: Polygon, middle: NDArray[np.float64]) -> float:
    return float(shapely.hausdorff_distance(shapely.Point(middle), piece.envelope)) + JAW_MM


def _extent(points: NDArray[np.float64], along: NDArray[np.float64]) -> Reading:
    """Return the extent of points along a direction, and the middles of what touches there."""
    heights = points @ along
    low, high = float(heights.min()), float(heights.max())
    touching = [points[np.abs(heights - level) < 1e-6] for level in (low, high)]
    (x1, y1), (x2, y2) = (((at.min(axis=0) + at.max(axis=0)) / 2.0).tolist() for at in touching)
    return Reading(value_mm=high - low, contacts_mm=((x1, y1), (x2, y2)))


def _value_mm(reading: Reading | None) -> float:
    return math.inf if reading is None else reading.value_mm


def _misplaced(message: str) -> InputError:
    return InputError(
        message,
        where="Calipers",
        remedy="Point at the piece's edge where one jaw was, then where the other was.",
    )

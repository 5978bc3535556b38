"""Two drawn lines of known length at right angles, that cross or start at one corner."""

from __future__ import annotations

import itertools
import math

import numpy as np
from numpy.typing import NDArray

from calibration.desk import Desk
from calibration.errors import PhotoError
from calibration.matched import Matched
from calibration.matching import pointed_line, require_inside, require_length, ruled
from calibration.profiles import crossing, line_through
from calibration.references import CrossReference
from calibration.seen import LineSeen, SquareSeen
from calibration.sheet_map import SheetMap
from calibration.stroke_fit import Stroke
from calibration.strokes import GOOD, Candidate

Points = NDArray[np.float64]

LIKELY = GOOD - 1.5  # the other line goes on from an end, which speaks against a line by itself
MAX_CANDIDATES = 12
RATIO, ANGLE = 0.06, 0.12  # of lengths, and rad, in pixels: what tilt and lens do to them
TRUE_RATIO, TRUE_ANGLE = 0.02, 0.02  # the same taken through a map
FARTHEST = 4.0  # of these deviations, summed; beyond, two lines are no such pair
SQUARE_RAD = 0.003  # of a right angle set off with a square


def match_cross(desk: Desk, reference: CrossReference, rough: SheetMap | None) -> Matched:
    """Return two lines at right angles where they are pointed at, or among the strokes.

    Raises
    ------
    PhotoError
        If no two strokes meet at right angles with such lengths, or one is too short.
    """
    if reference.ends_px is not None:
        ends = np.array(reference.ends_px).reshape(2, 2, 2)
        require_inside(desk.photo, ends.reshape(-1, 2))
        lengths = (reference.first_mm, reference.second_mm)
        pairs = [pointed_line(desk.ink, *one) for one in zip(ends, lengths, strict=True)]
        first, second = (line for line, _ in pairs)
    else:
        first, second = _found(desk.candidates, reference, rough)
    for line in (first, second):
        require_length(line)
    slack = [line.sigma_mm / line.length_mm for line in (first, second)]
    square = SquareSeen(
        ends_px=np.stack([first.ends_px, second.ends_px]),
        sigma_rad=math.hypot(SQUARE_RAD, *slack),
    )
    return Matched(reference=reference, lines=(first, second), squares=(square,))


def _found(
    candidates: tuple[Candidate, ...], reference: CrossReference, rough: SheetMap | None
) -> tuple[LineSeen, LineSeen]:
    """Return the likeliest two strokes that cross or share a corner, in the order asked."""
    likely = [c for c in candidates if c.score > LIKELY][:MAX_CANDIDATES]
    found = []
    for one, other in itertools.permutations(likely, 2):
        misfit = _misfit(one.stroke, other.stroke, reference, rough)
        if misfit < FARTHEST and _meet(one.stroke, other.stroke):
            found.append((one.score + other.score - misfit, one.stroke, other.stroke))
    if not found:
        raise PhotoError(
            f"no two lines of {reference.first_mm:g} and {reference.second_mm:g} mm at right "
            "angles found.",
            where="Crossing lines",
            remedy="Draw them so that they cross or start at one corner, or point at their ends.",
        )
    _, first, second = max(found, key=lambda one: one[0])
    return ruled(first, reference.first_mm), ruled(second, reference.second_mm)


def _misfit(one: Stroke, other: Stroke, reference: CrossReference, rough: SheetMap | None) -> float:
    """Return how far two strokes are off the asked lengths and a right angle, in deviations."""
    ends = np.array([one.ends_px, other.ends_px])
    if rough is not None:
        ends = rough.to_mm(ends.reshape(-1, 2)).reshape(2, 2, 2)
    ways = ends[:, 1] - ends[:, 0]
    lengths = np.hypot(*ways.T)
    logs = np.log(lengths / (reference.first_mm, reference.second_mm))
    angle = abs(math.asin(np.clip(ways[0] @ ways[1] / lengths.prod(), -1.0, 1.0)))
    if rough is None:
        return float(abs(logs[0] - logs[1]) / RATIO + angle / ANGLE)
    return float(np.abs(logs).max() / TRUE_RATIO + angle / TRUE_ANGLE)


def _meet(one: Stroke, other: Stroke) -> bool:
    """Return whether two strokes cross, or come together at an end."""
    place = crossing(*(line_through(np.array(stroke.ends_px)) for stroke in (one, other)))
    slack = 2.0 * (one.width_px + other.width_px) + 4.0
    for stroke in (one, other):
        a, b = np.array(stroke.ends_px)
        along = float((place - a) @ (b - a)) / stroke.length_px
        if not -slack < along < stroke.length_px + slack:
            return False
    return True

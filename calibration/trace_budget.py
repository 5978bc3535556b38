"""The parts of what a measured edge may be off by: the photo's, blur's and the pen's."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon

from calibration.blur_doubt import SHIFT_SPREAD
from calibration.piece import Piece
from calibration.subpixel import Edge
from calibration.untold_thickness import TooLarge
from geometry.error_budget import Budget, Part
from geometry.stand_off import Offset, expected_offset

COARSE_MM = 0.1  # corners enough to tell a usual place's doubt
SEEN_IN_TRACE, SEEN_IN_STEEL = "trace offset that calipers see", "difference that calipers see"
UNTOLD_TOP = "nearer top and seen sides of the steel, thickness not told"
BEYOND_INNER, INK_WIDTH_MM = "width of the ink, which lies outside the steel", 0.05
BLURRED = "blur, which hides how wide the line is"
AWAY: dict[Edge, float] = {"inner": -1.0, "middle": 0.0, "outer": 1.0}  # from the ink: larger
UNTOLD_PEN = "pen's stand-off, not measured"


def measuring(piece: Piece, shape: Polygon) -> tuple[Part, ...]:
    """Return what the photo itself leaves in doubt, at a usual place of the edge."""
    coarse = Polygon(shapely.simplify(shape.exterior, COARSE_MM))
    places = shapely.get_coordinates(coarse)[:-1]
    steel = piece.subject == "steel"
    return (
        Part(
            name="scale, tilt and lens of the photo",
            sigma_mm=float(np.median(piece.edge_sigma_mm(coarse))),
        ),
        Part(
            name=f"edge of the {'steel' if steel else 'ink'} in the photo",
            sigma_mm=float(np.median(piece.ink_sigma_mm(places))),
        ),
        Part(
            name="sides of the steel" if steel else "hand that led the pen",
            sigma_mm=piece.hand_sigma_mm,
        ),
    )


def blurred(piece: Piece, edge: Edge) -> tuple[Part, ...]:
    """Return what blur does to the side of the ink that was measured: away from the ink."""
    bias_mm = AWAY[edge] * piece.blur_shift_mm
    if not bias_mm:
        return ()
    return (Part(name=BLURRED, bias_mm=bias_mm, sigma_mm=SHIFT_SPREAD * abs(bias_mm)),)


def seen_by_calipers(piece: Piece, left: Offset) -> tuple[Part, ...]:
    """Return what calipers show that the piece is too large, for whatever reason."""
    name = SEEN_IN_STEEL if piece.subject == "steel" else SEEN_IN_TRACE
    return (Part(name=name, bias_mm=left.value_mm, sigma_mm=left.sigma_mm),)


def pens_left(piece: Piece, thickness_mm: float | None, taken: Offset | None) -> tuple[Part, ...]:
    """Return what the pen leaves: taken off, or expected; nothing where there was none."""
    if taken is not None:
        return (Part(name="pen's stand-off, taken off", sigma_mm=taken.sigma_mm),)
    if piece.subject == "steel":
        return ()
    beyond = Part(name=BEYOND_INNER, bias_mm=piece.ink_beyond_mm, sigma_mm=INK_WIDTH_MM)
    ink = (beyond,) if piece.ink_beyond_mm else ()
    return (*ink, _untold_pen(thickness_mm))


def with_untold_pen(budget: Budget, thickness_mm: float | None) -> Budget:
    """Return the budget of a trace by a pen that nobody measured, round steel of a thickness."""
    others = tuple(part for part in budget.parts if part.name != UNTOLD_PEN)
    return Budget(parts=(*others, _untold_pen(thickness_mm)))


def _untold_pen(thickness_mm: float | None) -> Part:
    usual = expected_offset(thickness_mm)
    return Part(name=UNTOLD_PEN, bias_mm=usual.value_mm, sigma_mm=usual.sigma_mm)


def untold_top_part(untold: TooLarge) -> Part:
    """Return what photographed steel is too large whose thickness was not told."""
    left = untold.offset
    return Part(name=UNTOLD_TOP, bias_mm=left.value_mm, sigma_mm=left.sigma_mm)
